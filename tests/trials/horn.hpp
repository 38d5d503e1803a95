// The loudspeakers of the trials: a two-way box on a horn whose pattern is not the plan's parabola.
#pragma once

#include <array>
#include <complex>

#include "plan/plan.hpp"
#include "trials/dice.hpp"
#include "trials/show.hpp"
#include "units/bands.hpp"

namespace proofwalk::trials {

// One kind of box as built: its coverage is the sheet's only within some per cent, its sides fall faster or slower than a
// parabola, it narrows with frequency inside the aim band and opens below it, top and bottom differ a little.
class Horn {
public:
    Horn(const plan::Model& model, Dice& dice);

    // Loss in dB towards h, v degrees at a band's midband.
    [[nodiscard]] double loss_db(double h_deg, double v_deg, std::size_t band) const;
    [[nodiscard]] double loss_db(double h_deg, double v_deg, plan::Band band) const;

private:
    [[nodiscard]] double half_angle(double coverage_deg, double size_m, std::size_t band) const;

    plan::Model model_;
    double coverage_h_, coverage_v_;
    double steep_h_, steep_v_, narrowing_, asymmetry_deg_, floor_db_;
    std::array<double, 4> lobe_{};  // small wobble of the pattern with angle
};

// On its axis at 1 m, gain 0: drivers, crossover (Linkwitz-Riley 24 dB an octave), ripple of the model and of the unit.
class Voice {
public:
    Voice(const plan::Model& model, std::uint64_t model_seed, Dice& unit, Drivers drivers);
    [[nodiscard]] std::complex<double> at(double hz) const;

private:
    struct Bump {
        double hz = 0, q = 0, gain_db = 0;
    };
    plan::Band range_;
    bool two_way_;
    double crossover_hz_;
    std::array<Bump, 5> bumps_{};
    Drivers drivers_;
};

}  // namespace proofwalk::trials
