#include "walk/excite.hpp"

#include <algorithm>
#include <cmath>

#include "signal/excitation.hpp"
#include "walk/bands.hpp"

namespace proofwalk::walk {
namespace {

// To the edges of the third octaves at the ends of the box's range, so that these are measured, and no farther: a driver
// never gets what it can't take.
constexpr double band_margin = 1.122;
constexpr double lowest_hz = 15.0;

}  // namespace

Result<DrivenSignal> drive_signal(const plan::Plan& plan, const std::string& circuit, const Drive& drive) {
    DrivenSignal result;
    std::vector<float> sound;
    const signal::Bands bands = bands_of(plan, circuit, "", plan.air);
    // A loopback meets no driver: the whole range that the chain is judged in.
    const bool chain = drive.kind == signal::TakeKind::loopback;
    const double low_hz = chain ? lowest_hz : std::max(lowest_hz, bands.range_low_hz / band_margin);
    const double high_hz = std::min(chain ? drive.rate_hz : bands.range_high_hz * band_margin, 0.45 * drive.rate_hz);
    if (drive.kind == signal::TakeKind::sweep || drive.kind == signal::TakeKind::loopback ||
        drive.kind == signal::TakeKind::match) {
        signal::SweepSettings settings;
        settings.rate_hz = drive.rate_hz;
        settings.start_hz = low_hz;
        settings.stop_hz = high_hz;
        settings.length_s = drive.length_s;
        settings.level_dbfs = drive.level_dbfs;
        auto sweep = signal::exponential_sweep(settings);
        if (!sweep) return std::unexpected(sweep.error());
        sound = std::move(*sweep);
    } else if (drive.kind == signal::TakeKind::noise) {
        signal::NoiseSettings settings;
        settings.rate_hz = drive.rate_hz;
        settings.low_hz = low_hz;
        settings.high_hz = high_hz;
        settings.length_s = drive.length_s;
        settings.level_dbfs = drive.level_dbfs;
        auto noise = signal::periodic_pink_noise(settings);
        if (!noise) return std::unexpected(noise.error());
        sound = std::move(*noise);
    } else {
        sound.assign(static_cast<std::size_t>(std::lround(drive.length_s * drive.rate_hz)), 0.0F);
    }
    const auto before = static_cast<std::size_t>(std::lround(drive.before_s * drive.rate_hz));
    const auto after = static_cast<std::size_t>(std::lround(drive.after_s * drive.rate_hz));
    result.samples.assign(before + sound.size() + after, 0.0F);
    std::ranges::copy(sound, result.samples.begin() + static_cast<std::ptrdiff_t>(before));
    result.start_s = drive.before_s;
    result.whole_s = static_cast<double>(result.samples.size()) / drive.rate_hz;
    return result;
}

}  // namespace proofwalk::walk
