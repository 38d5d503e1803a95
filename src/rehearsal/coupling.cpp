#include "rehearsal/coupling.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "acoustics/geometry.hpp"
#include "units/bands.hpp"
#include "units/convert.hpp"

namespace proofwalk::rehearsal {
namespace {

constexpr std::size_t path_size = 1024;  // samples of one path's colour
constexpr std::size_t path_lead = 24;    // kept before its beginning: the skirt of a band-limited impulse
constexpr double decades_per_e = 13.815510557964274;  // 6 ln 10: reverberation time is a fall of 60 dB in energy
constexpr double shown_decay = 0.9;      // of the reverberation time is rendered; the rest is below any noise here

// Values at the third-octave midbands, read at any frequency: linear over log frequency, held flat outside.
double interpolated(const std::array<double, band_count>& values, double frequency_hz) {
    const double place = std::clamp(10.0 * std::log10(std::max(frequency_hz, 1.0) / 1000.0) + 17.0, 0.0,
                                    static_cast<double>(band_count - 1));
    const auto below = std::min(static_cast<std::size_t>(place), band_count - 2);
    const double share = place - static_cast<double>(below);
    return values[below] * (1.0 - share) + values[below + 1] * share;
}

float one_pole(double corner_hz, double rate_hz) {
    return static_cast<float>(1.0 - std::exp(-2.0 * std::numbers::pi * corner_hz / rate_hz));
}

}  // namespace

double directivity_factor(const plan::Model& model) {
    if (model.pattern == plan::Pattern::omni) return 1.0;
    const double product = std::sin(radians(std::min(model.coverage_h_deg, 180.0) / 2.0)) *
                           std::sin(radians(std::min(model.coverage_v_deg, 180.0) / 2.0));
    return 180.0 / std::max(1.0, degrees(std::asin(product)));
}

Coupling::Coupling(const Hall& hall, const RoomAir& air, double rate_hz)
    : hall_(hall), air_(air), rate_hz_(rate_hz), fft_(path_size), cepstrum_(path_size),
      time_(path_size), spectrum_(fft_.bins()) {}

std::vector<float> Coupling::impulse(const acoustics::Pose& box, const Horn& horn, Vec3 mic, double delay_s,
                                     KeyedRandom reverberation, double directivity_factor, std::size_t most) {
    const std::vector<Path> paths = hall_.paths(box.at, mic);
    const double arrived_s = delay_s + paths.front().length_m / air_.speed_mps();
    double longest_s = arrived_s + (hall_.open_air() ? 0.0 : shown_decay * hall_.decay_s());
    for (const Path& path : paths) longest_s = std::max(longest_s, delay_s + path.length_m / air_.speed_mps());
    const auto size = static_cast<std::size_t>(std::ceil(longest_s * rate_hz_)) + path_size;
    std::vector<float> impulse(std::min(size, most), 0.0F);
    for (const Path& path : paths) add_path(path, box, horn, delay_s, impulse);
    if (!hall_.open_air()) add_reverberation(delay_s, arrived_s, reverberation, directivity_factor, impulse);
    return impulse;
}

void Coupling::add_path(const Path& path, const acoustics::Pose& box, const Horn& horn, double delay_s,
                        std::vector<float>& impulse) {
    const acoustics::Axes own = acoustics::axes(box.pan_deg, box.tilt_deg);
    const double forward = dot(path.leaving, own.forward), left = dot(path.leaving, own.left), up = dot(path.leaving, own.up);
    const double h_deg = degrees(std::atan2(left, forward)), v_deg = degrees(std::atan2(up, std::hypot(forward, left)));
    std::array<double, band_count> level_db{};
    for (std::size_t band = 0; band < band_count; ++band) {
        const double frequency = midband_hz(band);
        level_db[band] = horn.loss_db(h_deg, v_deg, frequency) + Hall::bounce_db(path, frequency) -
                         air_.absorption_db_per_m(frequency) * path.length_m - amplitude_db(path.length_m);
    }
    // Least phase that belongs to this magnitude: cepstrum folded onto positive time (Oppenheim and Schafer).
    const double bin_hz = rate_hz_ / static_cast<double>(path_size);
    for (std::size_t bin = 0; bin < spectrum_.size(); ++bin)
        spectrum_[bin] = static_cast<float>(interpolated(level_db, static_cast<double>(bin) * bin_hz) * std::numbers::ln10 / 20.0);
    fft_.inverse(spectrum_, cepstrum_);
    for (std::size_t index = 1; index < path_size / 2; ++index) cepstrum_[index] *= 2.0F;
    std::fill(cepstrum_.begin() + path_size / 2 + 1, cepstrum_.end(), 0.0F);
    fft_.forward(cepstrum_, spectrum_);
    const double at = (delay_s + path.length_m / air_.speed_mps()) * rate_hz_;
    const auto whole = static_cast<std::ptrdiff_t>(std::floor(at));
    const double rest = at - static_cast<double>(whole) + static_cast<double>(path_lead);
    for (std::size_t bin = 0; bin < spectrum_.size(); ++bin) {
        const double turn = -2.0 * std::numbers::pi * static_cast<double>(bin) * rest / static_cast<double>(path_size);
        spectrum_[bin] = std::polar(std::exp(spectrum_[bin].real()), spectrum_[bin].imag() + static_cast<float>(turn));
    }
    spectrum_.back() = spectrum_.back().real();
    fft_.inverse(spectrum_, time_);
    const std::ptrdiff_t first = whole - static_cast<std::ptrdiff_t>(path_lead);
    for (std::size_t index = 0; index < path_size; ++index) {
        const std::ptrdiff_t target = first + static_cast<std::ptrdiff_t>(index);
        if (target >= 0 && target < std::ssize(impulse)) impulse[static_cast<std::size_t>(target)] += time_[index];
    }
}

// Gaussian noise in three bands that decay each at its own rate; low frequencies leave a box more to all sides.
void Coupling::add_reverberation(double emitted_s, double arrived_s, KeyedRandom& random, double directivity_factor,
                                 std::vector<float>& impulse) const {
    const double mixed_s = arrived_s + hall_.mean_free_path_m() / air_.speed_mps();
    constexpr double fade_s = 0.02;
    struct Part {
        double decay_s, factor;
        float amplitude, per_sample;
    };
    std::array<Part, 3> parts = {{{1.25 * hall_.decay_s(), std::max(1.0, 0.15 * directivity_factor), 0.0F, 0.0F},
                                  {hall_.decay_s(), std::max(1.0, 0.6 * directivity_factor), 0.0F, 0.0F},
                                  {0.6 * hall_.decay_s(), std::max(1.0, 1.1 * directivity_factor), 0.0F, 0.0F}}};
    for (Part& part : parts) {
        const double rate = decades_per_e / part.decay_s;
        const double energy = hall_.reverberant_energy(part.factor) * rate / rate_hz_;
        part.amplitude = static_cast<float>(std::sqrt(energy * std::exp(-rate * (mixed_s - emitted_s))));
        part.per_sample = static_cast<float>(std::exp(-0.5 * rate / rate_hz_));
    }
    const float low_step = one_pole(500.0, rate_hz_), high_step = one_pole(3500.0, rate_hz_);
    float low = 0.0F, below_high = 0.0F;
    const auto first = static_cast<std::size_t>(std::max(0.0, mixed_s * rate_hz_));
    const double fade = fade_s * rate_hz_;
    for (std::size_t index = first; index < impulse.size(); ++index) {
        const float white = random.rough_normal();
        low += low_step * (white - low);
        below_high += high_step * (white - below_high);
        const float sum = parts[0].amplitude * low + parts[1].amplitude * (below_high - low) + parts[2].amplitude * (white - below_high);
        const double since = static_cast<double>(index - first);
        impulse[index] += since < fade ? sum * static_cast<float>(since / fade) : sum;
        for (Part& part : parts) part.amplitude *= part.per_sample;
    }
}

}  // namespace proofwalk::rehearsal
