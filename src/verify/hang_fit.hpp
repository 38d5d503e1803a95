// Where every box really stands and points: one weighted nonlinear least squares over all that was heard, so that errors
// which readings share (a mic's level, where it stands, the air, a model's coverage) are shared in the answer too.
//
// Unknown, each with what is known of it beforehand:
//   per circuit   sensitivity, pan, tilt: nothing; place and delay: as planned unless the sound says otherwise (Student's t)
//   per position  where the mic really stands (mic_place_m each axis)
//   per mic       its level against the others (mic_match_db)
//   per model     coverage angles (coverage_u_pct), how steeply the pattern falls beside the beam model, its own delay
//   once          speed of sound (temperature_u_c), drive latency when the plan has none, what bounces within the gate add
// Levels: sensitivity + distance + air + pattern + mic. Arrivals: latencies + delay + distance over speed of sound.
// Uncertainty: inverse of the normal matrix at the solution (Laplace), which is linear in the error sources and so can be
// told line by line. Levenberg-Marquardt on Eigen: small dense problems (a dozen to some hundred unknowns), no more needed.
#pragma once

#include <cstddef>
#include <functional>
#include <initializer_list>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "verify/scene.hpp"

namespace proofwalk::verify {

enum class Figure { sensitivity_db, pan_deg, tilt_deg, x_m, y_m, z_m, delay_ms };  // of a source, as differences from plan

// A figure that follows from the fit: value, standard uncertainty and where that comes from.
struct Quantity {
    double value = 0.0;
    double u = 0.0;
    double prior_u = 0.0;  // what it would be without any take
    std::vector<BudgetLine> budget;
    std::vector<double> pull;  // covariance with every unknown of the fit; see u_after

    // The takes say something about it, it is not only what was assumed beforehand.
    [[nodiscard]] bool determined() const { return u < 0.8 * prior_u; }
};

// Takes a further, independent share into a figure: on the line of its source where there is one.
void add_share(Quantity& quantity, const BudgetLine& share);

class HangFit {
public:
    // predict: uncertainty at the planned hang, which is what was heard. compare: aims kept near the plan, for hypotheses of
    // the patch: with free aims neighbours imitate one another. glance: the same with the hang as planned, levels and
    // unknown times apart, for its misfit alone.
    enum class Work { solve, predict, compare, glance };

    explicit HangFit(Scene scene, Work work = Work::solve);
    HangFit(HangFit&&) noexcept;
    HangFit& operator=(HangFit&&) noexcept;
    ~HangFit();

    [[nodiscard]] const Scene& scene() const;
    // What the fitted (or planned) hang gives, before any reading: all figures of one state of the unknowns.
    class State;
    using Formula = std::function<double(const State&)>;
    [[nodiscard]] Quantity quantity(const Formula& formula) const;
    // The same figure as the takes alone give it: nothing assumed beforehand of these figures of any source. A pass has to
    // stand on this too, or it would only repeat the plan.
    [[nodiscard]] Quantity without_assumed(const Formula& formula, std::initializer_list<Figure> figures) const;

    // Standard uncertainty that a figure of this fit would have after one more take of a source at a position, with a mic
    // put up anew there. Linear, so the figure itself need not be known.
    [[nodiscard]] double u_after(const Quantity& quantity, std::size_t source, const plan::Position& position) const;

    // How far the pattern of a sound's box may be off in the direction of the mic beside what all sounds of that direction
    // have in common; 0 where no level counts.
    [[nodiscard]] double own_pattern_u_db(std::size_t sound) const;

    // Fit quality of one reading: residual over its expected spread; absent when it was not used.
    [[nodiscard]] std::optional<double> level_residual(std::size_t sound) const;
    [[nodiscard]] std::optional<double> arrival_residual(std::size_t sound) const;
    // Positions whose reading of this source fits nothing and was left out.
    [[nodiscard]] std::vector<std::string> outliers(std::size_t source) const;
    // Robust negative log-likelihood of everything heard (what is no evidence for the fit included) and of what is known
    // beforehand, but for a constant: differences between fits of the same sounds are log-likelihood ratios.
    [[nodiscard]] double misfit() const;
    // The readings agree with the fitted hang, and the hang with what riggers do.
    [[nodiscard]] bool believable() const;

private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

class HangFit::State {
public:
    // Which unknowns a formula looks at is written down where it is asked for.
    State(const Impl& fit, const std::vector<double>& unknowns, std::vector<std::size_t>* looked_at = nullptr)
        : fit_(&fit), unknowns_(&unknowns), looked_at_(looked_at) {}
    [[nodiscard]] double figure(std::size_t source, Figure figure) const;
    [[nodiscard]] double drive_latency_ms() const;  // as solved for, or the plan's
    // Group delay of the source's boxes that the first arrival shows; no part of distance and delay.
    [[nodiscard]] double group_delay_ms(std::size_t source) const;
    [[nodiscard]] acoustics::Pose pose(std::size_t source, std::size_t box = 0) const;
    // Direct aim-band level and first arrival that the source would give at a point; mics and mic places out of it.
    [[nodiscard]] double level_db(std::size_t source, Vec3 at) const;
    // The same at the place of a sound, with what the pattern was found to deviate by in that direction.
    [[nodiscard]] double level_towards_db(std::size_t sound) const;
    [[nodiscard]] double arrival_ms(std::size_t source, Vec3 at) const;

private:
    void look_at(std::size_t source, std::initializer_list<Figure> figures) const;

    const Impl* fit_;
    const std::vector<double>* unknowns_;
    std::vector<std::size_t>* looked_at_;
};

}  // namespace proofwalk::verify
