// Plays simulated shows and prints how often verdicts were right: trials [--shows N] [--from SEED] [--snr DB] [--threads N]
// [--rig NAME] [--fault NAME] [--wrong] [--figures]. The same arguments print the same table. Ended early (SIGTERM, ^C) it prints the shows
// that it has played.
#include <atomic>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <mutex>
#include <string_view>
#include <thread>
#include <vector>

#include "trials/hall.hpp"
#include "trials/scoring.hpp"

namespace {

std::atomic<bool> ended_early{false};

}  // namespace

int main(int count, char** arguments) {
    using namespace proofwalk;
    using namespace proofwalk::trials;
    std::uint64_t shows = 100, from = 1;
    unsigned threads = 1;
    bool tell = false, tell_figures = false;
    Wish wish;
    for (int i = 1; i < count; ++i) {
        const std::string_view key = arguments[i];
        const char* value = i + 1 < count ? arguments[i + 1] : "";
        if (key == "--wrong") { tell = true; continue; }
        if (key == "--figures") { tell_figures = true; continue; }
        ++i;
        if (key == "--shows") shows = std::strtoull(value, nullptr, 10);
        else if (key == "--from") from = std::strtoull(value, nullptr, 10);
        else if (key == "--threads") threads = static_cast<unsigned>(std::strtoul(value, nullptr, 10));
        else if (key == "--snr") wish.signal_to_noise_db = std::strtod(value, nullptr);
        else if (key == "--rig") {
            for (int rig = 0; rig < rig_count; ++rig)
                if (std::string_view(word(static_cast<Rig>(rig))) == value) wish.rig = static_cast<Rig>(rig);
        } else if (key == "--fault") {
            for (int kind = 0; kind < fault_count; ++kind)
                if (std::string_view(word(static_cast<Planted>(kind))) == value) wish.fault = static_cast<Planted>(kind);
        } else {
            std::fprintf(stderr, "unknown argument %s\n", arguments[i - 1]);
            return 2;
        }
    }
    for (const int signal : {SIGTERM, SIGINT}) std::signal(signal, [](int) { ended_early = true; });
    std::vector<Table> tables(shows);
    std::atomic<std::uint64_t> next{0};
    const auto work = [&] {
        for (std::uint64_t n = next++; n < shows && !ended_early; n = next++) {
            const Show show = show_of(from + n, wish);
            verify::Input input;
            input.plan = show.plan;
            input.readings = walk(show);
            tables[n].add(show, verify::judge(input));
            if (threads > 0 && n % 100 == 99) std::fprintf(stderr, "%llu shows\n", static_cast<unsigned long long>(n + 1));
        }
    };
    std::vector<std::thread> workers;
    for (unsigned t = 1; t < threads; ++t) workers.emplace_back(work);
    work();
    for (std::thread& worker : workers) worker.join();
    Table sum;
    for (const Table& table : tables) sum += table;
    std::printf("%s\n", text(sum).c_str());
    if (tell)
        for (const std::string& line : sum.wrong) std::printf("%s\n", line.c_str());
    if (tell_figures) std::printf("seed rig room fault check subject informed value uncertainty true\n");
    if (tell_figures)
        for (const std::string& line : sum.figures) std::printf("%s\n", line.c_str());
    return 0;
}
