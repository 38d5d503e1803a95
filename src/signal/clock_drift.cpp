#include "signal/clock_drift.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numbers>

#include "signal/resample.hpp"
#include "units/convert.hpp"
#include "units/side_by_side.hpp"

namespace proofwalk::signal {

namespace {

constexpr double pi = std::numbers::pi;

// Sweeps. Shears are in seconds of delay for each factor e of frequency: drift times L.
constexpr double low_hz = 1500.0, high_hz = 13000.0, middle_hz = 4400.0;
constexpr double before_peak_s = 0.004, after_peak_s = 0.008, magnitude_s = 0.003;
constexpr double searched_s = 0.6;
constexpr double magnitude_from_hz = 1000.0, magnitude_to_hz = 19000.0, slope_share = 0.79;
constexpr std::array<double, 6> crossovers_hz = {0.0, 800.0, 1200.0, 1600.0, 2000.0, 2500.0};
constexpr double widest_shear_s = 175e-6, widest_ppm = 250.0;
constexpr double coarse_step_s = 24e-6, fine_step_s = 6e-6;
// Found on invented rooms: what the upper end beyond the magnitude's reach adds, and the spread (common to the box, and of each mic).
constexpr double sharpness_bias_s = 7e-6, box_u_s = 7e-6, mic_u_s = 8e-6;
constexpr double phase_bias_s = 3.5e-6, phase_u_rad = 0.25;
constexpr double drift_u_s = 3e-6;           // of a shear that both marks settle
// Log odds. Up to four standard deviations of the first mark must not make one clock look like two.
constexpr double one_clock_favour = 6.5;     // of one clock before the take is looked at
constexpr double settles = 10.0;             // against one clock, to correct by the figure found
constexpr double rules_out = 3.5;            // against figures with the other polarity
constexpr double one_clock_within_s = 8e-6;  // shears that count as none
constexpr double plainly_none_s = 12e-6;
constexpr double dead_band_db = 30.0;        // no third octave of the band may lie further below the strongest
constexpr double heard_ratio = 20.0;         // peak energy over the median
constexpr std::size_t most_responses = 3;
constexpr double direct_sharpness = -3.5;    // below it (diffuse sound) no peak stands out whose shape could tell anything

// Noise.
constexpr double noise_low_hz = 500.0, noise_high_hz = 8000.0;
constexpr double part_s = 0.5, longest_delay_s = 0.35;
constexpr std::size_t fewest_parts = 4, most_parts = 16;
constexpr double noise_reach_ppm = 300.0;
constexpr double stands_above_u = 4.0, smallest_ppm = 1.0;

std::vector<double> smoothed(const Spectrum& spectrum) {
    std::vector<double> cumulative(spectrum.size() + 1, 0.0), smooth(spectrum.size());
    for (std::size_t bin = 0; bin < spectrum.size(); ++bin) cumulative[bin + 1] = cumulative[bin] + static_cast<double>(std::norm(spectrum[bin]));
    const double sixth = std::pow(2.0, 1.0 / 6.0);
    for (std::size_t bin = 0; bin < spectrum.size(); ++bin) {
        const auto first = static_cast<std::size_t>(static_cast<double>(bin) / sixth);
        const auto last = std::min(spectrum.size(), static_cast<std::size_t>(std::ceil(static_cast<double>(bin) * sixth)) + 1);
        smooth[bin] = (cumulative[last] - cumulative[first]) / static_cast<double>(last - first);
    }
    return smooth;
}

double ramp(double hz, double from_hz, double to_hz) {
    const double x = std::clamp(std::log(std::max(hz, 1.0) / from_hz) / std::log(to_hz / from_hz), 0.0, 1.0);
    return 0.5 - 0.5 * std::cos(pi * x);
}

// Phase of the all-pass that two fourth-order Linkwitz-Riley halves add up to, its 360 degrees far above taken off.
double all_pass_rad(double hz, double crossover_hz) {
    if (crossover_hz <= 0.0) return 0.0;
    const double ratio = hz / crossover_hz;
    return 2.0 * (pi - std::atan2(std::numbers::sqrt2 * ratio, 1.0 - ratio * ratio));
}

// One response's short piece around its strongest treble, its minimum phase taken out.
class Piece {
public:
    struct Place {
        std::span<const float> response;
        std::size_t at = 0;   // sample where the block with the strongest treble begins
        double height = 0.0;  // energy of the treble there
    };
    // Nothing where no treble stands out, or where the sweep does not cover what is looked at.
    [[nodiscard]] static std::optional<Place> place_in(std::span<const float> response, double rate_hz, const SweptBand& swept) {
        const auto count = std::min(static_cast<std::size_t>(searched_s * rate_hz), response.size());
        const auto block = static_cast<std::size_t>(0.25e-3 * rate_hz);
        if (count < 200 * block || rate_hz < 2.2 * magnitude_to_hz || swept.low_hz > magnitude_from_hz || 0.97 * swept.high_hz < 1.1 * high_hz) return std::nullopt;
        std::vector<double> energy(count / block, 0.0);
        for (std::size_t n = 1; n < energy.size() * block; ++n) {
            const double rise = static_cast<double>(response[n]) - static_cast<double>(response[n - 1]);
            energy[n / block] += rise * rise;
        }
        std::size_t loudest = 1;
        for (std::size_t n = 1; n < energy.size(); ++n)
            if (energy[n] + energy[n - 1] > energy[loudest] + energy[loudest - 1]) loudest = n;
        const double height = energy[loudest] + energy[loudest - 1];
        std::nth_element(energy.begin(), energy.begin() + static_cast<std::ptrdiff_t>(energy.size() / 2), energy.end());
        if (!(height > heard_ratio * 2.0 * energy[energy.size() / 2])) return std::nullopt;
        return Place{response, loudest * block, height};
    }

    [[nodiscard]] static std::optional<Piece> at(const Place& place, double rate_hz, const SweptBand& swept) {
        Piece piece(rate_hz);
        piece.magnitude_to_hz_ = std::min(magnitude_to_hz, 0.97 * swept.high_hz);
        return piece.take(place.response, static_cast<std::ptrdiff_t>(place.at)) ? std::optional<Piece>(std::move(piece)) : std::nullopt;
    }

    struct Look {
        double sharpness = 0.0;  // log of sum e^4 / (sum e^2)^2 of the envelope
        double phase_rad = 0.0;  // at its peak
    };

    // With a shear and one of the crossovers' all-passes taken off.
    [[nodiscard]] Look look(double shear_s, std::size_t crossover) const {
        Spectrum turned(spectrum_.size());
        for (std::size_t bin = first_; bin < last_; ++bin) {
            const auto angle = static_cast<float>(shear_s * sheared_[bin - first_]);
            turned[bin] = without_crossover_[crossover][bin - first_] * std::complex<float>(std::cos(angle), std::sin(angle));
        }
        std::vector<float> real(fft_.size()), imaginary(fft_.size());
        fft_.analytic(turned, real, imaginary);
        std::vector<float> power(real.size());
        double square = 0.0, fourth = 0.0;
        for (std::size_t n = 0; n < real.size(); ++n) {
            power[n] = real[n] * real[n] + imaginary[n] * imaginary[n];
            square += static_cast<double>(power[n]);
            fourth += static_cast<double>(power[n]) * static_cast<double>(power[n]);
        }
        Look seen;
        if (!(square > 0.0)) return seen;
        seen.sharpness = std::log(fourth / (square * square));
        const auto peak = static_cast<std::size_t>(std::ranges::max_element(power) - power.begin());
        const auto envelope = [&](std::size_t n) { return std::sqrt(static_cast<double>(power[n % power.size()])); };
        const double before = envelope(peak + power.size() - 1), there = envelope(peak), after = envelope(peak + 1);
        const double bend = before - 2.0 * there + after;
        const double at = static_cast<double>(peak) + (bend < 0.0 ? 0.5 * (before - after) / bend : 0.0);
        std::complex<double> sum;
        const std::complex<double> step = std::polar(1.0, 2.0 * pi * at / static_cast<double>(power.size()));
        std::complex<double> turn = std::polar(1.0, 2.0 * pi * at * static_cast<double>(first_) / static_cast<double>(power.size()));
        for (std::size_t bin = first_; bin < last_; ++bin, turn *= step) sum += std::complex<double>(turned[bin]) * turn;
        seen.phase_rad = std::arg(sum);
        return seen;
    }

private:
    explicit Piece(double rate_hz)
        : rate_hz_(rate_hz), fft_(fast_size(static_cast<std::size_t>(0.0425 * rate_hz))), bin_hz_(rate_hz / static_cast<double>(fft_.size())),
          first_(static_cast<std::size_t>(low_hz / 1.25 / bin_hz_) + 1), last_(static_cast<std::size_t>(high_hz * 1.1 / bin_hz_)) {
        for (std::size_t bin = first_; bin < last_; ++bin) {
            const double hz = static_cast<double>(bin) * bin_hz_;
            sheared_.push_back(2.0 * pi * hz * (std::log(hz / middle_hz) - 1.0));
        }
    }

    [[nodiscard]] bool take(std::span<const float> response, std::ptrdiff_t peak) {
        const auto lead = static_cast<std::ptrdiff_t>(before_peak_s * rate_hz_), tail = static_cast<std::ptrdiff_t>(after_peak_s * rate_hz_);
        const auto fade = static_cast<std::ptrdiff_t>(1.3e-3 * rate_hz_), near = static_cast<std::ptrdiff_t>(magnitude_s * rate_hz_);
        std::vector<float> samples(static_cast<std::size_t>(lead + tail)), direct(samples.size());
        for (std::ptrdiff_t n = 0; n < lead + tail; ++n) {
            const std::ptrdiff_t at = peak - lead + n;
            if (at < 0 || at >= static_cast<std::ptrdiff_t>(response.size())) continue;
            const double edge = static_cast<double>(std::min({n, lead + tail - 1 - n, fade})) / static_cast<double>(fade);
            const double closing = std::clamp(2.0 * static_cast<double>(lead + near - n) / static_cast<double>(near), 0.0, 1.0);
            const double sample = static_cast<double>(response[static_cast<std::size_t>(at)]) * edge;
            samples[static_cast<std::size_t>(n)] = static_cast<float>(sample);
            direct[static_cast<std::size_t>(n)] = static_cast<float>(sample * (0.5 - 0.5 * std::cos(pi * closing)));
        }
        std::vector<double> magnitude = smoothed(fft_.forward(direct));
        if (!carries(magnitude)) return false;
        carry_on(magnitude);
        const std::vector<float> own = minimum_phase(magnitude);
        spectrum_ = fft_.forward(samples);
        for (std::size_t crossover = 0; crossover < crossovers_hz.size(); ++crossover)
            for (std::size_t bin = first_; bin < last_; ++bin) {
                const double hz = static_cast<double>(bin) * bin_hz_;
                const double gain = ramp(hz, low_hz / 1.25, low_hz * 1.25) * (1.0 - ramp(hz, 0.8 * high_hz, 1.1 * high_hz)) / std::sqrt(magnitude[bin]);
                const double turn_rad = static_cast<double>(own[bin]) + all_pass_rad(hz, crossovers_hz[crossover]);
                without_crossover_[crossover].push_back(spectrum_[bin] * std::complex<float>(std::polar(gain, -turn_rad)));
            }
        return true;
    }

    [[nodiscard]] bool carries(const std::vector<double>& magnitude) const {
        double strongest = 0.0, weakest = 1e300;
        for (double hz = low_hz; hz <= high_hz; hz *= 1.26) {
            const double power = magnitude[static_cast<std::size_t>(hz / bin_hz_)];
            strongest = std::max(strongest, power);
            weakest = std::min(weakest, power);
        }
        return weakest > 0.0 && weakest > power_of_db(-dead_band_db) * strongest;
    }

    // Below and above what the sweep covers: held, and falling as it does before.
    void carry_on(std::vector<double>& magnitude) const {
        const auto bottom = static_cast<std::size_t>(magnitude_from_hz / bin_hz_), top = static_cast<std::size_t>(magnitude_to_hz_ / bin_hz_);
        const auto from = static_cast<std::size_t>(slope_share * magnitude_to_hz_ / bin_hz_);
        std::fill_n(magnitude.begin(), bottom, magnitude[bottom]);
        double sum_x = 0.0, sum_y = 0.0, sum_xx = 0.0, sum_xy = 0.0;
        for (std::size_t bin = from; bin <= top; ++bin) {
            const double x = std::log(static_cast<double>(bin) / static_cast<double>(top)), y = std::log(std::max(magnitude[bin], 1e-30));
            sum_x += x;
            sum_y += y;
            sum_xx += x * x;
            sum_xy += x * y;
        }
        const auto count = static_cast<double>(top - from + 1);
        const double slope = std::clamp((count * sum_xy - sum_x * sum_y) / (count * sum_xx - sum_x * sum_x), -12.0, 0.0);
        for (std::size_t bin = top; bin < magnitude.size(); ++bin)
            magnitude[bin] = magnitude[top] * std::pow(static_cast<double>(bin) / static_cast<double>(top), slope);
    }

    // By folding the cepstrum.
    [[nodiscard]] std::vector<float> minimum_phase(const std::vector<double>& magnitude) const {
        Spectrum log_of(magnitude.size());
        for (std::size_t bin = 0; bin < log_of.size(); ++bin) log_of[bin] = static_cast<float>(0.5 * std::log(std::max(magnitude[bin], 1e-30)));
        std::vector<float> cepstrum = fft_.inverse(log_of);
        for (std::size_t n = 1; n < cepstrum.size() / 2; ++n) cepstrum[n] *= 2.0F;
        std::fill(cepstrum.begin() + static_cast<std::ptrdiff_t>(cepstrum.size() / 2 + 1), cepstrum.end(), 0.0F);
        fft_.forward(cepstrum, log_of);
        std::vector<float> phase(log_of.size());
        for (std::size_t bin = 0; bin < phase.size(); ++bin) phase[bin] = log_of[bin].imag();
        return phase;
    }

    double rate_hz_, magnitude_to_hz_ = magnitude_to_hz;
    RealFft fft_;
    double bin_hz_;
    std::size_t first_, last_;        // lines of the band
    std::vector<double> sheared_;     // phase of a shear of one second at each of them
    Spectrum spectrum_;
    std::array<std::vector<std::complex<float>>, crossovers_hz.size()> without_crossover_;  // the band alone
};

// Sharpness of one piece at each shear of the coarse grid, with the crossover that makes it sharpest.
struct Ridge {
    std::vector<double> sharpness;
    std::vector<std::size_t> crossover;

};

std::vector<Ridge> ridges_of(const std::vector<Piece>& pieces, std::ptrdiff_t half_width) {
    const auto shears = static_cast<std::size_t>(2 * half_width + 1);
    std::vector<Ridge> ridges(pieces.size(), Ridge{std::vector<double>(shears, -1e300), std::vector<std::size_t>(shears, 0)});
    side_by_side(pieces.size() * shears, [&](std::size_t n) {
        const std::size_t piece = n / shears, k = n % shears;
        const double shear_s = static_cast<double>(static_cast<std::ptrdiff_t>(k) - half_width) * coarse_step_s;
        for (std::size_t crossover = 0; crossover < crossovers_hz.size(); ++crossover) {
            const double sharpness = pieces[piece].look(shear_s, crossover).sharpness;
            if (sharpness <= ridges[piece].sharpness[k]) continue;
            ridges[piece].sharpness[k] = sharpness;
            ridges[piece].crossover[k] = crossover;
        }
    });
    return ridges;
}

// Where the sum of all ridges is highest, by a parabola.
double sharpest_shear_s(const std::vector<Ridge>& ridges, std::ptrdiff_t half_width) {
    std::vector<double> sum(static_cast<std::size_t>(2 * half_width + 1), 0.0);
    for (const Ridge& ridge : ridges)
        for (std::size_t k = 0; k < sum.size(); ++k) sum[k] += ridge.sharpness[k];
    const auto top = static_cast<std::size_t>(std::max_element(sum.begin() + 1, sum.end() - 1) - sum.begin());
    const double bend = sum[top - 1] - 2.0 * sum[top] + sum[top + 1];
    const double shift = bend < 0.0 ? std::clamp(0.5 * (sum[top - 1] - sum[top + 1]) / bend, -0.5, 0.5) : 0.0;
    return (static_cast<double>(top) + shift - static_cast<double>(half_width)) * coarse_step_s;
}

}  // namespace

std::optional<ClockDrift> drift_of_sweep(std::span<const std::span<const float>> responses, double rate_hz, double time_constant_s, const SweptBand& swept) {
    if (!(time_constant_s > 0.0)) return std::nullopt;
    std::vector<std::optional<Piece::Place>> found(responses.size());
    side_by_side(found.size(), [&](std::size_t n) { found[n] = Piece::place_in(responses[n], rate_hz, swept); });
    std::vector<Piece::Place> places;
    for (const auto& place : found)
        if (place) places.push_back(*place);
    std::ranges::sort(places, std::greater{}, &Piece::Place::height);
    std::vector<Piece> pieces;
    for (std::size_t n = 0; n < places.size() && pieces.size() < most_responses; ++n)
        if (auto piece = Piece::at(places[n], rate_hz, swept)) pieces.push_back(std::move(*piece));
    if (pieces.empty()) return std::nullopt;

    // Most takes show at once that they have one clock.
    constexpr std::ptrdiff_t narrow = 3;
    std::vector<Ridge> ridges = ridges_of(pieces, narrow);
    double alike = 0.0;
    for (std::size_t n = 0; n < pieces.size(); ++n)
        alike += std::cos(2.0 * pieces[n].look(phase_bias_s, ridges[n].crossover[narrow]).phase_rad) / static_cast<double>(pieces.size());
    if (std::abs(sharpest_shear_s(ridges, narrow) - sharpness_bias_s) < plainly_none_s && alike > 0.5) return std::nullopt;

    const double widest_s = std::max(widest_shear_s, widest_ppm * 1e-6 * time_constant_s);
    const auto half_width = static_cast<std::ptrdiff_t>(std::ceil(widest_s / coarse_step_s));
    ridges = ridges_of(pieces, half_width);
    std::vector<Piece> clear;
    std::vector<Ridge> clear_ridges;
    for (std::size_t n = 0; n < pieces.size(); ++n) {
        if (*std::ranges::max_element(ridges[n].sharpness) < direct_sharpness) continue;
        clear_ridges.push_back(std::move(ridges[n]));
        clear.push_back(std::move(pieces[n]));
    }
    if (clear.empty()) return std::nullopt;
    pieces = std::move(clear);
    ridges = std::move(clear_ridges);
    const double sharpest_s = sharpest_shear_s(ridges, half_width) - sharpness_bias_s;
    const double sharpness_u_s = std::hypot(box_u_s, mic_u_s / std::sqrt(static_cast<double>(pieces.size())));

    // Log odds of each shear by sharpness and phase.
    const auto fine_half = static_cast<std::ptrdiff_t>(widest_s / fine_step_s);
    const double phase_weight = 0.25 / (phase_u_rad * phase_u_rad) / static_cast<double>(pieces.size());
    std::vector<double> odds;
    for (std::ptrdiff_t k = -fine_half; k <= fine_half; ++k) {
        const double shear_s = static_cast<double>(k) * fine_step_s;
        const auto near = static_cast<std::size_t>(std::lround((shear_s + phase_bias_s) / coarse_step_s) + half_width);
        double sum = -0.5 * std::pow((shear_s - sharpest_s) / sharpness_u_s, 2);
        for (std::size_t n = 0; n < pieces.size(); ++n) {
            const double phase_rad = pieces[n].look(shear_s + phase_bias_s, ridges[n].crossover[std::min(near, ridges[n].crossover.size() - 1)]).phase_rad;
            sum += phase_weight * (std::cos(2.0 * phase_rad) - 1.0);
        }
        odds.push_back(sum);
    }
    const auto shear_at = [&](std::size_t n) { return (static_cast<double>(n) - static_cast<double>(fine_half)) * fine_step_s; };
    const auto best = static_cast<std::size_t>(std::ranges::max_element(odds) - odds.begin());
    double none = -1e300, other = -1e300;
    const double branch_s = 0.5 / (2.0 * middle_hz);
    for (std::size_t n = 0; n < odds.size(); ++n) {
        if (std::abs(shear_at(n)) <= one_clock_within_s) none = std::max(none, odds[n]);
        if (std::abs(shear_at(n) - shear_at(best)) > 0.5 * branch_s) other = std::max(other, odds[n]);
    }
    if (std::abs(shear_at(best)) <= one_clock_within_s || odds[best] - none < one_clock_favour) return std::nullopt;
    ClockDrift drift;
    drift.ppm = 1e6 * shear_at(best) / time_constant_s;
    drift.u_ppm = 1e6 * drift_u_s / time_constant_s;
    drift.settled = odds[best] - none > settles && odds[best] - other > rules_out && best > 0 && best + 1 < odds.size();
    return drift;
}

namespace {

double median_of(std::vector<double> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

// The response as one part of the take shows it, in a band, times the reference's smoothed power spectrum's inverse.
Spectrum response_of_part(const RealFft& fft, std::span<const float> reference, std::span<const float> mic, double rate_hz) {
    Spectrum played = fft.forward(reference), heard = fft.forward(mic);
    const std::vector<double> power = smoothed(played);
    const double bin_hz = rate_hz / static_cast<double>(fft.size());
    for (std::size_t bin = 0; bin < heard.size(); ++bin) {
        const double hz = static_cast<double>(bin) * bin_hz;
        const double gain = ramp(hz, noise_low_hz / 1.5, noise_low_hz * 1.5) * (1.0 - ramp(hz, noise_high_hz / 1.5, noise_high_hz * 1.5));
        heard[bin] = gain > 0.0 && power[bin] > 0.0 ? heard[bin] * std::conj(played[bin]) * static_cast<float>(gain / power[bin]) : 0.0F;
    }
    return heard;
}

// How much later one response is than another, in samples; nothing when they are not alike.
std::optional<double> later_by(const RealFft& fft, const Spectrum& one, const Spectrum& other, double reach) {
    constexpr double finer = 16.0;
    constexpr double alike = 0.2;
    Spectrum cross(one.size());
    double one_power = 0.0, other_power = 0.0;
    for (std::size_t bin = 0; bin < cross.size(); ++bin) {
        cross[bin] = one[bin] * std::conj(other[bin]);
        one_power += static_cast<double>(std::norm(one[bin]));
        other_power += static_cast<double>(std::norm(other[bin]));
    }
    const std::vector<float> correlation = fft.inverse(cross);
    const auto half = static_cast<std::ptrdiff_t>(reach) + 32, size = static_cast<std::ptrdiff_t>(correlation.size());
    std::vector<float> around;
    for (std::ptrdiff_t lag = -half; lag <= half; ++lag) around.push_back(correlation[static_cast<std::size_t>((lag + size) % size)]);
    const std::vector<float> fine = resampled(around, 1.0 / finer, around.size() * static_cast<std::size_t>(finer));
    const auto top = static_cast<std::size_t>(std::ranges::max_element(fine) - fine.begin());
    const double height = static_cast<double>(fine[top]) * static_cast<double>(fft.size()) / 2.0;
    if (!(height > alike * std::sqrt(one_power * other_power)) || top == 0 || top + 1 == fine.size()) return std::nullopt;
    const auto before = static_cast<double>(fine[top - 1]), there = static_cast<double>(fine[top]), after = static_cast<double>(fine[top + 1]);
    const double bend = before - 2.0 * there + after;
    return (static_cast<double>(top) + (bend < 0.0 ? 0.5 * (before - after) / bend : 0.0)) / finer - static_cast<double>(half);
}

}  // namespace

std::optional<ClockDrift> drift_of_noise(const Excitation& excitation, std::span<const float> reference, std::span<const float> mic) {
    const double rate_hz = excitation.rate_hz();
    const auto begins = static_cast<std::size_t>(excitation.begins_s() * rate_hz);
    const auto ends = std::min(static_cast<std::size_t>(excitation.ends_s() * rate_hz), std::min(reference.size(), mic.size()));
    const auto part = static_cast<std::size_t>(part_s * rate_hz), delay = static_cast<std::size_t>(longest_delay_s * rate_hz);
    if (ends <= begins || (ends - begins) / part < fewest_parts) return std::nullopt;
    const std::size_t parts = std::min((ends - begins) / part, most_parts), apart = (ends - begins - part) / (parts - 1);
    const RealFft fft(fast_size(part + delay));
    std::vector<Spectrum> responses;
    for (std::size_t n = 0; n < parts; ++n) {
        const std::size_t from = begins + n * apart;
        responses.push_back(response_of_part(fft, reference.subspan(from, part), mic.subspan(from, std::min(part + delay, mic.size() - from)), rate_hz));
    }
    const std::size_t middle = parts / 2;
    std::vector<double> at_s, later_s;
    const double reach = 1e-6 * noise_reach_ppm * static_cast<double>(ends - begins);
    for (std::size_t n = 0; n < parts; ++n) {
        const auto later = later_by(fft, responses[n], responses[middle], reach);
        if (!later) continue;
        at_s.push_back(static_cast<double>(n * apart) / rate_hz);
        later_s.push_back(*later / rate_hz);
    }
    if (at_s.size() < fewest_parts || 4 * at_s.size() < 3 * parts) return std::nullopt;
    // The median slope of all pairs, which a knock in one part does not move (Theil 1950, Sen 1968).
    std::vector<double> slopes;
    for (std::size_t i = 0; i < at_s.size(); ++i)
        for (std::size_t j = i + 1; j < at_s.size(); ++j) slopes.push_back((later_s[j] - later_s[i]) / (at_s[j] - at_s[i]));
    const double slope = median_of(slopes);
    std::vector<double> left, strays;
    for (std::size_t n = 0; n < at_s.size(); ++n) left.push_back(later_s[n] - slope * at_s[n]);
    const double base = median_of(left);
    double mean = 0.0, spread = 0.0;
    for (std::size_t n = 0; n < at_s.size(); ++n) {
        strays.push_back(std::abs(left[n] - base));
        mean += at_s[n] / static_cast<double>(at_s.size());
    }
    for (const double t : at_s) spread += (t - mean) * (t - mean);
    const double u = std::max(1.4826 * median_of(strays), 0.05e-6) / std::sqrt(spread);
    if (std::abs(slope) > 1e-6 * noise_reach_ppm || std::abs(slope) < std::max(stands_above_u * u, 1e-6 * smallest_ppm)) return std::nullopt;
    return ClockDrift{1e6 * slope, 1e6 * u, true};
}

}  // namespace proofwalk::signal
