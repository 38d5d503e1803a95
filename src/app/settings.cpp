#include "app/settings.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <map>

namespace proofwalk::app {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t most_recent = 12;

fs::path folder(const char* variable, const char* under_home) {
    if (const char* set = std::getenv(variable); set != nullptr && *set == '/') return fs::path{set} / "proofwalk";
    const char* home = std::getenv("HOME");
    return fs::path{home != nullptr ? home : "/tmp"} / under_home / "proofwalk";
}

template <class Number>
void read_number(const std::string& text, Number low, Number high, Number& value) {
    Number number{};
    const auto parsed = std::from_chars(text.data(), text.data() + text.size(), number);
    if (parsed.ec == std::errc{} && parsed.ptr == text.data() + text.size() && number >= low && number <= high) value = number;
}

// A value is one line: what would break it is left out.
std::string one_line(std::string text) {
    std::erase_if(text, [](char c) { return c == '\n' || c == '\r'; });
    return text;
}

}  // namespace

fs::path config_folder() { return folder("XDG_CONFIG_HOME", ".config"); }
fs::path state_folder() { return folder("XDG_STATE_HOME", ".local/state"); }

Settings settings_from_text(std::string_view text) {
    Settings settings;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        const std::string_view line = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        const std::size_t equals = line.find(" = ");
        if (equals == std::string_view::npos) continue;
        const std::string name{line.substr(0, equals)}, value{line.substr(equals + 3)};
        if (name == "last-log") settings.last_log = value;
        if (name == "recent" && settings.recent.size() < most_recent) settings.recent.emplace_back(value);
        if (name == "paper") settings.paper = paper_from_word(value).value_or(settings.paper);
        if (name == "larger") read_number(value, 0.5, 4.0, settings.larger);
        if (name == "who") settings.who = value;
        if (name == "role") settings.role = value;
        if (name == "source") settings.rehearse = value != "device";
        if (name == "device") settings.device = value;
        if (name == "reference") read_number(value, 1, 512, settings.reference);
        if (name == "mics") read_number(value, 1, 64, settings.mics);
        if (name == "level-dbfs") read_number(value, -120.0, -3.0, settings.level_dbfs);
        if (name == "length-s") read_number(value, 0.2, 120.0, settings.length_s);
        if (name == "seed") read_number(value, 0U, 4294967295U, settings.seed);
        if (name == "snr-db") read_number(value, -20.0, 120.0, settings.snr_db);
        if (name == "faults") settings.faults = value;
        if (name == "count-in-s") read_number(value, 0.0, 600.0, settings.count_in_s);
        if (name == "unmuting") settings.by_hand = value != "direct";
        if (name == "until-utc-s") {
            std::int64_t until = 0;
            read_number<std::int64_t>(value, 1, 99999999999, until);
            if (until > 0) settings.until_utc_s = until;
        }
        if (name == "sheet") read_number<std::size_t>(value, 0, 8, settings.sheet);
    }
    return settings;
}

std::string to_text(const Settings& settings) {
    std::string text = fmt::format(
        "last-log = {}\npaper = {}\nlarger = {}\nwho = {}\nrole = {}\nsource = {}\ndevice = {}\nreference = {}\nmics = {}\n"
        "level-dbfs = {}\nlength-s = {}\nseed = {}\nsnr-db = {}\nfaults = {}\nsheet = {}\n",
        one_line(settings.last_log.string()), word(settings.paper), settings.larger, one_line(settings.who),
        one_line(settings.role), settings.rehearse ? "rehearsal" : "device", one_line(settings.device), settings.reference,
        settings.mics, settings.level_dbfs, settings.length_s, settings.seed, settings.snr_db, one_line(settings.faults),
        settings.sheet);
    text += fmt::format("count-in-s = {}\nunmuting = {}\n", settings.count_in_s, settings.by_hand ? "by hand" : "direct");
    if (settings.until_utc_s) text += fmt::format("until-utc-s = {}\n", *settings.until_utc_s);
    for (const auto& log : settings.recent) text += fmt::format("recent = {}\n", one_line(log.string()));
    return text;
}

Settings load_settings(const fs::path& file) {
    std::ifstream stream{file, std::ios::binary};
    if (!stream) return {};
    return settings_from_text(std::string{std::istreambuf_iterator<char>{stream}, {}});
}

Result<void> save_settings(const Settings& settings, const fs::path& file) {
    const auto failed = [&](std::string reason) {
        return std::unexpected(Fault{FaultKind::input, file.string(), "", std::move(reason),
                                     "the window works on without remembering; check the folder's permissions and space"});
    };
    std::error_code error;
    fs::create_directories(file.parent_path(), error);
    if (error) return failed("the folder can't be made: " + error.message());
    const fs::path beside = file.string() + ".new";
    {
        std::ofstream stream{beside, std::ios::binary | std::ios::trunc};
        stream << to_text(settings);
        stream.flush();
        if (!stream) return failed("can't be written");
    }
    fs::rename(beside, file, error);
    if (error) return failed("can't be put in place: " + error.message());
    return {};
}

fs::path path_from_typed(std::string_view text) {
    const auto is_wrapping = [](char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '"' || c == '\''; };
    while (!text.empty() && is_wrapping(text.front())) text.remove_prefix(1);
    while (!text.empty() && is_wrapping(text.back())) text.remove_suffix(1);
    if (constexpr std::string_view scheme = "file://"; text.starts_with(scheme)) text.remove_prefix(scheme.size());
    if (const char* home = std::getenv("HOME"); home != nullptr && text.starts_with("~/")) return fs::path{home} / text.substr(2);
    return fs::path{text};
}

void remember(Settings& settings, const fs::path& log) {
    settings.last_log = log;
    std::erase(settings.recent, log);
    settings.recent.insert(settings.recent.begin(), log);
    if (settings.recent.size() > most_recent) settings.recent.resize(most_recent);
}

}  // namespace proofwalk::app
