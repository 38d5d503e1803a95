// Whole logs. An input that begins with "SQLite" is the file itself; any other is a list of edits to a sound log, each
// of a place (three bytes), a count (one byte) and as many new bytes: so the pages keep their meaning long enough to be read.
// With an odd first byte the damaged log is also recovered into a new one.
#include <algorithm>

#include "fuzz/outside.hpp"
#include "log/audit.hpp"
#include "log/log.hpp"
#include "log/recover.hpp"
#include "log/sample.hpp"

namespace {

using namespace proofwalk;

const fuzz::Folder& folder() {
    static const fuzz::Folder folder;
    return folder;
}

std::string sound_log() {
    namespace sample = log::sample;
    const auto file = folder().path() / "sound.db";
    {
        log::Log log = sample::opened(file);
        const bool stored = log.add_plan(sample::plan()) && log.add_take(sample::take("t01"), {}) &&
                            log.add_judgement(sample::judgement(2, 0, 0), log.newest_basis().value(), sample::origin()) &&
                            log.add_take(sample::take("t02", 2), {}) &&
                            log.add_judgement(sample::judgement(2, 1, 1), log.newest_basis().value(), sample::origin()) &&
                            log.add_skip({"level", "M2", "blocked by a truss", sample::origin()}) &&
                            log.add_change({"M1", "tilted by one degree", sample::origin()}) &&
                            log.add_hand_reading({plan::CheckKind::aim_v, "M1", 0.4, 0.2, "Ada Example"}, sample::origin()) &&
                            log.add_gear({"loopback", "device", "pass", "as it should be", sample::origin()}) &&
                            log.add_note({0, "show", "rain at eight", true, sample::origin().when, sample::origin()}) &&
                            log.add_sign_off({"system engineer", sample::origin(), {{"level", "M2"}}, 1, 2, "digest", ""});
        fuzz::demand(stored, "the sound log can be made");
    }
    std::ifstream stream(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), {}};
}

std::string edited(std::string bytes, std::string_view edits) {
    const auto byte = [&](std::size_t at) { return static_cast<std::size_t>(static_cast<unsigned char>(edits[at])); };
    while (edits.size() > 4) {
        const std::size_t place = (byte(0) | byte(1) << 8 | byte(2) << 16) % bytes.size();
        const std::size_t count = std::min({byte(3), edits.size() - 4, bytes.size() - place});
        std::copy_n(edits.begin() + 4, count, bytes.begin() + static_cast<std::ptrdiff_t>(place));
        edits.remove_prefix(4 + count);
    }
    return bytes;
}

template <class T>
void settle(const Result<T>& result) {
    if (!result) fuzz::demand_sentence(result.error());
}

void read_everything(const log::Log& log) {
    settle(log.plans());
    settle(log.takes());
    settle(log.newest_judgement());
    settle(log.skips());
    settle(log.changes());
    settle(log.sign_offs());
    settle(log.hand_readings());
    settle(log.gear());
    settle(log.attachments());
    settle(log.notes());
    settle(log.history("level", "M1"));
    settle(log.take_times());
    settle(log.people());
    settle(log.ever_failed());
}

void clear(const std::filesystem::path& file) {
    for (const char* end : {"", "-wal", "-shm", "-journal", ".takes"}) std::filesystem::remove_all(file.string() + end);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const std::string sound = sound_log();
    const std::string_view input = fuzz::as_text(data, size);
    const bool whole = input.starts_with("SQLite");
    const bool recovered = !input.empty() && data[0] % 2 != 0;
    const auto file = folder().write("read.db", whole ? std::string(input) : edited(sound, input.substr(std::min<std::size_t>(1, size))));
    const auto into = folder().path() / "recovered.db";
    if (const auto log = log::Log::open(file, log::Mode::read, std::chrono::milliseconds{0})) {
        read_everything(*log);
    } else {
        fuzz::demand_sentence(log.error());
    }
    settle(log::audit(file, {.against = "", .recordings = true}));
    if (recovered) settle(log::recover(file, into, log::sample::origin()));
    clear(file);
    clear(into);
    return 0;
}
