// How fast and how large a log is, measured on a made-up show. Usage: log_bench [FOLDER] [TAKES] [LOGS]
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <thread>

#include "log/durable_file.hpp"
#include "log/impulse_rounding.hpp"
#include "log/review.hpp"
#include "log/sample.hpp"

namespace {

using namespace proofwalk;
using Clock = std::chrono::steady_clock;

double ms_since(Clock::time_point start) { return std::chrono::duration<double, std::milli>(Clock::now() - start).count(); }

// Of all threads together: on a busy machine it says more than the clock on the wall.
double processor_ms() { return 1e3 * static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

template <class Work>
double least_ms(int times, Work work) {
    double least = 1e9;
    for (int time = 0; time < times; ++time) {
        const auto start = Clock::now();
        work();
        least = std::min(least, ms_since(start));
    }
    return least;
}

// A take as large as in a hall: 8 s, 8 mics and a reference, impulse responses of 1.5 s with their noise.
log::TakeRecord large_take(unsigned seed) {
    log::TakeRecord take = log::sample::take("large " + std::to_string(seed), seed, 8);
    std::mt19937 random(seed);
    std::normal_distribution<float> normal(0.0F, 1.0F);
    for (auto& heard : take.evidence) {
        heard.evidence.impulse.resize(72000);
        for (std::size_t at = 0; at < heard.evidence.impulse.size(); ++at)
            heard.evidence.impulse[at] = (at < 2000 ? 3e-4F : 3e-4F + 0.05F * std::exp(-static_cast<float>(at - 2000) / 6000.0F)) * normal(random);
        heard.evidence.impulse[2000] = 1.0F;
        log::round_impulse(heard.evidence);
    }
    return take;
}

// A sweep at the reference, the same 30 dB down with noise at each mic, 24 bit.
std::vector<std::vector<float>> large_recording(unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<float> normal(0.0F, 2e-4F);
    std::vector<std::vector<float>> channels(9, std::vector<float>(384'000));
    for (std::size_t channel = 0; channel < 9; ++channel)
        for (std::size_t at = 0; at < 384'000; ++at) {
            const double t = static_cast<double>(at) / 48000.0;
            const double sweep = t < 6.0 ? 0.25 * std::sin(2.0 * 3.14159265358979 * 20.0 * 0.868 * (std::exp(t / 0.868) - 1.0)) : 0.0;
            const float sample = static_cast<float>(channel == 0 ? sweep : 0.03 * sweep) + (channel == 0 ? 0.0F : normal(random));
            channels[channel][at] = std::nearbyint(sample * 8388608.0F) / 8388608.0F;
        }
    return channels;
}

std::uintmax_t bytes_in(const std::filesystem::path& folder) {
    std::uintmax_t bytes = 0;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(folder))
        if (entry.is_regular_file()) bytes += entry.file_size();
    return bytes;
}

}  // namespace

int main(int argc, char** argv) {
    const std::filesystem::path folder = argc > 1 ? argv[1] : "log_bench_files";
    const int takes = argc > 2 ? std::atoi(argv[2]) : 10'000;
    const int logs = argc > 3 ? std::atoi(argv[3]) : 20;
    std::filesystem::remove_all(folder);
    std::filesystem::create_directories(folder);
    {
        log::Log log = log::sample::opened(folder / "large.db");
        const auto recording = large_recording(1);
        double with_raw = 1e9, without = 1e9, ahead = 1e9, with_raw_processor = 0.0, without_processor = 0.0;
        for (unsigned seed = 0; seed < 5; ++seed) {
            const auto take = large_take(seed);
            const double before = processor_ms();
            with_raw = std::min(with_raw, least_ms(1, [&] { (void)log.add_take(take, recording); }));
            with_raw_processor += (processor_ms() - before) / 5.0;
            const auto bare = large_take(seed + 100);
            const double before_bare = processor_ms();
            without = std::min(without, least_ms(1, [&] { (void)log.add_take(bare, {}); }));
            without_processor += (processor_ms() - before_bare) / 5.0;
            // As in a walk: the recording goes to the disk while its take is measured.
            const auto measured = large_take(seed + 200);
            log::Log::Recording stored = log.store_ahead(measured.sha256, 48000.0, recording);
            std::this_thread::sleep_for(std::chrono::milliseconds{800});
            ahead = std::min(ahead, least_ms(1, [&] { (void)log.add_take(measured, std::move(stored)); }));
        }
        std::printf("commit of a take, 8 mics, its recording stored while it was measured: %.1f ms, of which a sync of this disk takes %.1f ms\n",
                    ahead, least_ms(9, [&] {
                        const std::byte page[4096] = {};
                        log::write_synced(folder / "sync", page);
                    }));
        std::printf("commit of a take, 8 mics: %.1f ms without raw audio, %.1f ms with it (syncs included); processor time of all "
                    "threads %.1f and %.1f ms\n",
                    without, with_raw, without_processor, with_raw_processor);
    }
    std::printf("300 takes: %.0f MiB without raw audio, %.0f MiB of raw audio more\n",
                static_cast<double>(std::filesystem::file_size(folder / "large.db")) / 15.0 * 300.0 / 1048576.0,
                static_cast<double>(bytes_in(folder / "large.db.takes")) / 10.0 * 300.0 / 1048576.0);
    {
        log::Log log = log::sample::opened(folder / "many.db");
        (void)log.add_plan(log::sample::plan());
        for (int number = 0; number < takes; ++number) {
            (void)log.add_take(log::sample::take("t" + std::to_string(number), static_cast<unsigned>(number), 2), {});
            if (number % 10 == 9)
                (void)log.add_judgement(log::sample::judgement(60, number % 60, number), log.newest_basis().value(), log::sample::origin());
        }
        (void)log.add_judgement(log::sample::judgement(60, 59, takes), log.newest_basis().value(), log::sample::origin());
    }
    const double opening = least_ms(5, [&] { (void)log::sample::opened(folder / "many.db", log::Mode::read); });
    const log::Log log = log::sample::opened(folder / "many.db", log::Mode::read);
    const double tally = least_ms(5, [&] {
        (void)log.newest_basis();
        (void)log.newest_judgement();
    });
    std::printf("%d takes, 60 boxes, %.0f MiB: opening %.1f ms, basis and newest verdicts %.1f ms\n", takes,
                static_cast<double>(std::filesystem::file_size(folder / "many.db")) / 1048576.0, opening, tally);
    std::vector<std::filesystem::path> tour = {folder / "many.db"};
    while (tour.size() < static_cast<std::size_t>(logs)) {
        tour.push_back(folder / ("many" + std::to_string(tour.size()) + ".db"));
        std::filesystem::copy_file(folder / "many.db", tour.back());
    }
    const double before = processor_ms();
    const double review = least_ms(1, [&] { (void)log::review(tour); });
    std::printf("review of %d such logs: %.0f ms, processor time of all threads %.0f ms\n", logs, review, processor_ms() - before);
    std::filesystem::remove_all(folder);
}
