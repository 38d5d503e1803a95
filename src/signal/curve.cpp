#include <algorithm>
#include <cmath>

#include "signal/evidence.hpp"
#include "signal/fft.hpp"
#include "signal/gate.hpp"
#include "signal/third_octave.hpp"
#include "units/convert.hpp"

namespace proofwalk::signal {

// Above the frequency that the gate resolves the gated sound counts, below it the whole response.
Curve magnitude_curve(const Evidence& evidence, const Reading& reading, double fraction_of_octave) {
    Curve curve;
    if (!reading.arrival_s || evidence.impulse.empty() || !(fraction_of_octave >= 1.0)) return curve;
    const RealFft direct_fft(16384);
    const double opens_s = reading.arrival_s->value + evidence.latency_s - evidence.first_s;
    const Spectrum direct = direct_fft.forward(gated(evidence.impulse, evidence.rate_hz,
                                                     {opens_s - 0.1e-3, 0.5e-3, opens_s + std::max(reading.gate_s, 1e-3)}));
    const RealFft full_fft(fast_size(evidence.impulse.size()));
    const Spectrum full = full_fft.forward(evidence.impulse);
    const double half_width = std::pow(10.0, 0.15 / fraction_of_octave);  // base-ten fractions of an octave
    const double points_per_decade = 2.0 * fraction_of_octave / 0.3;
    const double highest_hz = std::min(20000.0, evidence.rate_hz / 2.0 / half_width);
    for (int point = 0;; ++point) {
        const double hz = 20.0 * std::pow(10.0, point / points_per_decade);
        if (hz > highest_hz) break;
        const bool resolved = hz >= reading.gate_resolves_from_hz;
        const double power = resolved ? mean_power(direct, evidence.rate_hz / static_cast<double>(direct_fft.size()), hz / half_width, hz * half_width)
                                      : mean_power(full, evidence.rate_hz / static_cast<double>(full_fft.size()), hz / half_width, hz * half_width);
        if (!(power > 0.0)) continue;
        const auto band = static_cast<std::size_t>(std::clamp(std::lround(10.0 * std::log10(hz / 1000.0)) + 17, 0L, static_cast<long>(band_count) - 1));
        const BandLevels& u = resolved ? reading.direct_u_db : reading.full_u_db;
        // On the scale of the readings: calibrated levels carry the same offset as the band they lie in.
        const double offset_db = evidence.calibrated && evidence.played_db.has(band)
                                     ? evidence.played_db[band] - amplitude_db(std::sqrt(2.0)) - amplitude_db(reference_pressure_pa)
                                     : 0.0;
        curve.hz.push_back(hz);
        curve.db.push_back(power_db(power) + offset_db);
        curve.u_db.push_back(u.has(band) ? u[band] : 0.0);
    }
    return curve;
}

}  // namespace proofwalk::signal
