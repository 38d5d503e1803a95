#include "capture/takes_file.hpp"

#include <toml++/toml.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <map>
#include <set>
#include <span>
#include <sstream>
#include <utility>

#include <fmt/format.h>

#include "units/nearest.hpp"

namespace proofwalk::capture {
namespace {

using signal::TakeKind;
using Keys = std::span<const std::string_view>;

constexpr std::string_view format_word = "proofwalk.takes/1";
constexpr std::size_t most_file_bytes = std::size_t{8} << 20;
constexpr std::size_t longest_name = 120;
constexpr double latest_start_s = 3600.0;
constexpr int most_channels = 1024;

constexpr std::array<std::string_view, 5> top_keys = {"format", "air", "mic", "signal", "take"};
constexpr std::array<std::string_view, 3> air_keys = {"temperature_c", "humidity_pct", "pressure_kpa"};
constexpr std::array<std::string_view, 5> mic_keys = {"id", "calibration", "pascal_per_fs", "latency_ms", "serial"};
constexpr std::array<std::string_view, 2> signal_keys = {"id", "file"};
constexpr std::array<std::string_view, 10> take_keys = {"id",     "file",     "time",      "kind",   "sounding",
                                                        "starts", "level_db", "reference", "signal", "mics"};
constexpr std::array<std::string_view, 2> start_keys = {"circuit", "at_s"};
constexpr std::array<std::string_view, 3> channel_keys = {"channel", "mic", "position"};
constexpr std::array<std::string_view, 6> kind_words = {"sweep", "noise", "silence", "calibrator", "loopback", "match"};

// Names reach terminals, file names and reports: no control characters, no endless text.
bool usable_name(std::string_view text) {
    return !text.empty() && text.size() <= longest_name &&
           std::none_of(text.begin(), text.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; });
}

std::string in_quotes(std::string_view text) {
    std::string shown;
    for (const char c : text.substr(0, longest_name)) shown += static_cast<unsigned char>(c) < 0x20 || c == 0x7f ? '?' : c;
    if (text.size() > longest_name) shown += "...";
    return '"' + shown + '"';
}

std::string line_of(const toml::node& node) { return fmt::format("line {}", node.source().begin.line); }

// Where faults of one part of the file go, and what the part is called in them.
class Part {
public:
    Part(const toml::table& table, std::string file, std::string name, Faults& faults)
        : table_(table), file_(std::move(file)), name_(std::move(name)), faults_(faults) {}

    [[nodiscard]] const toml::table& table() const { return table_; }

    void fault(const toml::node& where, std::string reason, std::string remedy) {
        faults_.push_back({FaultKind::input, file_, line_of(where) + (name_.empty() ? "" : ", " + name_), std::move(reason),
                           std::move(remedy)});
        sound_ = false;
    }
    [[nodiscard]] bool sound() const { return sound_; }
    // Falls with one of its own parts, which has said why.
    void spoil() { sound_ = false; }
    void name(std::string text) { name_ = std::move(text); }

    [[nodiscard]] bool has(std::string_view key) const { return table_.contains(key); }
    [[nodiscard]] const toml::node& at(std::string_view key) const {
        const auto* node = table_.get(key);
        return node ? *node : static_cast<const toml::node&>(table_);
    }

    // A name or path; required unless `optional`.
    [[nodiscard]] std::string text(std::string_view key, bool optional = false) {
        const auto* node = table_.get(key);
        if (!node) {
            if (!optional) fault(table_, fmt::format("{} is missing", key), fmt::format("give {} = \"...\"", key));
            return {};
        }
        const auto value = node->value_exact<std::string>();
        if (value && usable_name(*value)) return *value;
        fault(*node, fmt::format("{} must be a text of 1 to {} visible characters", key, longest_name),
              fmt::format("write {} = \"...\"", key));
        return {};
    }

    // A finite number from `low` to `high`, whole or not.
    [[nodiscard]] std::optional<double> number(std::string_view key, double low, double high) {
        const auto* node = table_.get(key);
        if (!node) return std::nullopt;
        const auto value = node->is_number() ? node->value<double>() : std::nullopt;
        if (value && std::isfinite(*value) && *value >= low && *value <= high) return value;
        fault(*node, fmt::format("{} must be a number from {} to {}", key, low, high), "correct the figure and its unit");
        return std::nullopt;
    }

    [[nodiscard]] std::optional<int> channel(std::string_view key) {
        const auto* node = table_.get(key);
        if (!node) return std::nullopt;
        const auto value = node->value_exact<std::int64_t>();
        if (value && *value >= 1 && *value <= most_channels) return static_cast<int>(*value);
        fault(*node, fmt::format("{} must be a channel number from 1 to {}", key, most_channels),
              "count channels from 1, as the recorder labels them");
        return std::nullopt;
    }

private:
    const toml::table& table_;
    std::string file_, name_;
    Faults& faults_;
    bool sound_ = true;
};

class Reader {
public:
    Reader(const toml::table& root, const std::filesystem::path& file, TakesFile& takes)
        : root_(root), file_(file.string()), folder_(file.parent_path()), takes_(takes) {}

    // Faults that end the file.
    Faults read() {
        check_all_keys();
        read_format();
        read_air();
        read_mics();
        read_signals();
        read_takes();
        return std::move(whole_);
    }

private:
    void check_keys(const toml::table& table, Keys known, std::string_view where) {
        for (const auto& [key, node] : table) {
            const std::string_view name = key.str();
            if (std::find(known.begin(), known.end(), name) != known.end()) continue;
            whole_.push_back({FaultKind::input, file_,
                              fmt::format("line {}{}{}", key.source().begin.line, where.empty() ? "" : ", ", where),
                              fmt::format("unknown key {}", in_quotes(name)),
                              nearest_remedy(name, known, "key")});
        }
    }

    void check_keys_of_each(const toml::table& table, std::string_view name, Keys known, std::string_view where) {
        const auto* list = table.get_as<toml::array>(name);
        if (!list) return;
        for (const auto& node : *list)
            if (const auto* entry = node.as_table()) check_keys(*entry, known, where);
    }

    void check_all_keys() {
        check_keys(root_, top_keys, "");
        if (const auto* air = root_.get_as<toml::table>("air")) check_keys(*air, air_keys, "[air]");
        check_keys_of_each(root_, "mic", mic_keys, "[[mic]]");
        check_keys_of_each(root_, "signal", signal_keys, "[[signal]]");
        check_keys_of_each(root_, "take", take_keys, "[[take]]");
        if (const auto* takes = root_.get_as<toml::array>("take"))
            for (const auto& node : *takes)
                if (const auto* take = node.as_table()) {
                    check_keys_of_each(*take, "starts", start_keys, "starts of a take");
                    check_keys_of_each(*take, "mics", channel_keys, "mics of a take");
                }
    }

    void read_format() {
        const auto* node = root_.get("format");
        const auto value = node ? node->value_exact<std::string>() : std::nullopt;
        if (value == format_word) return;
        whole_.push_back({FaultKind::input, file_, node ? line_of(*node) : "line 1",
                          value ? fmt::format("format is {}, which this program does not read", in_quotes(*value))
                                : std::string("this is no list of takes: it does not say its format"),
                          fmt::format("write format = \"{}\" if it is one", format_word)});
    }

    void read_air() {
        const auto* node = root_.get("air");
        if (!node) return;
        if (!node->is_table()) {
            whole_.push_back({FaultKind::input, file_, line_of(*node), "air must be a section", "write [air] and its keys below"});
            return;
        }
        Part part(*node->as_table(), file_, "[air]", whole_);
        takes_.air = OnSiteAir{part.number("temperature_c", -40.0, 60.0), part.number("humidity_pct", 0.0, 100.0),
                               part.number("pressure_kpa", 50.0, 110.0)};
    }

    // Every table of a list like [[mic]]; anything else under that name is a fault of the file.
    std::vector<const toml::table*> entries(std::string_view name) {
        std::vector<const toml::table*> list;
        const auto* node = root_.get(name);
        if (!node) return list;
        const auto wrong = [&](const toml::node& where) {
            whole_.push_back({FaultKind::input, file_, line_of(where), fmt::format("{} must be a list of sections", name),
                              fmt::format("write [[{}]] before each", name)});
        };
        if (const auto* array = node->as_array()) {
            for (const auto& entry : *array)
                if (const auto* table = entry.as_table())
                    list.push_back(table);
                else
                    wrong(entry);
        } else {
            wrong(*node);
        }
        return list;
    }

    void read_mics() {
        for (const auto* table : entries("mic")) {
            Part part(*table, file_, "[[mic]]", whole_);
            Mic mic;
            mic.id = part.text("id");
            part.name("mic " + in_quotes(mic.id));
            if (takes_.mic(mic.id)) part.fault(part.at("id"), "the id stands for two mics", "give each mic an id of its own");
            mic.pascal_per_fs = part.number("pascal_per_fs", 1e-5, 1e5);
            mic.latency_s = part.number("latency_ms", 0.0, 1000.0).value_or(0.0) / 1000.0;
            if (part.has("serial")) mic.serial = part.text("serial");
            const std::string calibration = part.text("calibration", true);
            if (!part.sound()) continue;
            if (!calibration.empty() && !read_calibration(mic, folder_ / calibration)) unusable_mics_.insert(mic.id);
            takes_.mics.push_back(std::move(mic));
        }
    }

    bool read_calibration(Mic& mic, const std::filesystem::path& file) {
        const auto text = read_file(file, std::size_t{1} << 20);
        auto response = text ? signal::mic_response_from_text(*text, file.string()) : std::unexpected(text.error());
        if (response) {
            mic.response = std::move(*response);
            return true;
        }
        Fault fault = response.error();
        fault.reason = fmt::format("{}, so mic {} is left out of every take", fault.reason, in_quotes(mic.id));
        if (fault.remedy.empty()) fault.remedy = "correct the calibration file or take the key out";
        takes_.faults.push_back(std::move(fault));
        return false;
    }

    void read_signals() {
        for (const auto* table : entries("signal")) {
            Part part(*table, file_, "[[signal]]", whole_);
            const std::string id = part.text("id");
            const std::string path = part.text("file");
            if (part.sound() && !signals_.emplace(id, folder_ / path).second)
                part.fault(part.at("id"), fmt::format("the id {} stands for two signals", in_quotes(id)),
                           "give each signal an id of its own");
        }
    }

    void read_takes() {
        const auto list = entries("take");
        if (list.empty() && whole_.empty())
            whole_.push_back({FaultKind::input, file_, "", "it lists no take", "write a [[take]] section for each recording"});
        for (const auto* table : list) read_take(*table);
    }

    void read_take(const toml::table& table) {
        Part part(table, file_, "[[take]]", takes_.faults);
        TakesFile::Entry entry;
        TakeSheet& sheet = entry.sheet;
        sheet.label = part.text("id");
        if (!sheet.label.empty()) {
            part.name("take " + sheet.label);
            const auto [first, is_new] = ids_.emplace(sheet.label, table.source().begin.line);
            if (!is_new)
                part.fault(part.at("id"), fmt::format("its id stands at line {} too, so this one is left out", first->second),
                           "give each take an id of its own");
        }
        entry.recording = folder_ / part.text("file");
        read_kind(part, sheet);
        read_time(part, sheet);
        read_sounding(part, sheet);
        read_starts(part, sheet);
        read_level(part, sheet);
        read_source(part, entry);
        read_channels(part, sheet);
        if (part.sound()) takes_.takes.push_back(std::move(entry));
    }

    static std::string name_of(const TakeSheet& sheet) { return sheet.label.empty() ? "[[take]]" : "take " + sheet.label; }

    void read_kind(Part& part, TakeSheet& sheet) {
        const std::string text = part.text("kind");
        if (text.empty()) return;
        if (const auto kind = take_kind_from_word(text))
            sheet.kind = *kind;
        else
            part.fault(part.at("kind"), fmt::format("unknown kind {}", in_quotes(text)),
                       nearest_remedy(text, kind_words, "kind"));
    }

    void read_time(Part& part, TakeSheet& sheet) {
        if (!part.has("time")) return;
        const auto value = part.at("time").value_exact<toml::date_time>();
        std::ostringstream text;
        if (value && value->offset) {
            text << *value;
            std::string plain = text.str();
            // Fractions of a second are not kept.
            if (const auto dot = plain.find('.'); dot != std::string::npos)
                plain.erase(dot, plain.find_first_not_of("0123456789", dot + 1) - dot);
            sheet.time = moment_from_text(plain);
        }
        if (!sheet.time)
            part.fault(part.at("time"), "time must be a date and time with its offset",
                       "write it like 2026-05-02T15:04:05Z or 2026-05-02T17:04:05+02:00");
    }

    // The texts of a list; a fault for anything else.
    std::vector<std::string> names(Part& part, std::string_view key) {
        std::vector<std::string> list;
        if (!part.has(key)) return list;
        const auto* array = part.at(key).as_array();
        bool good = array != nullptr;
        if (array)
            for (const auto& node : *array) {
                const auto text = node.value_exact<std::string>();
                good = good && text && usable_name(*text) && std::find(list.begin(), list.end(), *text) == list.end();
                if (good) list.push_back(*text);
            }
        if (!good)
            part.fault(part.at(key), fmt::format("{} must be a list of different names", key), fmt::format("write {} = [\"...\"]", key));
        return list;
    }

    void read_sounding(Part& part, TakeSheet& sheet) {
        sheet.sounding = names(part, "sounding");
        if (!part.sound()) return;
        const bool plays = sheet.kind == TakeKind::sweep || sheet.kind == TakeKind::noise;
        const bool quiet =
            sheet.kind == TakeKind::silence || sheet.kind == TakeKind::calibrator || sheet.kind == TakeKind::loopback;
        if (plays && sheet.sounding.empty())
            part.fault(part.at("sounding"), "it does not say which circuit sounded", "write sounding = [\"circuit\"]");
        if (quiet && !sheet.sounding.empty())
            part.fault(part.at("sounding"), fmt::format("a {} take has no circuit sounding", word(sheet.kind)),
                       "write sounding = [] or correct the kind");
    }

    void read_starts(Part& part, TakeSheet& sheet) {
        if (!part.has("starts")) return;
        const auto* array = part.at("starts").as_array();
        const bool tables = array && std::all_of(array->begin(), array->end(), [](const auto& node) { return node.is_table(); });
        if (!tables || array->empty()) {
            part.fault(part.at("starts"), "starts must list a circuit and its start each",
                       "write starts = [{ circuit = \"...\", at_s = 0.5 }]");
            return;
        }
        for (const auto& node : *array) {
            Part item(*node.as_table(), file_, name_of(sheet) + ", starts", takes_.faults);
            SweepStart start{item.text("circuit"), item.number("at_s", 0.0, latest_start_s).value_or(-1.0)};
            if (!item.has("at_s")) item.fault(node, "at_s is missing", "give at_s in seconds from the start of the file");
            if (item.sound() && std::find(sheet.sounding.begin(), sheet.sounding.end(), start.circuit) == sheet.sounding.end())
                item.fault(node, fmt::format("circuit {} is not among those sounding", in_quotes(start.circuit)),
                           "add it to sounding or take its start out");
            for (const auto& other : sheet.starts)
                if (item.sound() && other.circuit == start.circuit)
                    item.fault(node, fmt::format("circuit {} starts twice", in_quotes(start.circuit)), "give one start a circuit");
            if (!item.sound()) return part.spoil();
            sheet.starts.push_back(std::move(start));
        }
        if (part.sound() && sheet.starts.size() != sheet.sounding.size())
            part.fault(part.at("starts"), "a circuit that sounds has no start", "give every circuit in sounding its start");
    }

    void read_level(Part& part, TakeSheet& sheet) {
        sheet.calibrator_db = part.number("level_db", 40.0, 150.0);
        if (!part.sound()) return;
        if (sheet.kind == TakeKind::calibrator && !sheet.calibrator_db)
            part.fault(part.table(), "level_db is missing", "give the level that stands on the calibrator, such as level_db = 94.0");
        if (sheet.kind != TakeKind::calibrator && sheet.calibrator_db)
            part.fault(part.at("level_db"), fmt::format("a {} take has no calibrator level", word(sheet.kind)),
                       "take level_db out or write kind = \"calibrator\"");
    }

    void read_source(Part& part, TakesFile::Entry& entry) {
        entry.sheet.reference = part.channel("reference");
        if (part.has("signal")) {
            const std::string id = part.text("signal");
            if (const auto found = signals_.find(id); found != signals_.end()) {
                entry.signal = found->second;
            } else if (!id.empty()) {
                part.fault(part.at("signal"), fmt::format("there is no [[signal]] with the id {}", in_quotes(id)),
                           signals_.empty() ? "add one with its file" : fmt::format("the nearest is {}", in_quotes(nearest_signal(id))));
            }
        }
        if (!part.sound()) return;
        const bool needs_neither = entry.sheet.kind == TakeKind::silence || entry.sheet.kind == TakeKind::calibrator;
        if (!needs_neither && !entry.sheet.reference && !entry.signal)
            part.fault(part.table(), "nothing says what was played", "give reference = channel, or signal = \"id\" of a [[signal]]");
    }

    std::string nearest_signal(std::string_view id) const {
        std::vector<std::string_view> known;
        for (const auto& [name, path] : signals_) known.push_back(name);
        return std::string(nearest_word(id, known));
    }

    void read_channels(Part& part, TakeSheet& sheet) {
        if (!part.has("mics")) {
            if (sheet.kind != TakeKind::loopback)
                part.fault(part.table(), "mics is missing", "write mics = [{ channel = 2, mic = \"...\", position = \"...\" }]");
            return;
        }
        const auto* array = part.at("mics").as_array();
        const bool tables = array && std::all_of(array->begin(), array->end(), [](const auto& node) { return node.is_table(); });
        if (!tables || (array->empty() && sheet.kind != TakeKind::loopback)) {
            part.fault(part.at("mics"), "mics must list a channel, a mic and a position each",
                       "write mics = [{ channel = 2, mic = \"...\", position = \"...\" }]");
            return;
        }
        for (const auto& node : *array) read_channel(part, sheet, *node.as_table());
        const bool left_out = sheet.mics.empty() && !array->empty();
        if (part.sound() && left_out)
            part.fault(part.at("mics"), "none of its mics is usable", "correct the calibration files named above");
    }

    void read_channel(Part& part, TakeSheet& sheet, const toml::table& table) {
        const bool placed = sheet.kind == TakeKind::sweep || sheet.kind == TakeKind::noise;
        Part item(table, file_, name_of(sheet) + ", mics", takes_.faults);
        MicChannel channel{item.channel("channel").value_or(0), item.text("mic"), item.text("position", !placed)};
        if (!item.has("channel")) item.fault(table, "channel is missing", "give the channel, counted from 1");
        if (!channel.mic.empty() && !takes_.mic(channel.mic))
            item.fault(table, fmt::format("there is no [[mic]] with the id {}", in_quotes(channel.mic)), nearest_mic(channel.mic));
        if (item.sound() && sheet.reference == channel.channel)
            item.fault(table, fmt::format("channel {} is the reference and a mic", channel.channel), "give each its own channel");
        for (const auto& other : sheet.mics) {
            if (item.sound() && other.channel == channel.channel)
                item.fault(table, fmt::format("channel {} carries two mics", channel.channel), "give each mic its own channel");
            if (item.sound() && other.mic == channel.mic)
                item.fault(table, fmt::format("mic {} is on two channels", in_quotes(channel.mic)), "name another mic on one of them");
        }
        if (!item.sound()) return part.spoil();
        if (!unusable_mics_.contains(channel.mic)) sheet.mics.push_back(std::move(channel));
    }

    std::string nearest_mic(std::string_view id) const {
        std::vector<std::string_view> known;
        for (const auto& mic : takes_.mics) known.push_back(mic.id);
        return known.empty() ? "add one" : fmt::format("the nearest is {}", in_quotes(nearest_word(id, known)));
    }

    const toml::table& root_;
    std::string file_;
    std::filesystem::path folder_;
    TakesFile& takes_;
    Faults whole_;
    std::set<std::string> unusable_mics_;
    std::map<std::string, std::filesystem::path> signals_;
    std::map<std::string, toml::source_index> ids_;
};

}  // namespace

const Mic* TakesFile::mic(std::string_view id) const {
    const auto found = std::find_if(mics.begin(), mics.end(), [&](const Mic& mic) { return mic.id == id; });
    return found == mics.end() ? nullptr : &*found;
}

Checked<TakesFile> load_takes(const std::filesystem::path& file) {
    const auto text = read_file(file, most_file_bytes);
    if (!text) return std::unexpected(Faults{text.error()});
    toml::table root;
    try {
        root = toml::parse(*text, file.string());
    } catch (const toml::parse_error& error) {
        return std::unexpected(Faults{{FaultKind::input, file.string(), fmt::format("line {}", error.source().begin.line),
                                       fmt::format("this is not TOML: {}", in_quotes(error.description())),
                                       "correct the line; texts stand in quotation marks"}});
    }
    TakesFile takes;
    takes.file = file;
    Faults whole = Reader(root, file, takes).read();
    if (whole.empty()) return takes;
    whole.insert(whole.end(), takes.faults.begin(), takes.faults.end());
    return std::unexpected(std::move(whole));
}

}  // namespace proofwalk::capture
