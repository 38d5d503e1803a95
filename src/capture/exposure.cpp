#include "capture/exposure.hpp"

#include <algorithm>
#include <cmath>

#include "units/convert.hpp"

namespace proofwalk::capture {

double allowed_s(double level_dba) { return reference_day_s / std::exp2((level_dba - niosh_level_dba) / niosh_exchange_db); }

void Exposure::add(double level_dba, double duration_s) {
    if (!(duration_s > 0.0) || !std::isfinite(level_dba)) return;
    duration_s_ += duration_s;
    dose_pct_ += 100.0 * duration_s / allowed_s(level_dba);
    energy_s_ += power_of_db(level_dba) * duration_s;
}

std::optional<double> Exposure::lex_8h_dba() const {
    if (energy_s_ <= 0.0) return std::nullopt;
    return power_db(energy_s_ / reference_day_s);
}

std::optional<double> Exposure::equivalent_dba() const {
    if (energy_s_ <= 0.0) return std::nullopt;
    return power_db(energy_s_ / duration_s_);
}

double Exposure::remaining_s(double level_dba) const { return std::max(0.0, (1.0 - dose_pct_ / 100.0) * allowed_s(level_dba)); }

}  // namespace proofwalk::capture
