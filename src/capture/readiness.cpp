#include "capture/readiness.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include <fmt/format.h>

#include "capture/damage.hpp"
#include "signal/fft.hpp"
#include "signal/measure.hpp"
#include "units/convert.hpp"

namespace proofwalk::capture {
namespace {

constexpr double silence_dbfs = -200.0;
constexpr double shortest_s = 0.5;
constexpr int mains_harmonics = 5;
constexpr double hum_stands_out_db = 15.0;
constexpr int harmonics_of_hum = 2;
constexpr double feedback_share = 0.5, feedback_growth_db = 3.0;
constexpr int feedback_times = 3;
constexpr double least_headroom_db = 6.0;

double level_dbfs(double power) { return power > 1e-20 ? power_db(power) : silence_dbfs; }

// One-sided power of a Hann-windowed piece; a sine of amplitude 1 has its whole power of 1 within three bins.
std::vector<double> power_spectrum(std::span<const float> samples, double& bin_hz, double rate_hz) {
    const std::size_t size = samples.size() / 2 * 2;
    std::vector<float> windowed(size);
    double window_power = 0.0;
    for (std::size_t n = 0; n < size; ++n) {
        const double window = 0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * static_cast<double>(n) / static_cast<double>(size));
        windowed[n] = static_cast<float>(window) * samples[n];
        window_power += window * window;
    }
    const std::size_t fast = signal::fast_size(size);
    const auto spectrum = signal::RealFft(fast).forward(windowed);
    bin_hz = rate_hz / static_cast<double>(fast);
    std::vector<double> power;
    // Twice for the negative frequencies, twice more because a full-scale sine counts as 1.
    for (const auto& line : spectrum)
        power.push_back(4.0 * static_cast<double>(std::norm(line)) / (window_power * static_cast<double>(fast)));
    return power;
}

double sum_between(const std::vector<double>& power, double bin_hz, double low_hz, double high_hz) {
    double sum = 0.0;
    for (auto k = static_cast<std::size_t>(std::max(0.0, std::ceil(low_hz / bin_hz)));
         k < power.size() && static_cast<double>(k) * bin_hz <= high_hz; ++k)
        sum += power[k];
    return sum;
}

struct Hum {
    double power = 0.0;
    int harmonics = 0;
};

// Harmonics of the mains that stand out of what lies around them.
Hum hum_of(const std::vector<double>& power, double bin_hz, double mains_hz) {
    constexpr double half_line_hz = 2.5, around_hz = 12.0;
    Hum hum;
    for (int h = 1; h <= mains_harmonics; ++h) {
        const double at = h * mains_hz;
        const double line = sum_between(power, bin_hz, at - half_line_hz, at + half_line_hz);
        const double around = sum_between(power, bin_hz, at - around_hz, at + around_hz) - line;
        const double expected = around * half_line_hz / (around_hz - half_line_hz);
        if (line < 1e-14 || line < expected * power_of_db(hum_stands_out_db)) continue;
        hum.power += line;
        ++hum.harmonics;
    }
    return hum;
}

double aim_noise_dbfs(const ChannelState& state, const WantedTake& take) {
    double sum = 0.0;
    const auto [first, end] = bands_inside(take.aim_low_hz, take.aim_high_hz);
    for (std::size_t band = first; band < end; ++band)
        if (state.bands_dbfs.has(band)) sum += power_of_db(state.bands_dbfs[band]);
    return level_dbfs(sum);
}

}  // namespace

ChannelState channel_state(std::span<const float> quiet, double rate_hz) {
    ChannelState state;
    double peak = 0.0, power = 0.0;
    for (const float sample : quiet) {
        peak = std::max(peak, std::fabs(static_cast<double>(sample)));
        power += static_cast<double>(sample) * static_cast<double>(sample);
    }
    state.dead = all_zeros(quiet);
    state.clipped = first_clipping(quiet).has_value();
    if (peak > 1e-10) state.peak_dbfs = amplitude_db(peak);
    if (!quiet.empty()) state.noise_dbfs = level_dbfs(2.0 * power / static_cast<double>(quiet.size()));
    if (static_cast<double>(quiet.size()) < shortest_s * rate_hz || state.dead) return state;
    state.bands_dbfs = signal::band_levels_dbfs(quiet, rate_hz);
    double bin_hz = 0.0;
    const auto spectrum = power_spectrum(quiet, bin_hz, rate_hz);
    for (const double mains_hz : {50.0, 60.0}) {
        const Hum hum = hum_of(spectrum, bin_hz, mains_hz);
        if (hum.harmonics < harmonics_of_hum || level_dbfs(hum.power) <= state.hum_dbfs) continue;
        state.hum_hz = mains_hz;
        state.hum_dbfs = level_dbfs(hum.power);
    }
    return state;
}

std::optional<double> FeedbackWatch::hear(std::span<const float> piece, double rate_hz) {
    if (piece.size() < 64) return std::nullopt;
    double bin_hz = 0.0;
    const auto power = power_spectrum(piece, bin_hz, rate_hz);
    std::size_t strongest = 1;
    double whole = 0.0;
    for (std::size_t k = 1; k < power.size(); ++k) {
        whole += power[k];
        if (power[k] > power[strongest]) strongest = k;
    }
    const double hz = static_cast<double>(strongest) * bin_hz;
    const double line = sum_between(power, bin_hz, hz - 3.0 * bin_hz, hz + 3.0 * bin_hz);
    const double db = level_dbfs(line);
    const bool tone = whole > 1e-12 && line > feedback_share * whole;
    const bool same = std::fabs(hz - last_hz_) <= 3.0 * bin_hz;
    grown_ = tone && same && db >= last_db_ + feedback_growth_db ? grown_ + 1 : 0;
    last_hz_ = hz;
    last_db_ = tone ? db : silence_dbfs;
    if (grown_ < feedback_times) return std::nullopt;
    return hz;
}

double expected_noise_u_db(const WantedTake& take, double aim_noise_dbfs) {
    const double in_band_s = take.sweep_s * std::log(take.aim_high_hz / take.aim_low_hz) / std::log(take.stop_hz / take.start_hz);
    const double ratio = power_of_db(take.signal_dbfs - aim_noise_dbfs) * in_band_s / take.gate_s;
    const double bandwidth_hz = take.aim_high_hz - take.aim_low_hz;
    return 20.0 / std::numbers::ln10 * std::sqrt(1.0 / (2.0 * bandwidth_hz * take.gate_s * ratio)) + 10.0 / std::numbers::ln10 / ratio;
}

std::optional<double> settling_db_per_s(std::span<const float> quiet, double rate_hz) {
    constexpr double piece_s = 0.05, least_fall_db_per_s = 3.0, most_scatter_db = 1.5;
    const auto piece = static_cast<std::size_t>(piece_s * rate_hz);
    if (static_cast<double>(quiet.size()) < shortest_s * rate_hz || piece == 0) return std::nullopt;
    std::vector<double> at_s, level_db;
    for (std::size_t first = 0; first + piece <= quiet.size(); first += piece) {
        double power = 0.0;
        for (const float sample : quiet.subspan(first, piece)) power += static_cast<double>(sample) * static_cast<double>(sample);
        if (power <= 0.0) return std::nullopt;
        at_s.push_back(static_cast<double>(first) / rate_hz);
        level_db.push_back(power_db(power));
    }
    const auto count = static_cast<double>(at_s.size());
    double mean_s = 0.0, mean_db = 0.0, products = 0.0, squares = 0.0, scatter = 0.0;
    for (std::size_t n = 0; n < at_s.size(); ++n) {
        mean_s += at_s[n] / count;
        mean_db += level_db[n] / count;
    }
    for (std::size_t n = 0; n < at_s.size(); ++n) {
        products += (at_s[n] - mean_s) * (level_db[n] - mean_db);
        squares += (at_s[n] - mean_s) * (at_s[n] - mean_s);
    }
    const double slope = products / squares;
    for (std::size_t n = 0; n < at_s.size(); ++n) {
        const double off = level_db[n] - mean_db - slope * (at_s[n] - mean_s);
        scatter += off * off / count;
    }
    if (slope > -least_fall_db_per_s || std::sqrt(scatter) > most_scatter_db) return std::nullopt;
    return slope;
}

Readiness readiness(const WantedTake& take, std::span<const ChannelState> states, std::span<const std::string> names) {
    Readiness result;
    const auto say = [&](std::size_t mic, const std::string& what) { result.says.push_back(fmt::format("{}: {}", names[mic], what)); };
    bool usable = !states.empty();
    double loudest = silence_dbfs;
    for (std::size_t m = 0; m < states.size(); ++m) {
        const ChannelState& state = states[m];
        if (state.dead) say(m, "hears nothing at all; check its cable and input");
        if (state.clipped) say(m, "is clipped; lower its gain");
        if (state.dead || state.clipped) usable = false;
        if (!state.clipped && state.peak_dbfs > -least_headroom_db)
            say(m, fmt::format("has only {:.0f} dB of headroom; lower its gain", -state.peak_dbfs));
        if (state.hum_hz) say(m, fmt::format("hums at {:.0f} Hz ({:.0f} dBFS); look for a ground loop", *state.hum_hz, state.hum_dbfs));
        loudest = std::max(loudest, aim_noise_dbfs(state, take));
    }
    if (!usable) return result;
    result.noise_u_db = expected_noise_u_db(take, loudest);
    if (result.noise_u_db <= take.noise_u_db) {
        result.offered = true;
        return result;
    }
    // How much the ratio of signal to noise has to grow: the uncertainty falls with it, so halving finds it.
    double low_db = 0.0, high_db = 200.0;
    for (int step = 0; step < 50; ++step) {
        const double middle = 0.5 * (low_db + high_db);
        (expected_noise_u_db(take, loudest - middle) > take.noise_u_db ? low_db : high_db) = middle;
    }
    result.quieter_db = high_db;
    const double longer_s = take.sweep_s * power_of_db(high_db);
    std::string ways;
    if (longer_s <= take.longest_s) {
        result.sweep_s = longer_s;
        ways += fmt::format("sweep for {:.0f} s instead of {:.0f} s, or ", std::ceil(longer_s), take.sweep_s);
    }
    if (high_db <= take.louder_db) {
        result.louder_db = high_db;
        ways += fmt::format("play {:.0f} dB louder, or ", std::ceil(high_db));
    }
    if (take.settling_db_per_s && *take.settling_db_per_s < 0.0) result.wait_s = high_db / -*take.settling_db_per_s;
    const std::string wait = result.wait_s ? fmt::format("wait {:.0f} s until it is {:.0f} dB quieter", std::ceil(*result.wait_s), std::ceil(high_db))
                                           : fmt::format("wait until it is {:.0f} dB quieter", std::ceil(high_db));
    result.says.push_back(fmt::format("The room is too loud for {:.2f} dB: {}{}", take.noise_u_db, ways, wait));
    return result;
}

}  // namespace proofwalk::capture
