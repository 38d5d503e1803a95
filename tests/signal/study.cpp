#include "signal/study.hpp"

#include <algorithm>
#include <cmath>

#include "signal/excitation.hpp"
#include "signal/measure.hpp"

namespace proofwalk::test {

namespace {

double quantile(std::vector<double> values, double share) {
    if (values.empty()) return 0.0;
    std::ranges::sort(values);
    const double at = share * static_cast<double>(values.size() - 1);
    const auto below = static_cast<std::size_t>(at);
    const std::size_t above = std::min(below + 1, values.size() - 1);
    return values[below] + (at - static_cast<double>(below)) * (values[above] - values[below]);
}

std::vector<float> signal_of(const StudySettings& settings) {
    if (settings.noise_take) {
        auto noise = signal::periodic_pink_noise({.period_s = 4.0, .length_s = 4.0, .level_dbfs = -20.0, .seed = 7});
        return *noise;
    }
    return *signal::exponential_sweep({.length_s = 4.0, .level_dbfs = -12.0});
}

}  // namespace

std::vector<StudyCase> study_cases(const StudySettings& settings) {
    const std::vector<float> played = signal_of(settings);
    std::vector<float> reference = played;
    reference.resize(settings.room.samples, 0.0F);
    std::vector<StudyCase> cases;
    for (int n = 0; n < settings.rooms; ++n) {
        const auto seed = settings.first_seed + static_cast<std::uint64_t>(n);
        StudyCase one;
        one.room = make_room(settings.room, seed);
        const std::vector<float> mic = record(one.room, reference, {settings.aim_snr_db, settings.knocks}, seed);
        signal::Samples samples;
        samples.rate_hz = settings.room.rate_hz;
        samples.kind = settings.noise_take ? signal::TakeKind::noise : signal::TakeKind::sweep;
        samples.reference = reference;
        samples.mics.push_back({mic, {}, {}, 0.0});
        const signal::Bands bands{settings.room.aim_low_hz, settings.room.aim_high_hz, settings.room.range_low_hz, settings.room.range_high_hz, {}};
        const auto evidence = signal::measure(samples, bands);
        one.reading = signal::read((*evidence)[0][0], bands);
        // Megabytes a room: given back at once.
        one.room.direct = std::vector<std::complex<double>>();
        one.room.whole = std::vector<std::complex<double>>();
        cases.push_back(std::move(one));
    }
    return cases;
}

StudyFigures figures_of(const std::vector<StudyCase>& cases) {
    StudyFigures figures;
    figures.cases = static_cast<int>(cases.size());
    std::vector<double> arrival_us, level_db;
    double arrival_sum = 0.0, level_sum = 0.0;
    int arrivals_held = 0, levels_held = 0, polarities = 0, wrong_polarities = 0, wrong_peaks = 0, silent_wrong_peaks = 0;
    for (const StudyCase& one : cases) {
        const signal::Reading& reading = one.reading;
        if (reading.arrival_s) {
            const double error_us = 1e6 * (reading.arrival_s->value - one.room.arrival_s);
            if (std::abs(error_us) > std::max(1000.0, 3e6 * reading.arrival_s->u)) {
                ++wrong_peaks;
                if (!reading.flags.has(Flag::weak_arrival)) ++silent_wrong_peaks;
            }
            arrival_us.push_back(std::abs(error_us));
            arrival_sum += error_us;
            if (std::abs(error_us) <= 1.96e6 * reading.arrival_s->u) ++arrivals_held;
            figures.mean_arrival_u_us += 1e6 * reading.arrival_s->u;
        }
        if (reading.aim_band_db) {
            const double error_db = reading.aim_band_db->value - one.room.direct_aim_db;
            level_db.push_back(std::abs(error_db));
            level_sum += error_db;
            if (std::abs(error_db) <= 1.96 * reading.aim_band_db->u) ++levels_held;
            figures.mean_level_u_db += reading.aim_band_db->u;
        }
        if (reading.polarity) {
            ++polarities;
            if (*reading.polarity != one.room.polarity) ++wrong_polarities;
        }
    }
    const auto share = [](int part, std::size_t whole) { return whole == 0 ? 0.0 : 100.0 * part / static_cast<double>(whole); };
    figures.arrivals = static_cast<int>(arrival_us.size());
    figures.arrival_p50_us = quantile(arrival_us, 0.5);
    figures.arrival_p95_us = quantile(arrival_us, 0.95);
    figures.arrival_bias_us = arrival_us.empty() ? 0.0 : arrival_sum / static_cast<double>(arrival_us.size());
    figures.arrival_held_pct = share(arrivals_held, arrival_us.size());
    figures.wrong_peaks = wrong_peaks;
    figures.silent_wrong_peaks = silent_wrong_peaks;
    figures.levels = static_cast<int>(level_db.size());
    figures.level_p50_db = quantile(level_db, 0.5);
    figures.level_p95_db = quantile(level_db, 0.95);
    figures.level_bias_db = level_db.empty() ? 0.0 : level_sum / static_cast<double>(level_db.size());
    figures.level_held_pct = share(levels_held, level_db.size());
    figures.polarity_told_pct = share(polarities, cases.size());
    figures.polarity_wrong_pct = share(wrong_polarities, static_cast<std::size_t>(std::max(polarities, 1)));
    if (figures.arrivals > 0) figures.mean_arrival_u_us /= figures.arrivals;
    if (figures.levels > 0) figures.mean_level_u_db /= figures.levels;
    return figures;
}

}  // namespace proofwalk::test
