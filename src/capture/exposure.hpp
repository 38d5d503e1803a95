// What a person near the boxes has been exposed to: cautions to display, never a statement of compliance. Local rules decide.
// Sources: NIOSH recommended exposure limit, 85 dBA for 8 h, 3 dB exchange (CDC/NIOSH); ISO 9612:2009 for LEX,8h.
#pragma once

#include <optional>

namespace proofwalk::capture {

inline constexpr double reference_day_s = 8.0 * 3600.0;
inline constexpr double niosh_level_dba = 85.0, niosh_exchange_db = 3.0;
inline constexpr double deliberate_level_dba = 85.0;  // louder than this where a person may stand: a deliberate start

// Longest exposure to a steady level in a day: 8 h / 2^((L - 85) / 3).
[[nodiscard]] double allowed_s(double level_dba);

// Sum over a walk at one place. Levels are A-weighted equivalent levels, dB re 20 uPa.
class Exposure {
public:
    void add(double level_dba, double duration_s);  // a duration that is not positive adds nothing
    [[nodiscard]] double duration_s() const { return duration_s_; }
    [[nodiscard]] double dose_pct() const { return dose_pct_; }     // 100: the day's allowance is used up
    [[nodiscard]] std::optional<double> lex_8h_dba() const;          // absent before anything was added
    [[nodiscard]] std::optional<double> equivalent_dba() const;      // over duration_s
    // How long `level_dba` may still last today; 0 when the dose is used up.
    [[nodiscard]] double remaining_s(double level_dba) const;

private:
    double duration_s_ = 0.0, dose_pct_ = 0.0;
    double energy_s_ = 0.0;  // sum of 10^(L/10) * t
};

}  // namespace proofwalk::capture
