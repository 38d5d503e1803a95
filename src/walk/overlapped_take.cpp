#include "walk/overlapped_take.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "signal/overlap.hpp"
#include "units/convert.hpp"
#include "walk/bands.hpp"

namespace proofwalk::walk {
namespace {

constexpr double arrival_spread_s = 0.15;   // from the nearest to the farthest mic of a hall
constexpr double harmonic_decay_s = 0.3;
constexpr double fullest_reference = 0.89;  // of full scale, where the loopback carries the sum of all sweeps

Fault refused(std::string reason, std::string remedy) {
    return {FaultKind::input, "", "overlapped take", std::move(reason), std::move(remedy)};
}

bool same_range(const signal::Bands& a, const signal::Bands& b) { return a.range_low_hz == b.range_low_hz && a.range_high_hz == b.range_high_hz; }

// How many sweeps sound at one moment at most.
std::size_t at_once(const OverlapPlan& overlap) {
    std::size_t most = 0;
    for (const double start_s : overlap.starts_s)
        most = std::max(most, static_cast<std::size_t>(std::ranges::count_if(overlap.starts_s, [&](double other_s) {
                            return other_s <= start_s && other_s + overlap.sweep_s > start_s;
                        })));
    return most;
}

LiveTake alone(const LiveTake& common, const CircuitOutput& circuit) {
    LiveTake take = common;
    take.circuit = circuit.circuit;
    take.output = circuit.output;
    return take;
}

// The level at which every circuit, and all together, may play.
Result<double> cleared_level(Show& show, capture::Device& device, const LiveTake& common, const OverlapPlan& overlap, SoundWatch& watch,
                             const std::atomic<bool>& stop) {
    if (!watch.armed())
        if (auto armed = watch.arm(common.armed_by, true, now()); !armed) return std::unexpected(armed.error());
    double level_dbfs = common.drive.level_dbfs;
    std::vector<LiveTake> takes;
    for (const CircuitOutput& circuit : overlap.circuits) {
        takes.push_back(alone(common, circuit));
        const auto cleared = watch.clear(show, device, takes.back(), common.say, common.ask, stop);
        if (!cleared) return std::unexpected(cleared.error());
        level_dbfs = std::min(level_dbfs, cleared->level_dbfs);
    }
    return watch.together(takes, level_dbfs, common.ask);
}

}  // namespace

Result<OverlapPlan> overlap_of(const plan::Plan& plan, const std::vector<CircuitOutput>& circuits, const Drive& drive, double decay_s) {
    OverlapPlan overlap;
    if (circuits.empty()) return std::unexpected(refused("no circuit is named", "name the circuits that have outputs of their own"));
    const signal::Bands bands = bands_of(plan, circuits.front().circuit, "", plan.air);
    for (const CircuitOutput& circuit : circuits) {
        if (!same_range(bands, bands_of(plan, circuit.circuit, "", plan.air))) {
            overlap.left_out.push_back(circuit.circuit);
            continue;
        }
        const auto same = std::ranges::find(overlap.circuits, circuit.output, &CircuitOutput::output);
        if (same != overlap.circuits.end())
            return std::unexpected(refused(fmt::format("{} and {} are both on output {}", same->circuit, circuit.circuit, circuit.output),
                                           "give each circuit an output of its own, or take them one after another"));
        overlap.circuits.push_back(circuit);
    }
    if (overlap.circuits.size() > most_overlapped)
        return std::unexpected(refused(fmt::format("{} circuits at once", overlap.circuits.size()), fmt::format("take at most {}", most_overlapped)));
    signal::OverlapSettings settings;
    settings.circuits = static_cast<int>(overlap.circuits.size());
    settings.length_s = drive.length_s;
    settings.start_hz = bands.range_low_hz;
    settings.stop_hz = std::min(bands.range_high_hz, 0.45 * drive.rate_hz);
    settings.decay_s = decay_s;
    settings.harmonic_decay_s = harmonic_decay_s;
    settings.arrival_spread_s = arrival_spread_s;
    auto schedule = signal::overlapped_starts(settings);
    if (!schedule) return std::unexpected(schedule.error());
    overlap.starts_s = std::move(schedule->starts_s);
    overlap.sweep_s = drive.length_s;
    overlap.seconds = drive.before_s + overlap.starts_s.back() + drive.length_s + drive.after_s;
    return overlap;
}

Result<StoredTake> take_overlapped(Show& show, capture::Device& device, const LiveTake& common, const OverlapPlan& overlap,
                                   const std::function<void(const capture::Progress&)>& progress, const std::atomic<bool>& stop) {
    const capture::DeviceInfo info = device.info();
    if (overlap.circuits.empty() || overlap.circuits.size() != overlap.starts_s.size())
        return std::unexpected(refused("there is no start for each circuit", "plan it anew"));
    if (common.drive.kind != signal::TakeKind::sweep) return std::unexpected(refused("only sweeps can overlap", "give --kind sweep"));
    for (const CircuitOutput& circuit : overlap.circuits)
        if (auto fault = unfit(alone(common, circuit), info)) return std::unexpected(*fault);
    SoundWatch own;
    SoundWatch* watch = watch_for(common, info, own);
    Drive drive = common.drive;
    drive.length_s = overlap.sweep_s;
    const double fullest_dbfs = amplitude_db(fullest_reference / static_cast<double>(at_once(overlap)));
    if (!common.loopback_output && drive.level_dbfs > fullest_dbfs) {
        if (common.say) common.say(fmt::format("Played at {:.1f} dBFS: {} sweeps at once fill the loopback", fullest_dbfs, at_once(overlap)));
        drive.level_dbfs = fullest_dbfs;
    }
    if (watch != nullptr) {
        LiveTake limited = common;
        limited.drive.level_dbfs = drive.level_dbfs;
        const auto level = cleared_level(show, device, limited, overlap, *watch, stop);
        if (!level) {
            if (stop) watch->disarm();
            return std::unexpected(level.error());
        }
        drive.level_dbfs = *level;
    }
    auto play = prepared(show.plan.plan, alone(common, overlap.circuits.front()), drive);
    if (!play) return std::unexpected(play.error());
    capture::PlayRequest& request = play->request;
    request.sheet.sounding.clear();
    std::erase_if(request.outputs, [&](const auto& output) { return output.channel == overlap.circuits.front().output; });
    request.seconds += overlap.starts_s.back();
    for (std::size_t c = 0; c < overlap.circuits.size(); ++c) {
        const auto& [circuit, output] = overlap.circuits[c];
        const auto late = static_cast<std::size_t>(std::llround(overlap.starts_s[c] * drive.rate_hz));
        // To the sample as it is played, so that the split needs no more than this.
        request.sheet.starts.push_back({circuit, play->start_s + static_cast<double>(late) / drive.rate_hz});
        request.sheet.sounding.push_back(circuit);
        std::vector<float> samples(late, 0.0F);
        samples.insert(samples.end(), request.played.begin(), request.played.end());
        request.outputs.push_back({output, std::move(samples)});
    }
    request.sheet.label = fmt::format("{}-{}", join_circuits(request.sheet.sounding), to_text(now()));
    auto recording = device.run(request, progress, stop);
    if (!recording) {
        if (stop && watch != nullptr) watch->disarm();
        return std::unexpected(recording.error());
    }
    auto stored = store_or_rescue(show, *recording, common, info.name, stop);
    // Each circuit's share can't be told from the level of the sum: what its own trials gave stands, and the whole counts as exposure.
    if (watch != nullptr) watch->heard_together(overlap.seconds - drive.before_s - drive.after_s, drive.level_dbfs);
    return stored;
}

}  // namespace proofwalk::walk
