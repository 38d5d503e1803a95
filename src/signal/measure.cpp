#include "signal/measure.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <string>

#include "signal/arrival.hpp"
#include "signal/clock_drift.hpp"
#include "signal/deconvolve.hpp"
#include "signal/harmonics.hpp"
#include "signal/least_squares.hpp"
#include "signal/lone_reference.hpp"
#include "signal/quality.hpp"
#include "signal/resample.hpp"
#include "signal/take_quality.hpp"
#include "signal/third_octave.hpp"
#include "units/convert.hpp"
#include "units/side_by_side.hpp"

namespace proofwalk::signal {

namespace {

constexpr double before_s = 0.06;           // kept of the response before the moment zero: noise alone
constexpr double longest_response_s = 1.6;
constexpr double shortest_response_s = 0.25;
constexpr double burst_above_heard = 1e-6;  // power: a burst 60 dB below what the mic hears does not matter
constexpr double noise_response_s = 1.0;    // length of the response that a noise take is fitted with

Fault refused(std::string place, std::string reason, std::string remedy) {
    return {FaultKind::input, {}, std::move(place), std::move(reason), std::move(remedy)};
}

std::optional<Fault> fault_of(const Samples& samples) {
    if (!(samples.rate_hz >= 8000.0 && samples.rate_hz <= 384000.0))
        return refused("take", "the sample rate is not between 8 and 384 kHz", "record at 48 kHz");
    if (samples.mics.empty()) return refused("take", "no mic channel is named", "name the channels that carry a mic");
    if (!all_finite(samples.reference) || !all_finite(samples.played)) return refused("reference", "it holds numbers that cannot be", "record the take again");
    for (std::size_t mic = 0; mic < samples.mics.size(); ++mic) {
        const std::string place = "mic " + std::to_string(mic + 1);
        if (static_cast<double>(samples.mics[mic].samples.size()) < 0.1 * samples.rate_hz)
            return refused(place, "the recording is shorter than a tenth of a second", "record the whole signal and its decay");
        if (!all_finite(samples.mics[mic].samples)) return refused(place, "it holds numbers that cannot be", "record the take again");
    }
    return std::nullopt;
}

double response_db_at(const MicResponse& response, double hz) {
    if (response.hz.empty()) return 0.0;
    const auto above = std::ranges::lower_bound(response.hz, hz);
    if (above == response.hz.begin()) return response.db.front();
    if (above == response.hz.end()) return response.db.back();
    const auto n = static_cast<std::size_t>(above - response.hz.begin());
    const double share = std::log(hz / response.hz[n - 1]) / std::log(response.hz[n] / response.hz[n - 1]);
    return response.db[n - 1] + share * (response.db[n] - response.db[n - 1]);
}

// Gain that turns a mic's spectrum into that of a flat mic, in pascals where calibrated.
std::vector<float> correction(const MicTrack& mic, const RealFft& fft, double rate_hz) {
    std::vector<float> gain(fft.bins(), static_cast<float>(mic.pascal_per_fs.value_or(1.0)));
    if (!mic.response) return gain;
    for (std::size_t bin = 0; bin < gain.size(); ++bin) {
        const double hz = std::max(static_cast<double>(bin), 0.5) * rate_hz / static_cast<double>(fft.size());
        gain[bin] *= static_cast<float>(amplitude_of_db(-response_db_at(*mic.response, hz)));
    }
    return gain;
}

std::size_t place_of(std::ptrdiff_t lag, std::size_t size) {
    const auto whole = static_cast<std::ptrdiff_t>(size);
    return static_cast<std::size_t>((lag % whole + whole) % whole);
}

std::vector<float> window_of(std::span<const float> circular, std::ptrdiff_t first_lag, std::size_t count) {
    std::vector<float> out;
    out.reserve(count);
    for (std::size_t at = place_of(first_lag, circular.size()); out.size() < count; at = 0) {
        const auto part = circular.subspan(at, std::min(count - out.size(), circular.size() - at));
        out.insert(out.end(), part.begin(), part.end());
    }
    return out;
}

// Noise energy per second of response and band, from stretches before anything can arrive (the median of four).
BandLevels noise_before(std::span<const float> circular, std::ptrdiff_t zero_lag, double rate_hz) {
    constexpr double piece_s = 0.08, nearest_s = 0.03;
    constexpr int pieces = 4;
    const auto count = static_cast<std::size_t>(piece_s * rate_hz);
    const RealFft fft(fast_size(count * 4));
    std::vector<BandLevels> levels;
    for (int piece = 0; piece < pieces; ++piece) {
        const auto from = zero_lag - static_cast<std::ptrdiff_t>((nearest_s + piece_s * (piece + 1)) * rate_hz);
        const Spectrum spectrum = fft.forward(window_of(circular, from, count));
        levels.push_back(mean_levels(spectrum, rate_hz / static_cast<double>(fft.size())));
    }
    BandLevels noise;
    for (std::size_t band = 0; band < band_count; ++band) {
        std::vector<double> powers;
        for (const BandLevels& level : levels)
            if (level.has(band)) powers.push_back(power_of_db(level[band]));
        if (powers.empty()) continue;
        std::ranges::sort(powers);
        noise[band] = power_db(0.5 * (powers[(powers.size() - 1) / 2] + powers[powers.size() / 2]) / piece_s);
    }
    return noise;
}


// One circuit's place in a take: where its response stands and how long it stays undisturbed.
struct Place {
    std::ptrdiff_t zero_lag = 0;
    double free_s = longest_response_s;
};

class Measuring {
public:
    Measuring(const Samples& samples, const Bands& bands, std::span<const float> reference, bool absolute)
        : samples_(samples), bands_(bands), absolute_(absolute), reference_(reference),
          excitation_(reference, samples.rate_hz, fast_size(longest(samples, reference) + static_cast<std::size_t>(0.5 * samples.rate_hz))) {
        if (samples.kind != TakeKind::noise) time_constant_s_ = sweep_time_constant_s(excitation_);
        if (reference_strays(excitation_.played_db(), excitation_.low_hz(), excitation_.high_hz())) common_.raise(Flag::reference_not_flat);
        if (samples.device_lost_samples) common_.raise(Flag::dropped);
    }

    std::vector<Evidence> run() {
        deconvolve();
        Place place;
        if (!absolute_) place.zero_lag = earliest_lag(circular_);
        if (follow_clock(place)) {
            deconvolve();
            if (!absolute_) place.zero_lag = earliest_lag(circular_);
        }
        std::vector<Evidence> all(samples_.mics.size());
        side_by_side(all.size(), [&](std::size_t mic) { all[mic] = evidence_of(mic, &heard_[mic], place); });
        if (!absolute_) count_from_earliest(all);
        return all;
    }

    // Sweeps that overlap: one set of evidence per start. starts_s count from the moment that lag zero stands for.
    std::vector<std::vector<Evidence>> run_overlapped(std::span<const double> starts_s) {
        deconvolve();
        std::vector<std::vector<Evidence>> all(starts_s.size(), std::vector<Evidence>(samples_.mics.size()));
        side_by_side(starts_s.size() * samples_.mics.size(), [&](std::size_t n) {
            const std::size_t circuit = n / samples_.mics.size(), mic = n % samples_.mics.size();
            all[circuit][mic] = evidence_of(mic, nullptr, place_among(starts_s, circuit));
            all[circuit][mic].first_s -= starts_s[circuit];
        });
        return all;
    }

private:
    static std::size_t longest(const Samples& samples, std::span<const float> reference) {
        std::size_t most = reference.size();
        for (const MicTrack& mic : samples.mics) most = std::max(most, mic.samples.size());
        return most;
    }

    // Each mic's spectrum and its response, circular.
    void deconvolve() {
        heard_.resize(samples_.mics.size());
        circular_.resize(samples_.mics.size());
        side_by_side(samples_.mics.size(), [&](std::size_t mic) {
            heard_[mic] = excitation_.fft().forward(samples_of(mic));
            circular_[mic] = excitation_.fft().inverse(excitation_.divide(heard_[mic]));
        });
    }

    // The next response, or its third harmonic's, ends a circuit's own.
    [[nodiscard]] Place place_among(std::span<const double> starts_s, std::size_t circuit) const {
        Place place;
        place.zero_lag = static_cast<std::ptrdiff_t>(std::llround(starts_s[circuit] * samples_.rate_hz));
        for (const double other_s : starts_s) {
            if (other_s <= starts_s[circuit]) continue;
            const double lead_s = time_constant_s_ ? *time_constant_s_ * std::log(3.0) : 0.0;
            const double gap_s = other_s - starts_s[circuit];
            place.free_s = std::min(place.free_s, gap_s - lead_s > 0.1 ? gap_s - lead_s : gap_s);
        }
        return place;
    }

    // Whether the mics ran on a clock of their own; then at_reference_rate_ holds them as the reference's clock would have.
    bool follow_clock(const Place& place) {
        std::optional<ClockDrift> drift;
        if (samples_.kind == TakeKind::noise) {
            drift = drift_of_noise(excitation_, reference_, samples_.mics[strongest(circular_)].samples);
        } else if (time_constant_s_) {
            std::vector<std::span<const float>> responses;
            const auto lead = absolute_ ? 0 : static_cast<std::ptrdiff_t>(0.05 * samples_.rate_hz);
            for (const auto& response : circular_)
                responses.push_back(std::span(response).subspan(static_cast<std::size_t>(std::max<std::ptrdiff_t>(place.zero_lag - lead, 0))));
            drift = drift_of_sweep(responses, samples_.rate_hz, *time_constant_s_, {excitation_.low_hz(), excitation_.high_hz()});
        }
        if (!drift) return false;
        common_.raise(Flag::clock_drift);
        if (!drift->settled) return false;
        drift_ppm_ = drift->ppm;
        at_reference_rate_.resize(samples_.mics.size());
        side_by_side(samples_.mics.size(), [&](std::size_t mic) {
            at_reference_rate_[mic] = resampled(samples_.mics[mic].samples, 1.0 + 1e-6 * drift->ppm, samples_.mics[mic].samples.size());
        });
        return true;
    }

    static std::size_t strongest(const std::vector<std::vector<float>>& circular) {
        std::size_t best = 0;
        for (std::size_t mic = 1; mic < circular.size(); ++mic)
            if (peak_of(circular[mic]) > peak_of(circular[best])) best = mic;
        return best;
    }

    [[nodiscard]] std::span<const float> samples_of(std::size_t mic) const {
        return at_reference_rate_.empty() ? samples_.mics[mic].samples : std::span<const float>(at_reference_rate_[mic]);
    }

    // Without a common start only the take itself says when the sound begins: at the strongest response.
    static std::ptrdiff_t earliest_lag(const std::vector<std::vector<float>>& circular) {
        std::ptrdiff_t earliest = 0;
        float strongest = 0.0F;
        for (const auto& response : circular) {
            const auto peak = std::ranges::max_element(response, {}, [](float s) { return std::abs(s); });
            if (std::abs(*peak) > strongest) {
                strongest = std::abs(*peak);
                earliest = peak - response.begin();
            }
        }
        return earliest;
    }

    [[nodiscard]] std::size_t response_length(const MicTrack& mic, const Place& place) const {
        const double recorded_s = static_cast<double>(mic.samples.size()) / samples_.rate_hz;
        const double started_s = static_cast<double>(place.zero_lag) / samples_.rate_hz;
        const double after_s = absolute_ ? recorded_s - excitation_.ends_s() - started_s : longest_response_s;
        return static_cast<std::size_t>(std::min(std::clamp(after_s, shortest_response_s, longest_response_s), std::max(place.free_s, 0.05)) * samples_.rate_hz);
    }

    Evidence evidence_of(std::size_t index, const Spectrum* heard, const Place& place) const {
        const MicTrack& mic = samples_.mics[index];
        const std::vector<float>& circular = circular_[index];
        const double rate_hz = samples_.rate_hz;
        Evidence evidence;
        evidence.rate_hz = rate_hz;
        evidence.absolute = absolute_;
        evidence.calibrated = mic.pascal_per_fs.has_value();
        evidence.latency_s = mic.latency_s;
        evidence.flags = channel_flags(mic.samples);
        evidence.flags.raise(common_);
        evidence.played_db = excitation_.played_db();
        evidence.drift_ppm = drift_ppm_;

        const double lead_s = absolute_ ? before_s : 0.25;
        const auto first_lag = place.zero_lag - static_cast<std::ptrdiff_t>(lead_s * rate_hz);
        evidence.first_s = static_cast<double>(first_lag) / rate_hz;
        if (samples_.kind == TakeKind::noise) {
            from_noise(evidence, samples_of(index), first_lag, lead_s);
        } else {
            evidence.impulse = window_of(circular, first_lag, response_length(mic, place) + static_cast<std::size_t>(lead_s * rate_hz));
            evidence.noise_impulse_db = noise_before(circular, place.zero_lag - (absolute_ ? 0 : static_cast<std::ptrdiff_t>(0.2 * rate_hz)), rate_hz);
            if (absolute_ && heard != nullptr && looks_swapped(circular, rate_hz)) evidence.flags.raise(Flag::swapped_reference);
            if (heard != nullptr) look_at_left_over(evidence, *heard, first_lag);
            find_distortion(evidence, circular, place);
        }
        if (absolute_ && place.free_s >= longest_response_s && tail_is_cut(evidence.impulse, rate_hz, static_cast<std::size_t>(0.9 * lead_s * rate_hz)))
            evidence.flags.raise(Flag::tail_cut);
        set_noise(evidence, index);
        correct(evidence, mic);
        return evidence;
    }

    // What the kept response does not explain of the mic's samples: bursts and hum stand out of it.
    void look_at_left_over(Evidence& evidence, const Spectrum& heard, std::ptrdiff_t first_lag) const {
        const RealFft& fft = excitation_.fft();
        std::vector<float> placed(fft.size(), 0.0F);
        std::span<const float> kept = evidence.impulse;
        for (std::size_t at = place_of(first_lag, placed.size()); !kept.empty(); at = 0) {
            const auto part = kept.first(std::min(kept.size(), placed.size() - at));
            std::ranges::copy(part, placed.begin() + static_cast<std::ptrdiff_t>(at));
            kept = kept.subspan(part.size());
        }
        Spectrum rest = fft.forward(placed);
        for (std::size_t bin = 0; bin < rest.size(); ++bin) rest[bin] = heard[bin] - excitation_.spectrum()[bin] * rest[bin];
        if (has_hum(rest, samples_.rate_hz / static_cast<double>(fft.size()))) evidence.flags.raise(Flag::hum);
        for (std::size_t bin = 0; bin < rest.size(); ++bin) rest[bin] *= excitation_.whitening()[bin];
        const double heard_energy = 2.0 * whitened_energy(heard) / static_cast<double>(fft.size());
        fft.inverse(rest, placed);
        // Not at the ends of the sweep, where the edges of the covered band are left over.
        const double sounds_s = excitation_.ends_s() - excitation_.begins_s();
        const auto from = static_cast<std::size_t>((excitation_.begins_s() + 0.12 * sounds_s) * samples_.rate_hz);
        const auto to = std::min(static_cast<std::size_t>((excitation_.ends_s() - 0.05 * sounds_s) * samples_.rate_hz), placed.size());
        if (to <= from) return;
        const double least_power = burst_above_heard * heard_energy / (std::max(sounds_s, 0.01) * samples_.rate_hz);
        const auto block = static_cast<std::size_t>(0.005 * samples_.rate_hz);
        if (has_burst(burst_weights(std::span(placed).subspan(from, to - from), to - from, block, least_power))) evidence.flags.raise(Flag::burst);
    }

    [[nodiscard]] double whitened_energy(const Spectrum& heard) const {
        const std::vector<float>& whitening = excitation_.whitening();
        const auto energy = [&](std::size_t bin) { return static_cast<double>(std::norm(heard[bin] * whitening[bin])); };
        std::array<double, 4> sums{};  // side by side, so that no sum waits for the one before
        std::size_t bin = 0;
        for (; bin + sums.size() <= heard.size(); bin += sums.size())
            for (std::size_t k = 0; k < sums.size(); ++k) sums[k] += energy(bin + k);
        for (; bin < heard.size(); ++bin) sums[0] += energy(bin);
        return std::accumulate(sums.begin(), sums.end(), 0.0);
    }

    void find_distortion(Evidence& evidence, const std::vector<float>& circular, const Place& place) const {
        if (!time_constant_s_ || evidence.impulse.empty()) return;
        const auto loudest = std::ranges::max_element(evidence.impulse, {}, [](float s) { return std::abs(s); }) - evidence.impulse.begin();
        const double at_s = evidence.first_s + static_cast<double>(loudest) / samples_.rate_hz;
        // A place behind another circuit's response shows that one, not distortion.
        if (place.free_s < longest_response_s) return;
        const Distortion distortion = distortion_of(circular, samples_.rate_hz, *time_constant_s_, at_s, bands_.aim_low_hz, bands_.aim_high_hz, excitation_.low_hz(),
                                                    excitation_.high_hz());
        evidence.distortion2_pct = distortion.second_in_band_pct;
        evidence.distortion3_pct = distortion.third_in_band_pct;
    }

    void from_noise(Evidence& evidence, std::span<const float> mic, std::ptrdiff_t first_lag, double lead_s) const {
        const double sounds_s = std::max(excitation_.ends_s() - excitation_.begins_s(), 0.1);
        const double length_s = std::min(noise_response_s, 0.25 * sounds_s) + lead_s;
        LeastSquaresResponse fitted =
            least_squares_response(excitation_, mic, first_lag, static_cast<std::size_t>(length_s * samples_.rate_hz));
        if (has_burst(fitted.weights)) evidence.flags.raise(Flag::burst);
        evidence.impulse = std::move(fitted.impulse);

        // What is left over is noise; blocks that were held down are left out, and the taps took their share of it.
        const auto begin = static_cast<std::size_t>(excitation_.begins_s() * samples_.rate_hz);
        const auto end = std::min(static_cast<std::size_t>(excitation_.ends_s() * samples_.rate_hz), mic.size());
        std::vector<float> quiet, heard;
        for (std::size_t n = begin; n < end; ++n) {
            if (fitted.weights[std::min(n / fitted.block, fitted.weights.size() - 1)] < 0.5F) continue;
            quiet.push_back(fitted.left_over[n]);
            heard.push_back(mic[n]);
        }
        if (quiet.size() < 256) return;
        const RealFft lines(fast_size(std::min<std::size_t>(quiet.size(), static_cast<std::size_t>(8.0 * samples_.rate_hz))));
        if (has_hum(lines.forward(std::span(quiet).first(std::min(quiet.size(), lines.size()))), samples_.rate_hz / static_cast<double>(lines.size())))
            evidence.flags.raise(Flag::hum);
        const double taken = std::clamp(1.0 - length_s / sounds_s, 0.2, 1.0);
        const BandLevels rest = band_levels_dbfs(quiet, samples_.rate_hz), whole = band_levels_dbfs(heard, samples_.rate_hz);
        for (std::size_t band = 0; band < band_count; ++band) {
            if (!rest.has(band) || !evidence.played_db.has(band)) continue;
            const double noise_db = rest[band] - power_db(taken) - evidence.played_db[band];
            evidence.noise_impulse_db[band] = noise_db - power_db(sounds_s * fitted.weighted_share);
            evidence.coherence[band] = std::clamp(1.0 - power_of_db(rest[band] - whole[band]) / taken, 0.0, 1.0);
        }
    }

    void set_noise(Evidence& evidence, std::size_t index) const {
        const double sounds_db = power_db(std::max(excitation_.ends_s() - excitation_.begins_s(), 0.01));
        const bool has_silence = index < samples_.silence_dbfs.size();
        for (std::size_t band = 0; band < band_count; ++band) {
            if (has_silence && samples_.silence_dbfs[index].has(band) && evidence.played_db.has(band))
                evidence.noise_db[band] = samples_.silence_dbfs[index][band] - evidence.played_db[band];
            else if (evidence.noise_impulse_db.has(band))
                evidence.noise_db[band] = evidence.noise_impulse_db[band] + sounds_db;
        }
    }

    void correct(Evidence& evidence, const MicTrack& mic) const {
        if (!mic.response && !mic.pascal_per_fs) return;
        const RealFft fft(fast_size(evidence.impulse.size() + 4096));
        const std::vector<float> gain = correction(mic, fft, samples_.rate_hz);
        Spectrum spectrum = fft.forward(evidence.impulse);
        for (std::size_t bin = 0; bin < spectrum.size(); ++bin) spectrum[bin] *= gain[bin];
        std::vector<float> corrected = fft.inverse(spectrum);
        corrected.resize(evidence.impulse.size());
        evidence.impulse = std::move(corrected);
        for (std::size_t band = 0; band < band_count; ++band) {
            const double db = amplitude_db(mic.pascal_per_fs.value_or(1.0)) -
                              (mic.response ? response_db_at(*mic.response, midband_hz(band)) : 0.0);
            if (evidence.noise_db.has(band)) evidence.noise_db[band] += db;
            if (evidence.noise_impulse_db.has(band)) evidence.noise_impulse_db[band] += db;
        }
    }

    // The earliest certain arrival of the take becomes moment zero.
    void count_from_earliest(std::vector<Evidence>& all) const {
        std::optional<double> earliest;
        for (const Evidence& evidence : all) {
            const auto arrival = first_arrival(evidence, bands_);
            if (arrival && arrival->certain && (!earliest || arrival->at_s - evidence.latency_s < *earliest))
                earliest = arrival->at_s - evidence.latency_s;
        }
        if (!earliest) return;
        for (Evidence& evidence : all) evidence.first_s -= *earliest;
    }

    const Samples& samples_;
    const Bands& bands_;
    bool absolute_;
    std::span<const float> reference_;
    Excitation excitation_;
    std::optional<double> time_constant_s_;  // of an exponential sweep
    std::optional<double> drift_ppm_;
    std::vector<std::vector<float>> at_reference_rate_;  // the mics' samples, where they had to be brought there
    std::vector<Spectrum> heard_;
    std::vector<std::vector<float>> circular_;
    Flags common_;                           // of all mics
};

// The sweep itself must be known: it was given, or the reference holds one alone.
Result<std::vector<std::vector<Evidence>>> overlapped(const Samples& samples, const Bands& bands, bool has_reference) {
    if (samples.kind != TakeKind::sweep) return std::unexpected(refused("starts", "only sweeps can overlap", "leave the starts out of a take of another kind"));
    if (!std::ranges::is_sorted(samples.starts_s) || samples.starts_s.front() < 0.0)
        return std::unexpected(refused("starts", "the starts are not in rising order from zero on", "give them as they were played"));
    if (!has_reference) {
        Measuring measuring(samples, bands, samples.played, true);
        std::vector<std::vector<Evidence>> all = measuring.run_overlapped(samples.starts_s);
        for (auto& circuit : all)
            for (Evidence& evidence : circuit) evidence.absolute = false;
        return all;
    }
    // Zero is where the reference's own sweep starts: the first circuit's. A loopback that carries all of them is reduced to it.
    std::vector<double> after_first;
    for (const double start_s : samples.starts_s) after_first.push_back(start_s - samples.starts_s.front());
    if (samples.played.empty() || after_first.size() < 2) return Measuring(samples, bands, samples.reference, true).run_overlapped(after_first);
    const std::vector<float> alone = lone_reference(samples.reference, samples.played, samples.rate_hz, after_first[1]);
    return Measuring(samples, bands, alone, true).run_overlapped(after_first);
}

}  // namespace

Result<std::vector<std::vector<Evidence>>> measure(const Samples& samples, const Bands& bands) {
    if (auto fault = fault_of(samples)) return std::unexpected(*fault);
    const bool has_reference = peak_of(samples.reference) > 0.0F;
    const std::span<const float> reference = has_reference ? samples.reference : samples.played;
    if (!(peak_of(reference) > 0.0F))
        return std::unexpected(refused("reference", "no channel carries the signal and no signal file is given",
                                       "name the reference channel, or the signal that was played"));
    if (!samples.starts_s.empty()) return overlapped(samples, bands, has_reference);
    std::vector<std::vector<Evidence>> all;
    all.push_back(Measuring(samples, bands, reference, has_reference).run());
    return all;
}

}  // namespace proofwalk::signal
