// What was heard of a rig as the joint fit weighs it: which readings count at a state of the hang, and how far each is
// trusted there. See hang_fit.hpp for the meaning.
#pragma once

#include <cstddef>
#include <vector>

#include "verify/hang_model.hpp"

namespace proofwalk::verify {

// One figure that was read.
struct Observation {
    enum class Kind { level, arrival, band };

    std::size_t sound = 0;
    Kind kind = Kind::level;
    double value = 0.0;
    double reading_u = 0.0;  // noise and room
    double pattern_u = 0.0;  // directivity, of this box towards this side
    double common_u = 0.0;   // directivity, the same for all sounds of its direction
    double bounce_u = 0.0;   // of a bounce within the gate, the same for all sounds that have one
    std::size_t band = 0;    // of HangModel::bands
    bool used = true;
    bool used_as_planned = false;  // a fit must not win by turning away from what the plan says is heard
    bool outlier = false;

    [[nodiscard]] bool is_level() const { return kind == Kind::level; }
    [[nodiscard]] double variance() const { return reading_u * reading_u + pattern_u * pattern_u; }
};

// Below it a pattern is no evidence: near its floor or behind the box.
inline constexpr double useless_loss_db = -22.0;
// How far the full sound of a low band strays from place to place at most.
inline constexpr double most_scatter_db = 3.0;

// Standard uncertainty of a pattern where it has fallen by so much (dB, negative).
[[nodiscard]] double pattern_uncertainty_db(const plan::Model& model, double loss_db);

class HangEvidence {
public:
    using Unknowns = HangModel::Unknowns;

    // by_bands: third octaves tell directions too; hypotheses of other models could not be compared by them.
    HangEvidence(Scene scene, bool by_bands);

    [[nodiscard]] const HangModel& model() const { return model_; }
    [[nodiscard]] const std::vector<Observation>& observations() const { return observations_; }
    [[nodiscard]] const Sound& sound(const Observation& seen) const { return model_.scene().sounds[seen.sound]; }
    [[nodiscard]] const Observation* observation(std::size_t of_sound, Observation::Kind kind) const;
    // With slopes: what each unknown changes the figure by is added to them.
    [[nodiscard]] double predicted(const HangModel::Hung& hung, const Observation& seen, Row* slopes = nullptr) const;

    // Standard uncertainty of a level at a position for a floor bounce that no gate parts from the direct sound there, as
    // planned: what this reading has of its own and what all such readings have in common. Nil where a gate parts them.
    struct BounceShares {
        double own_db = 0.0, common_db = 0.0;
    };
    [[nodiscard]] BounceShares bounce_u_db(std::size_t source, const plan::Position& position) const;

    // At the planned hang, none left out: what is heard there counts from then on.
    void weigh_as_planned(const Unknowns& x);
    // Which readings count and how far the pattern is trusted, at the present state of the hang.
    void weigh(const Unknowns& x);
    // Rooms differ in how much their low bands stray from place to place; the takes themselves tell it.
    void evaluate_scatter(const Unknowns& x);
    void use(std::size_t observation, bool used) { observations_[observation].used = used; }
    void leave_out(std::size_t observation);

private:
    void list(bool by_bands);
    [[nodiscard]] bool by_full_sound(const Observation& seen) const;
    void share_directions(const std::vector<HangModel::Leaving>& leaving);

    HangModel model_;
    std::vector<Observation> observations_;
};

}  // namespace proofwalk::verify
