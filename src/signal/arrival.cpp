#include "signal/arrival.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "signal/fft.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

constexpr double detection_ratio = 8.0;         // peak over noise rms below which nothing is heard
constexpr double first_below_strongest = 0.1;   // -20 dB: weaker first sounds are taken for ringing or noise
constexpr double excursion_share = 0.4;         // of the local largest swing, to count as the first excursion
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

// In-phase and quadrature responses in a band, zero phase.
struct Analytic {
    std::vector<float> real, imaginary;
    [[nodiscard]] double envelope(std::size_t n) const { return std::hypot(static_cast<double>(real[n]), static_cast<double>(imaginary[n])); }
};

Analytic in_band(const RealFft& fft, const Spectrum& spectrum, double bin_hz, Band band) {
    Spectrum filtered(spectrum.size()), turned(spectrum.size());
    for (std::size_t bin = 0; bin < spectrum.size(); ++bin) {
        const auto gain = static_cast<float>(band_gain(static_cast<double>(bin) * bin_hz, band));
        filtered[bin] = spectrum[bin] * gain;
        turned[bin] = filtered[bin] * std::complex<float>(0.0F, -1.0F);
    }
    return {fft.inverse(filtered), fft.inverse(turned)};
}

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
            const double e = response.envelope(n);
            sum += e * e;
        }
        loudest = std::max(loudest, sum / static_cast<double>(block));
    }
    return std::sqrt(loudest);
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

// Envelope of the band's own zero-phase pulse at a distance from its centre, relative to the centre (upper bound).
double own_ringing(double distance_s, Band band) {
    const double periods = distance_s * band.low_hz;
    return periods < 1.2 ? 1.0 : 0.12 / (periods * periods);
}

std::optional<Peak> first_peak(const Analytic& response, Peak strongest, double noise_rms, double rate_hz, Band band) {
    const double threshold = std::max(first_below_strongest * strongest.height, 5.5 * noise_rms);
    for (std::size_t n = 1; n < strongest.at; ++n) {
        const double here = response.envelope(n);
        if (here < threshold) continue;
        const double ringing = own_ringing(static_cast<double>(strongest.at - n) / rate_hz, band) * strongest.height;
        if (here < 1.5 * ringing) continue;
        if (here >= response.envelope(n - 1) && here > response.envelope(n + 1)) return Peak{n, here};
    }
    return strongest;
}

std::vector<Reflection> reflections_after(const Analytic& response, Peak first, double noise_rms, double rate_hz, Band band,
                                          std::size_t count) {
    std::vector<Reflection> found;
    const auto begin = first.at + static_cast<std::size_t>(0.25e-3 * rate_hz);
    const auto end = std::min(count - 1, first.at + static_cast<std::size_t>(0.08 * rate_hz));
    const double threshold = std::max(0.04 * first.height, 4.0 * noise_rms);
    for (std::size_t n = begin; n < end; ++n) {
        const double here = response.envelope(n);
        if (here < threshold || here < response.envelope(n - 1) || here <= response.envelope(n + 1)) continue;
        const double after_s = static_cast<double>(n - first.at) / rate_hz;
        if (here < 1.5 * own_ringing(after_s, band) * first.height) continue;
        found.push_back({after_s, amplitude_db(here / first.height)});
    }
    std::ranges::sort(found, [](const Reflection& a, const Reflection& b) { return a.level_db > b.level_db; });
    if (found.size() > 16) found.resize(16);
    return found;
}

}  // namespace

std::optional<Arrival> first_arrival(const Evidence& evidence, const Bands& bands) {
    const std::size_t count = evidence.impulse.size();
    if (count < 64) return std::nullopt;
    const RealFft fft(fast_size(count + 2048));
    const Spectrum spectrum = fft.forward(evidence.impulse);
    const double bin_hz = evidence.rate_hz / static_cast<double>(fft.size());

    // Nothing sounds before the signal has left the tool; without a common start, before the piece kept ahead of the peak.
    const double free_s = std::clamp(evidence.absolute ? -evidence.first_s - 0.002 : 0.05, 0.008, 0.2);
    for (const Band band : candidate_bands(bands, evidence.rate_hz)) {
        const Analytic response = in_band(fft, spectrum, bin_hz, band);
        Peak strongest{0, 0.0};
        for (std::size_t n = 0; n < count; ++n)
            if (const double e = response.envelope(n); e > strongest.height) strongest = {n, e};
        const double noise_rms = noise_rms_before(response, free_s, evidence.rate_hz);
        if (strongest.height < detection_ratio * noise_rms || strongest.height <= 0.0) continue;

        const Peak first = first_peak(response, strongest, noise_rms, evidence.rate_hz, band).value_or(strongest);
        const double centre_hz = std::sqrt(band.low_hz * band.high_hz);
        const Excursion excursion = first_excursion(response.real, first.at, evidence.rate_hz / centre_hz);

        Arrival arrival;
        arrival.at_s = evidence.first_s + excursion.position / evidence.rate_hz;
        arrival.peak = first.height;
        arrival.noise_rms = noise_rms;
        arrival.low_hz = band.low_hz;
        arrival.high_hz = band.high_hz;
        arrival.certain = first.height >= 2.0 * detection_ratio * noise_rms || first.at == strongest.at;
        const double noise_u_s = noise_rms / std::numbers::sqrt2 / (2.0 * std::numbers::pi * centre_hz * std::abs(excursion.height));
        const double shape_u_s = 0.05 / centre_hz;
        arrival.u_s = std::hypot(noise_u_s, shape_u_s);
        const double margin = (std::abs(excursion.height) - excursion.against) / (excursion.largest + 1e-30);
        const double noise_share = noise_rms / (std::abs(excursion.height) + 1e-30);
        arrival.polarity_confidence = std::clamp(0.5 + 0.5 * std::erf(margin / std::max(0.2, 2.0 * noise_share)), 0.5, 0.999);
        arrival.polarity = arrival.polarity_confidence >= 0.9 ? (excursion.height > 0.0 ? 1 : -1) : 0;
        arrival.reflections = reflections_after(response, first, noise_rms, evidence.rate_hz, band, count);
        return arrival;
    }
    return std::nullopt;
}

}  // namespace proofwalk::signal
