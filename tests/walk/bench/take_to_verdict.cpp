// From the last sample to the verdicts: how long looking through, storing, measuring and judging a take of eight mics lasts, and how much
// of it the disk's own sync is. Usage: take_to_verdict [TAKES [BEFORE [float]]]: TAKES timed after BEFORE others are in the log; samples
// of 24 bits, as converters give them, or floats as the simulated room does (stored unpacked).
#include <fcntl.h>
#include <fmt/format.h>
#include <time.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <vector>

#include "capture/stream_damage.hpp"
#include "rehearsal/rehearsal.hpp"
#include "walk/judged.hpp"
#include "walk/live_take.hpp"

namespace {

using namespace proofwalk;

constexpr float full_scale_24 = 8388608.0F;  // 2^23

double ms_since(std::chrono::steady_clock::time_point begun) {
    return std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begun).count();
}

double processor_ms() {
    timespec now{};
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return 1e3 * static_cast<double>(now.tv_sec) + 1e-6 * static_cast<double>(now.tv_nsec);
}

double median(std::vector<double> values) {
    std::ranges::sort(values);
    return values.empty() ? 0.0 : values[values.size() / 2];
}

// Writing and syncing as many bytes as a take of eight mics and a reference has, as two files.
double sync_ms(const std::filesystem::path& folder, std::size_t bytes) {
    const std::vector<char> block(bytes / 2, 'x');
    const auto begun = std::chrono::steady_clock::now();
    for (const char* name : {"a", "b"}) {
        const int file = open((folder / name).c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
        if (write(file, block.data(), block.size()) < 0) return 0.0;
        fsync(file);
        close(file);
    }
    return ms_since(begun);
}

}  // namespace

int main(int argc, char** argv) {
    const bool whole_bits = argc < 4;
    const int takes = argc > 1 ? std::atoi(argv[1]) : 9, before = argc > 2 ? std::atoi(argv[2]) : 20;
    std::string pattern = (std::filesystem::temp_directory_path() / "proofwalk-verdict-XXXXXX").string();
    const std::filesystem::path folder = mkdtemp(pattern.data());
    auto show = walk::open_show(std::filesystem::path(PROOFWALK_SOURCE_DIR "/fixtures/demo/plan.toml"), folder / "show.db");
    if (!show) return 1;
    auto room = rehearsal::make_room(show->plan.plan, {});
    if (!room) return 1;
    const auto device = (*room)->device();
    const auto circuits = show->plan.plan.circuits();
    const std::atomic<bool> stop{false};
    std::vector<double> looked_through_ms, stored_ms, judged_ms, whole_ms, looked_through_busy_ms, stored_busy_ms, judged_busy_ms, disk_ms;
    for (int n = 0; n < before + takes; ++n) {
        walk::LiveTake take;
        take.circuit = circuits[static_cast<std::size_t>(n) % circuits.size()];
        const auto boxes = show->plan.plan.boxes_of(take.circuit);
        take.output = boxes.front()->output.value_or(1);
        const auto& positions = show->plan.plan.positions;
        for (std::size_t m = 0; m < 8; ++m)
            take.mics.push_back({static_cast<int>(m) + 2, fmt::format("m{}", m + 1), positions[(m + 8 * static_cast<std::size_t>(n)) % positions.size()].id});
        take.armed_by = "bench";
        auto play = walk::prepared(show->plan.plan, take, take.drive);
        if (!play) return 1;
        play->request.sheet.label = fmt::format("t{}", n);
        auto recording = device->run(play->request, {}, stop);
        if (!recording) return 1;
        if (whole_bits)
            for (auto& channel : recording->channels)
                for (float& sample : channel) sample = std::clamp(std::round(sample * full_scale_24), -full_scale_24, full_scale_24 - 1.0F) / full_scale_24;
        const std::size_t bytes = recording->channels.size() * recording->channels.front().size() * 3;
        const capture::ReferenceProbe probe(recording->played, recording->channels.front().size());  // a device makes it while it plays
        const double busy = processor_ms();
        const auto begun = std::chrono::steady_clock::now();
        capture::complete(*recording, recording->channels.front().size(), &probe);
        const double looked_through = ms_since(begun), looked_through_busy = processor_ms() - busy;
        const auto stored = walk::store_or_rescue(*show, *recording, take, "rehearsal", stop);
        const double stored_after = ms_since(begun) - looked_through, stored_busy = processor_ms() - busy - looked_through_busy;
        if (!stored || !walk::judged(*show, walk::origin("bench", "rehearsal"))) return 1;
        if (n < before) continue;
        whole_ms.push_back(ms_since(begun));
        looked_through_ms.push_back(looked_through);
        looked_through_busy_ms.push_back(looked_through_busy);
        stored_ms.push_back(stored_after);
        judged_ms.push_back(whole_ms.back() - looked_through - stored_after);
        stored_busy_ms.push_back(stored_busy);
        judged_busy_ms.push_back(processor_ms() - busy - looked_through_busy - stored_busy);
        disk_ms.push_back(sync_ms(folder, bytes));
    }
    fmt::print("{} takes of 8 mics and a reference, {} in the log before; medians, ms:\n", takes, before);
    fmt::print("  looked through {:.0f} (processor {:.0f}), stored and measured {:.0f} (processor {:.0f}), judged {:.0f} (processor {:.0f}), whole {:.0f}; writing and syncing the bytes alone {:.0f}\n",
               median(looked_through_ms), median(looked_through_busy_ms), median(stored_ms), median(stored_busy_ms), median(judged_ms), median(judged_busy_ms), median(whole_ms), median(disk_ms));
    std::error_code ignored;
    std::filesystem::remove_all(folder, ignored);
}
