// What a simulated box does to a signal on its own axis at 1 m: a two-way box (or a sub) as a chain of analogue filters,
// causal by construction. docs/rehearsal.md, "The box".
#pragma once

#include <complex>
#include <vector>

#include "plan/plan.hpp"
#include "rehearsal/keyed_random.hpp"

namespace proofwalk::rehearsal {

enum class Alive { all, low_only, high_only, none };

class BoxResponse {
public:
    BoxResponse(const plan::Model& model, KeyedRandom of_model, KeyedRandom of_unit, Alive alive, bool exact);

    // Complex, without distance, delay or planned gain; the power mean over the aim band of a healthy box with no spread
    // is the model's level at 1 m.
    [[nodiscard]] std::complex<double> at(double frequency_hz) const;
    // Sampled impulse response of `size` samples that starts `lead` samples late, so that what little a band-limited
    // impulse has before its beginning is kept.
    [[nodiscard]] std::vector<float> impulse(double rate_hz, std::size_t size, std::size_t lead) const;

private:
    struct Bump {
        double hz, q, gain_db;
    };
    [[nodiscard]] std::complex<double> shape(double frequency_hz) const;

    plan::Band range_hz_;
    double crossover_hz_ = 0.0;  // 0: one way
    std::vector<Bump> bumps_;
    Alive alive_;
    double gain_ = 1.0;
};

inline constexpr double usual_level_1m_db = -30.0;  // where the plan does not state a model's level

}  // namespace proofwalk::rehearsal
