// Solves the joint fit: robust least squares over what was heard of a rig. See hang_fit.hpp for the meaning.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include <Eigen/Dense>

#include "verify/hang_evidence.hpp"
#include "verify/hang_fit.hpp"
#include "verify/normal_equations.hpp"

namespace proofwalk::verify {

// Weight of what is known of an unknown beforehand, where it stands at x.
[[nodiscard]] double prior_weight(const Prior& prior, double x);

class HangSolver {
public:
    using Unknowns = HangModel::Unknowns;

    HangSolver(Scene scene, HangFit::Work work);

    [[nodiscard]] const HangEvidence& evidence() const { return evidence_; }
    [[nodiscard]] const HangModel& model() const { return evidence_.model(); }
    [[nodiscard]] const Unknowns& at() const { return x_; }
    [[nodiscard]] const std::vector<Row>& rows() const { return rows_; }  // of each observation
    [[nodiscard]] const NormalEquations& normal() const { return normal_; }
    [[nodiscard]] const Covariance& covariance() const { return covariance_; }

    // See HangFit.
    [[nodiscard]] bool believable() const;
    [[nodiscard]] double compared_misfit() const;
    [[nodiscard]] std::optional<double> residual_of(std::size_t sound, Observation::Kind kind) const;

private:
    void solve();
    void settle();
    void start();
    void start_values();
    void solve_from(double hold);
    void descend();
    void invert();
    void set_up_normal();
    bool drop_worst();
    [[nodiscard]] std::vector<std::size_t> aims() const;
    [[nodiscard]] double shortening(const Eigen::VectorXd& move) const;
    [[nodiscard]] double misfit(const Unknowns& at, double cap, bool with_unused = false) const;
    [[nodiscard]] double cost_of_doubt() const;
    [[nodiscard]] double expected_variance(const Observation& seen) const;
    [[nodiscard]] std::optional<double> residual(const HangModel::Hung& hung, std::size_t observation) const;

    HangEvidence evidence_;
    Unknowns x_;
    std::vector<Row> rows_;
    bool glances_ = false;
    double kept_ = 0.0;  // weight that keeps the aims near the plan to the end
    double held_ = 0.0;  // weight that keeps the aims near the plan while all else settles
    NormalEquations normal_;
    Covariance covariance_;
};

}  // namespace proofwalk::verify
