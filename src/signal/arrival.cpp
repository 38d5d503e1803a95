#include "signal/arrival.hpp"

#include <algorithm>
#include <cmath>
#include <deque>
#include <memory>
#include <mutex>
#include <numbers>
#include <tuple>

#include "signal/excess_phase.hpp"
#include "signal/fft.hpp"
#include "signal/gate.hpp"
#include "signal/third_octave.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

constexpr double searched_s = 0.6;              // of the response: farther away nothing arrives first
constexpr double detection_ratio = 8.0;         // peak over noise rms below which nothing is heard
constexpr double certain_ratio = 12.0;           // below it a first sound may be noise
constexpr double first_below_strongest = 0.1;   // -20 dB: weaker first sounds are taken for ringing or noise
constexpr double excursion_share = 0.4;         // of the local largest swing, to count as the first excursion
constexpr double carries_below_strongest_db = 22.0;  // a third octave further down carries no sound of its own
constexpr double sub_hz = 300.0;
constexpr double low_band_hz = 5000.0;          // below it the band's own upper end delays the first excursion
constexpr double shape_u_periods = 0.021;       // what ripple of the box does to the first excursion, in periods
// The upper end of box and mic (together a third-order roll-off or more near 20 kHz) delays the first excursion by some 8 us, and
// by more the further the level at 18 kHz lies below that from 3 to 14 kHz, air's loss on the way taken out. A signal that has not
// even the air's loss came through a cable: it has no such delay.
constexpr double roll_off_s = 7.6e-6, roll_off_s_per_db = 2.6e-6, longest_roll_off_s = 18e-6;
constexpr double cable_below_db = -1.4, box_above_db = -0.4;
constexpr double roll_off_u_s = 3.5e-6;
constexpr double air_db_per_s = 0.43 * 343.0;  // about: loss at 18 kHz re that from 3 to 14 kHz, per second of travel
constexpr double own_ripple_s = 0.3e-3;
constexpr std::size_t finer = 8;                // upsampling around the arrival

struct Band {
    double low_hz, high_hz;
};

// 0 below `from`, 1 above `to`, half a cosine over log frequency between.
double ramp(double frequency_hz, double from_hz, double to_hz) {
    if (frequency_hz <= from_hz) return 0.0;
    if (frequency_hz >= to_hz) return 1.0;
    const double x = std::log(frequency_hz / from_hz) / std::log(to_hz / from_hz);
    return 0.5 - 0.5 * std::cos(std::numbers::pi * x);
}

double band_gain(double frequency_hz, Band band) {
    return ramp(frequency_hz, band.low_hz / 1.6, band.low_hz * 1.25) *
           (1.0 - ramp(frequency_hz, band.high_hz * 0.7, band.high_hz * 1.05));
}

// Gains of the lines of a transform.
std::vector<float> band_gains(const RealFft& fft, double rate_hz, Band band) {
    const double bin_hz = rate_hz / static_cast<double>(fft.size());
    std::vector<float> gains(fft.bins());
    for (std::size_t bin = 0; bin < gains.size(); ++bin) gains[bin] = static_cast<float>(band_gain(static_cast<double>(bin) * bin_hz, band));
    return gains;
}

// In-phase and quadrature responses in a band, zero phase, and their envelope.
struct Analytic {
    std::vector<float> real, imaginary;
    std::vector<double> envelope;
};

Analytic in_band(const RealFft& fft, std::span<const std::complex<float>> spectrum, std::span<const float> gains) {
    Spectrum filtered(spectrum.size());
    for (std::size_t bin = 0; bin < spectrum.size(); ++bin) filtered[bin] = spectrum[bin] * gains[bin];
    Analytic response{std::vector<float>(fft.size()), std::vector<float>(fft.size()), std::vector<double>(fft.size())};
    fft.analytic(filtered, response.real, response.imaginary);
    for (std::size_t n = 0; n < response.envelope.size(); ++n) {
        const auto real = static_cast<double>(response.real[n]), imaginary = static_cast<double>(response.imaginary[n]);
        response.envelope[n] = std::sqrt(real * real + imaginary * imaginary);
    }
    return response;
}

// Envelope of the band's own zero-phase pulse at each distance from its centre, relative to the centre; zero further away.
std::vector<double> own_ringing(double rate_hz, Band band) {
    const RealFft fft(fast_size(std::max<std::size_t>(8192, static_cast<std::size_t>(32.0 * rate_hz / band.low_hz))));
    const Analytic pulse = in_band(fft, Spectrum(fft.bins(), {1.0F, 0.0F}), band_gains(fft, rate_hz, band));
    std::vector<double> ringing(fft.size() / 2);
    for (std::size_t n = 0; n < ringing.size(); ++n) ringing[n] = pulse.envelope[n] / pulse.envelope[0];
    // What counts is the most that is still to come.
    for (std::size_t n = ringing.size() - 1; n-- > 0;) ringing[n] = std::max(ringing[n], ringing[n + 1]);
    return ringing;
}

// What depends on the band alone. All mics of a take are read in the same few bands: the last ones are kept.
struct BandShape {
    std::vector<float> gains;
    std::vector<double> ringing;

    [[nodiscard]] static std::shared_ptr<const BandShape> of(const RealFft& fft, double rate_hz, Band band) {
        using Key = std::tuple<std::size_t, double, double, double>;
        constexpr std::size_t most_kept = 16;
        static std::mutex lock;
        static std::deque<std::pair<Key, std::shared_ptr<const BandShape>>> kept;
        const Key key{fft.size(), rate_hz, band.low_hz, band.high_hz};
        {
            const std::scoped_lock guard(lock);
            const auto known = std::ranges::find(kept, key, [](const auto& entry) { return entry.first; });
            if (known != kept.end()) return known->second;
        }
        auto shape = std::make_shared<const BandShape>(BandShape{band_gains(fft, rate_hz, band), own_ringing(rate_hz, band)});
        const std::scoped_lock guard(lock);
        kept.emplace_front(key, shape);
        if (kept.size() > most_kept) kept.pop_back();
        return shape;
    }
};

// From the highest part of the box's range downwards: where the arrival may be read, widest first.
std::vector<Band> candidate_bands(const Bands& bands, double rate_hz) {
    const double top_hz = std::min({bands.range_high_hz, 0.45 * rate_hz, 18000.0});
    std::vector<Band> candidates;
    double high_hz = top_hz;
    while (high_hz > bands.range_low_hz * 1.5 || candidates.empty()) {
        candidates.push_back({std::max(high_hz / 8.0, bands.range_low_hz), high_hz});
        high_hz /= 2.0;
    }
    return candidates;
}

struct Peak {
    std::size_t at;
    double height;
};

// Rms of the envelope where nothing has arrived yet: the loudest of a few blocks at the very beginning of the response,
// so that a knock in the take does not pass for an arrival.
double noise_rms_before(const Analytic& response, double free_s, double rate_hz) {
    const auto block = static_cast<std::size_t>(0.008 * rate_hz);
    const auto end = std::max(static_cast<std::size_t>(free_s * rate_hz), block);
    double loudest = 0.0;
    for (std::size_t start = 0; start + block <= std::min(end, response.real.size()); start += block) {
        double sum = 0.0;
        for (std::size_t n = start; n < start + block; ++n) {
            const double e = response.envelope[n];
            sum += e * e;
        }
        loudest = std::max(loudest, sum / static_cast<double>(block));
    }
    return std::sqrt(loudest);
}

// The same from the noise figures of the whole take: a second measure, steadier at low frequencies.
double noise_rms_expected(const Evidence& evidence, Band band) {
    double variance = 0.0;
    for (std::size_t n = 0; n < band_count; ++n) {
        const double low_hz = std::max(lower_edge_hz(n), band.low_hz / 1.3), high_hz = std::min(upper_edge_hz(n), band.high_hz);
        if (high_hz <= low_hz || !evidence.noise_impulse_db.has(n)) continue;
        // Noise energy per second over the sample rate is the variance of a sample of noise as dense in all bands.
        variance += power_of_db(evidence.noise_impulse_db[n]) / evidence.rate_hz * (high_hz - low_hz) / (evidence.rate_hz / 2.0);
    }
    return std::sqrt(2.0 * variance);
}

// Band-limited value between the samples, by a windowed sinc over 32 samples.
double value_at(const std::vector<float>& samples, double position) {
    constexpr int half = 16;
    const auto centre = static_cast<std::ptrdiff_t>(std::floor(position));
    double sum = 0.0;
    for (std::ptrdiff_t n = centre - half + 1; n <= centre + half; ++n) {
        if (n < 0 || n >= static_cast<std::ptrdiff_t>(samples.size())) continue;
        const double x = position - static_cast<double>(n);
        const double window = 0.5 + 0.5 * std::cos(std::numbers::pi * x / half);
        const double sinc = std::abs(x) < 1e-9 ? 1.0 : std::sin(std::numbers::pi * x) / (std::numbers::pi * x);
        sum += static_cast<double>(samples[static_cast<std::size_t>(n)]) * sinc * window;
    }
    return sum;
}

struct Excursion {
    double position = 0.0;  // in samples
    double height = 0.0;    // signed
    double largest = 0.0;   // largest swing of the same arrival
    double against = 0.0;   // largest swing of the other sign before the excursion
};

// The first swing of the arrival whose envelope peaks at `envelope_peak`.
Excursion first_excursion(const std::vector<float>& samples, std::size_t envelope_peak, double period_samples) {
    const double from = static_cast<double>(envelope_peak) - 1.5 * period_samples;
    const double to = static_cast<double>(envelope_peak) + 1.0 * period_samples;
    const auto steps = static_cast<std::size_t>((to - from) * static_cast<double>(finer)) + 1;
    std::vector<double> fine(steps);
    double largest = 0.0;
    for (std::size_t k = 0; k < steps; ++k) {
        fine[k] = value_at(samples, from + static_cast<double>(k) / static_cast<double>(finer));
        largest = std::max(largest, std::abs(fine[k]));
    }
    Excursion found;
    found.largest = largest;
    for (std::size_t k = 1; k + 1 < steps; ++k) {
        const double here = std::abs(fine[k]);
        if (here < excursion_share * largest || here < std::abs(fine[k - 1]) || here < std::abs(fine[k + 1])) {
            if (std::abs(fine[k]) < excursion_share * largest) found.against = std::max(found.against, here);
            continue;
        }
        const double before = std::abs(fine[k - 1]), after = std::abs(fine[k + 1]);
        const double bend = before - 2.0 * here + after;
        const double shift = bend < 0.0 ? std::clamp(0.5 * (before - after) / bend, -0.5, 0.5) : 0.0;
        found.position = from + (static_cast<double>(k) + shift) / static_cast<double>(finer);
        found.height = fine[k];
        return found;
    }
    found.position = static_cast<double>(envelope_peak);
    found.height = static_cast<double>(samples[envelope_peak]);
    return found;
}

// The first peak that stands above the noise and that no later peak's own ringing explains.
Peak first_peak(const Analytic& response, std::size_t from, std::size_t count, Peak strongest, double noise_rms, const std::vector<double>& ringing) {
    const double threshold = std::max(first_below_strongest * strongest.height, 5.5 * noise_rms);
    std::vector<Peak> peaks;
    const std::size_t end = std::min(count - 1, strongest.at + 1);
    double before = response.envelope[from], here = response.envelope[from + 1];
    for (std::size_t n = from + 1; n < end; ++n) {
        const double after = response.envelope[n + 1];
        if (here >= threshold && here >= before && here > after) peaks.push_back({n, here});
        before = here;
        here = after;
    }
    for (std::size_t n = 0; n < peaks.size(); ++n) {
        const bool explained = std::any_of(peaks.begin() + static_cast<std::ptrdiff_t>(n) + 1, peaks.end(), [&](const Peak& later) {
            const std::size_t distance = later.at - peaks[n].at;
            return distance < ringing.size() && peaks[n].height < 1.5 * ringing[distance] * later.height;
        });
        if (!explained) return peaks[n];
    }
    return strongest;
}

// Peaks of the envelope after the first one, in the upper part of its band, where they stand clear of each other.
std::vector<Reflection> reflections_after(const Analytic& response, std::size_t first_at, double noise_rms, double rate_hz,
                                          const std::vector<double>& ringing) {
    Peak first{first_at, response.envelope[first_at]};
    const auto near = static_cast<std::size_t>(0.1e-3 * rate_hz);
    for (std::size_t n = first_at > near ? first_at - near : 0; n <= std::min(first_at + near, response.real.size() - 1); ++n)
        if (const double e = response.envelope[n]; e > first.height) first = {n, e};
    std::vector<Reflection> found;
    const auto begin = first.at + static_cast<std::size_t>(0.2e-3 * rate_hz);
    const auto end = std::min(response.real.size() - 1, first.at + static_cast<std::size_t>(0.08 * rate_hz));
    const double threshold = std::max(0.05 * first.height, 4.0 * noise_rms);
    for (std::size_t n = begin; n < end; ++n) {
        const double here = response.envelope[n];
        if (here < threshold || here < response.envelope[n - 1] || here <= response.envelope[n + 1]) continue;
        const std::size_t after = n - first.at;
        const double after_s = static_cast<double>(after) / rate_hz;
        // The box's own ripple dies away within about half a millisecond.
        const double own = std::max(1.5 * (after < ringing.size() ? ringing[after] : 0.0), 0.25 * std::exp(-after_s / own_ripple_s));
        if (here < own * first.height) continue;
        found.push_back({after_s, amplitude_db(here / first.height)});
    }
    std::ranges::sort(found, [](const Reflection& a, const Reflection& b) { return a.level_db > b.level_db; });
    if (found.size() > 16) found.resize(16);
    return found;
}

// Spectrum of a short piece around a first peak.
struct PieceSpectrum {
    Spectrum lines;
    double bin_hz;
};

PieceSpectrum spectrum_around(const Evidence& evidence, double at_s, double length_s) {
    const std::vector<float> piece = gated(evidence.impulse, evidence.rate_hz, {at_s - evidence.first_s - 0.3e-3, 0.5e-3, at_s - evidence.first_s + length_s});
    const RealFft fft(fast_size(std::max<std::size_t>(piece.size(), 8192)));
    return {fft.forward(piece), evidence.rate_hz / static_cast<double>(fft.size())};
}

// The highest frequency that carries sound in them: upper edge of the highest third octave that stands clear of the noise
// and is not far below the strongest above from_hz; 0 when there is none. The part below does not count: far off axis all
// treble is weak, but even.
double carries_up_to_hz(const Evidence& evidence, const BandLevels& levels, double length_s, double from_hz) {
    double strongest_db = -1e9;
    for (std::size_t band = 0; band < band_count; ++band)
        if (levels.has(band) && midband_hz(band) > from_hz) strongest_db = std::max(strongest_db, levels[band]);
    for (std::size_t band = band_count; band-- > 0;) {
        if (!levels.has(band) || levels[band] < strongest_db - carries_below_strongest_db) continue;
        if (evidence.noise_impulse_db.has(band) && levels[band] < evidence.noise_impulse_db[band] + power_db(length_s) + 10.0) continue;
        return upper_edge_hz(band);
    }
    return 0.0;
}

// A piece whose ends do not click: half a cosine over 5 ms.
std::vector<float> faded(std::span<const float> piece, double rate_hz) {
    std::vector<float> out(piece.begin(), piece.end());
    const auto fade = std::min(static_cast<std::size_t>(0.005 * rate_hz), out.size() / 2);
    for (std::size_t n = 0; n < fade; ++n) {
        const auto weight = static_cast<float>(0.5 - 0.5 * std::cos(std::numbers::pi * (static_cast<double>(n) + 0.5) / static_cast<double>(fade)));
        out[n] *= weight;
        out[out.size() - 1 - n] *= weight;
    }
    return out;
}

double roll_off_of(const PieceSpectrum& piece, double at_s) {
    const auto level_db = [&](double low_hz, double high_hz) { return power_db(std::max(mean_power(piece.lines, piece.bin_hz, low_hz, high_hz), 1e-30)); };
    const double below_db = 0.25 * (level_db(3000.0, 5000.0) + level_db(5000.0, 8000.0) + level_db(8000.0, 11000.0) + level_db(11000.0, 14000.0)) -
                            level_db(17500.0, 19500.0) - air_db_per_s * std::max(at_s, 0.0);
    const double through_air = std::clamp((below_db - cable_below_db) / (box_above_db - cable_below_db), 0.0, 1.0);
    return through_air * std::clamp(roll_off_s + roll_off_s_per_db * below_db, 0.0, longest_roll_off_s);
}

class Search {
public:
    Search(const Evidence& evidence, const Bands& bands)
        : evidence_(evidence), bands_(bands),
          searched_(faded(std::span(evidence.impulse).first(std::min(evidence.impulse.size(), static_cast<std::size_t>(searched_s * evidence.rate_hz))), evidence.rate_hz)),
          fft_(fast_size(searched_.size() + 2048)), spectrum_(fft_.forward(searched_)),
          // Nothing sounds before the signal has left the tool; without a common start, before the piece kept ahead of the peak.
          free_s_(std::clamp(evidence.absolute ? -evidence.first_s - 0.002 : 0.05, 0.008, 0.2)) {}

    [[nodiscard]] std::optional<Arrival> in(Band band) const {
        const double rate_hz = evidence_.rate_hz;
        const std::size_t count = searched_.size();
        const auto shape = BandShape::of(fft_, rate_hz, band);
        const Analytic response = in_band(fft_, spectrum_, shape->gains);
        // Nothing arrives before it has left.
        const std::size_t begin = evidence_.absolute && evidence_.first_s < 0.0 ? std::min(static_cast<std::size_t>(-evidence_.first_s * rate_hz), count - 2) : 0;
        Peak strongest{begin, 0.0};
        for (std::size_t n = begin; n < count; ++n)
            if (const double e = response.envelope[n]; e > strongest.height) strongest = {n, e};
        const double noise_rms = std::max(noise_rms_before(response, free_s_, rate_hz), noise_rms_expected(evidence_, band));
        if (strongest.height < detection_ratio * noise_rms || strongest.height <= 0.0) return std::nullopt;

        const Peak first = first_peak(response, begin, count, strongest, noise_rms, shape->ringing);
        const double centre_hz = std::sqrt(band.low_hz * band.high_hz);
        const Excursion excursion = first_excursion(response.real, first.at, rate_hz / centre_hz);

        Arrival arrival;
        arrival.at_s = evidence_.first_s + excursion.position / rate_hz;
        arrival.peak = first.height;
        arrival.noise_rms = noise_rms;
        arrival.low_hz = band.low_hz;
        arrival.high_hz = band.high_hz;
        arrival.certain = first.height >= certain_ratio * noise_rms;
        const double noise_u_s = noise_rms / std::numbers::sqrt2 / (2.0 * std::numbers::pi * centre_hz * std::abs(excursion.height));
        arrival.u_s = std::hypot(noise_u_s, shape_u_periods / centre_hz, roll_off_u_s);
        const double margin = (std::abs(excursion.height) - excursion.against) / (excursion.largest + 1e-30);
        const double noise_share = noise_rms / (std::abs(excursion.height) + 1e-30);
        arrival.polarity_confidence = std::clamp(0.5 + 0.5 * std::erf(margin / std::max(0.2, 2.0 * noise_share)), 0.5, 0.999);
        arrival.polarity = arrival.polarity_confidence >= 0.9 ? (excursion.height > 0.0 ? 1 : -1) : 0;
        const Band upper{band.high_hz / 3.5, band.high_hz};
        const auto upper_shape = BandShape::of(fft_, rate_hz, upper);
        const Analytic fine = in_band(fft_, spectrum_, upper_shape->gains);
        arrival.reflections = reflections_after(fine, first.at, noise_rms_before(fine, free_s_, rate_hz), rate_hz, upper_shape->ringing);
        return arrival;
    }

    // Where the box has less treble than its range says (a dead driver, a place behind it), the band ends lower.
    [[nodiscard]] std::optional<Arrival> where_it_sounds(Band band) const {
        std::optional<Arrival> found = in(band);
        if (!found) return found;
        const double length_s = std::max(0.004, 3.0 / band.high_hz);
        const PieceSpectrum piece = spectrum_around(evidence_, found->at_s, length_s);
        const BandLevels levels = mean_levels(piece.lines, piece.bin_hz);
        const double top_hz = carries_up_to_hz(evidence_, levels, length_s, band.low_hz);
        if (top_hz == 0.0 || top_hz > 0.6 * band.high_hz) {
            // Without a common start the way through the air is unknown; the delay is the same for all mics then.
            if (evidence_.absolute) found->at_s -= roll_off_of(piece, found->at_s);
            return found;
        }
        const Band lower{std::max(top_hz / 8.0, std::min(bands_.range_low_hz, top_hz / 3.0)), top_hz};
        std::optional<Arrival> again = in(lower);
        if (again) again->weak = true;
        return again ? again : found;
    }

private:
    const Evidence& evidence_;
    const Bands& bands_;
    std::vector<float> searched_;
    RealFft fft_;
    Spectrum spectrum_;
    double free_s_;
};

// How long the sound stays undisturbed after the arrival, for reading its phase.
double undisturbed_s(const Arrival& arrival) {
    double clean_s = std::clamp(30.0 / arrival.high_hz, 0.002, 0.2);
    for (const Reflection& reflection : arrival.reflections)
        if (reflection.level_db > -20.0) clean_s = std::min(clean_s, reflection.after_s - 0.5 / arrival.high_hz);
    return std::max(clean_s, 5.0 / arrival.high_hz);
}

// A low band's first excursion comes late by the group delay of its own upper end: there the phase tells the arrival.
void refine_low_band(Arrival& arrival, const Evidence& evidence) {
    const double gate_s = undisturbed_s(arrival), lead_s = 1.5 / arrival.high_hz;
    const double opens_s = arrival.at_s - evidence.first_s - 1.0 / arrival.high_hz;
    const std::vector<float> direct = gated(evidence.impulse, evidence.rate_hz, {opens_s, lead_s, arrival.at_s - evidence.first_s + gate_s});
    PhaseBand band;
    band.high_hz = arrival.high_hz;
    band.low_hz = std::min(std::max(arrival.high_hz / 6.0, 1.0 / gate_s), arrival.high_hz / 1.5);
    const double noise_share = std::pow(arrival.noise_rms / arrival.peak, 2);
    band.noise_share = noise_share;
    const double first_sample_s = evidence.first_s + std::max(std::ceil((opens_s - lead_s) * evidence.rate_hz), 0.0) / evidence.rate_hz;
    const auto fit = fit_excess_phase(direct, evidence.rate_hz, arrival.at_s - first_sample_s, band);
    const double period_s = 1.0 / arrival.high_hz;
    if (!fit || std::abs(first_sample_s + fit->delay_s - arrival.at_s) > 1.2 * period_s) {
        arrival.at_s -= 0.5 * period_s;  // about what a steep upper end delays
        arrival.u_s = std::hypot(arrival.u_s, 0.5 * period_s);
        arrival.polarity = 0;
        arrival.polarity_confidence = 0.5;
        return;
    }
    // The sign is told only where the first excursion and the phase agree.
    const double off = std::abs(std::remainder(fit->constant_rad, std::numbers::pi));
    if (fit->polarity != arrival.polarity || off > (arrival.high_hz < sub_hz ? 0.4 : 0.7)) {
        arrival.polarity = 0;
        arrival.polarity_confidence = 0.5;
    }
    arrival.at_s = first_sample_s + fit->delay_s;
    arrival.u_s = std::hypot(fit->delay_u_s, (arrival.high_hz < sub_hz ? 0.7 : 0.8) * period_s);
}

}  // namespace

std::optional<Arrival> first_arrival(const Evidence& evidence, const Bands& bands) {
    if (evidence.impulse.size() < 64) return std::nullopt;
    const Search search(evidence, bands);
    for (const Band band : candidate_bands(bands, evidence.rate_hz)) {
        std::optional<Arrival> arrival = search.where_it_sounds(band);
        if (!arrival) continue;
        if (arrival->high_hz < low_band_hz) refine_low_band(*arrival, evidence);
        return arrival;
    }
    return std::nullopt;
}

}  // namespace proofwalk::signal
