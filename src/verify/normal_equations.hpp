// Least squares whose unknowns are mostly shared, but for three of each position (where its mic stands) that meet only what
// was heard there: those are solved for first (a Schur complement), so that the rest stays small and dense.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

#include <Eigen/Dense>

namespace proofwalk::verify {

// What the unknowns that count change one reading by. An unknown may stand in it twice.
class Row {
public:
    struct Term {
        std::size_t at = 0;
        double slope = 0.0;
    };
    void add(std::size_t at, double slope) { terms_[count_++] = {at, slope}; }
    void scale(double by) {
        for (std::size_t t = 0; t < count_; ++t) terms_[t].slope *= by;
    }
    [[nodiscard]] std::size_t size() const { return count_; }
    [[nodiscard]] const Term& operator[](std::size_t term) const { return terms_[term]; }
    [[nodiscard]] const Term* begin() const { return terms_.data(); }
    [[nodiscard]] const Term* end() const { return terms_.data() + count_; }

private:
    std::array<Term, 24> terms_{};
    std::size_t count_ = 0;
};

// Inverse of the normal matrix: all of the shared unknowns, of the positions what they have in common with those.
class Covariance {
public:
    // Covariance of every unknown with a figure that these shared unknowns make up (none of a position among them).
    [[nodiscard]] Eigen::VectorXd pull(const Row& figure) const;
    [[nodiscard]] Eigen::VectorXd pull(const std::vector<Row::Term>& figure) const;
    [[nodiscard]] double variance(const Row& reading) const;

private:
    friend class NormalEquations;
    struct Place {
        Eigen::MatrixX3d with_shared;
        Eigen::Matrix3d own;
    };
    std::size_t first_place_ = 0;
    Eigen::MatrixXd shared_;
    std::vector<Place> places_;
};

class NormalEquations {
public:
    NormalEquations() = default;
    // Of `size` unknowns the three of each position stand together from `first_place` on.
    NormalEquations(std::size_t size, std::size_t first_place, std::size_t positions);

    void add(const Row& row, double weight, double residual);
    void add_prior(std::size_t unknown, double weight, double residual);  // residual: of the unknown itself
    // Nothing where the matrix is not positive definite (or no number).
    [[nodiscard]] std::optional<Eigen::VectorXd> solve(double damping = 0.0) const;
    [[nodiscard]] Covariance inverse() const;  // of no numbers where there is none

private:
    struct Place {
        Eigen::Matrix3d own = Eigen::Matrix3d::Zero();
        Eigen::Vector3d gradient = Eigen::Vector3d::Zero();
        Eigen::Matrix<double, Eigen::Dynamic, 3, Eigen::RowMajor> with_shared;
        std::vector<Eigen::Index> touched;  // shared unknowns that meet it, in order
    };
    // The shared unknowns alone, each position's taken up: lower triangle of their matrix and their gradient.
    struct Reduced {
        Eigen::MatrixXd matrix;
        Eigen::VectorXd gradient;
        std::vector<Eigen::Matrix3d> inverse;  // of each position's own
    };
    [[nodiscard]] Reduced reduced(double damping) const;
    [[nodiscard]] bool is_place(std::size_t unknown) const { return unknown - first_place_ < 3 * places_.size(); }
    [[nodiscard]] Eigen::Index shared(std::size_t unknown) const {
        return static_cast<Eigen::Index>(unknown < first_place_ ? unknown : unknown - 3 * places_.size());
    }

    std::size_t first_place_ = 0;
    Eigen::MatrixXd matrix_;  // lower triangle
    Eigen::VectorXd gradient_;
    std::vector<Place> places_;
};

}  // namespace proofwalk::verify
