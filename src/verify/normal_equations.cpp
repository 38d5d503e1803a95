#include "verify/normal_equations.hpp"

#include <algorithm>
#include <limits>

namespace proofwalk::verify {
namespace {

using Eigen::Index;

// All figures of one vector, shared unknowns and positions, in the order of the unknowns.
Eigen::VectorXd woven(const Eigen::VectorXd& shared, const Eigen::VectorXd& places, std::size_t first_place) {
    const auto first = static_cast<Index>(first_place);
    Eigen::VectorXd all(shared.size() + places.size());
    all << shared.head(first), places, shared.tail(shared.size() - first);
    return all;
}

}  // namespace

NormalEquations::NormalEquations(std::size_t size, std::size_t first_place, std::size_t positions) : first_place_(first_place), places_(positions) {
    const auto shared = static_cast<Index>(size - 3 * positions);
    matrix_.setZero(shared, shared);
    gradient_.setZero(shared);
    for (Place& place : places_) place.with_shared.setZero(shared, 3);
}

void NormalEquations::add(const Row& row, double weight, double residual) {
    Row of_place, of_shared;
    for (const Row::Term& term : row) {
        if (is_place(term.at)) of_place.add(term.at - first_place_, term.slope);
        else of_shared.add(static_cast<std::size_t>(shared(term.at)), term.slope);
    }
    for (const Row::Term& b : of_shared) {
        const auto column = static_cast<Index>(b.at);
        gradient_[column] += weight * b.slope * residual;
        for (const Row::Term& a : of_shared)
            if (a.at >= b.at) matrix_(static_cast<Index>(a.at), column) += weight * b.slope * a.slope;
    }
    if (of_place.size() == 0) return;
    Place& place = places_[of_place[0].at / 3];
    for (const Row::Term& a : of_place) {
        const auto axis = static_cast<Index>(a.at % 3);
        place.gradient[axis] += weight * a.slope * residual;
        for (const Row::Term& b : of_place) place.own(axis, static_cast<Index>(b.at % 3)) += weight * a.slope * b.slope;
        for (const Row::Term& b : of_shared) place.with_shared(static_cast<Index>(b.at), axis) += weight * a.slope * b.slope;
    }
    for (const Row::Term& b : of_shared) {
        const auto other = static_cast<Index>(b.at);
        const auto known = std::ranges::lower_bound(place.touched, other);
        if (known == place.touched.end() || *known != other) place.touched.insert(known, other);
    }
}

void NormalEquations::add_prior(std::size_t unknown, double weight, double residual) {
    if (is_place(unknown)) {
        Place& place = places_[(unknown - first_place_) / 3];
        const auto axis = static_cast<Index>((unknown - first_place_) % 3);
        place.own(axis, axis) += weight;
        place.gradient[axis] += weight * residual;
        return;
    }
    matrix_(shared(unknown), shared(unknown)) += weight;
    gradient_[shared(unknown)] += weight * residual;
}

NormalEquations::Reduced NormalEquations::reduced(double damping) const {
    Reduced reduced{matrix_, gradient_, {}};
    reduced.matrix.diagonal() *= 1.0 + damping;
    for (const Place& place : places_) {
        Eigen::Matrix3d own = place.own;
        own.diagonal() *= 1.0 + damping;
        const Eigen::Matrix3d inverse = reduced.inverse.emplace_back(own.inverse());
        for (std::size_t j = 0; j < place.touched.size(); ++j) {
            const Index column = place.touched[j];
            const Eigen::RowVector3d taken = place.with_shared.row(column) * inverse;
            reduced.gradient[column] -= taken.dot(place.gradient);
            double* const of_column = &reduced.matrix(0, column);
            for (std::size_t i = j; i < place.touched.size(); ++i) {
                const Index row = place.touched[i];
                of_column[row] -= taken.dot(place.with_shared.row(row));
            }
        }
    }
    return reduced;
}

std::optional<Eigen::VectorXd> NormalEquations::solve(double damping) const {
    Reduced left = reduced(damping);
    const Eigen::LLT<Eigen::Ref<Eigen::MatrixXd>> factors(left.matrix);
    if (factors.info() != Eigen::Success) return std::nullopt;
    const Eigen::VectorXd move = factors.solve(left.gradient);
    Eigen::VectorXd moved(static_cast<Index>(3 * places_.size()));
    for (std::size_t p = 0; p < places_.size(); ++p) {
        Eigen::Vector3d rest = places_[p].gradient;
        for (const Index i : places_[p].touched) rest -= places_[p].with_shared.row(i).transpose() * move[i];
        moved.segment<3>(static_cast<Index>(3 * p)) = left.inverse[p] * rest;
    }
    return woven(move, moved, first_place_);
}

Covariance NormalEquations::inverse() const {
    Reduced left = reduced(0.0);
    Covariance covariance;
    covariance.first_place_ = first_place_;
    covariance.places_.resize(places_.size());
    const Index size = left.matrix.rows();
    const Eigen::LLT<Eigen::Ref<Eigen::MatrixXd>> factors(left.matrix);
    covariance.shared_ = factors.info() == Eigen::Success ? Eigen::MatrixXd(factors.solve(Eigen::MatrixXd::Identity(size, size)))
                                                          : Eigen::MatrixXd::Constant(size, size, std::numeric_limits<double>::quiet_NaN());
    for (std::size_t p = 0; p < places_.size(); ++p) {
        Covariance::Place& place = covariance.places_[p];
        place.with_shared.setZero(size, 3);
        place.own = left.inverse[p];
        for (const Index i : places_[p].touched) {
            const Eigen::RowVector3d taken = places_[p].with_shared.row(i) * left.inverse[p];
            place.with_shared.noalias() -= covariance.shared_.col(i) * taken;
        }
        for (const Index i : places_[p].touched)
            place.own.noalias() -= left.inverse[p] * places_[p].with_shared.row(i).transpose() * place.with_shared.row(i);
    }
    return covariance;
}

Eigen::VectorXd Covariance::pull(const Row& figure) const { return pull(std::vector<Row::Term>(figure.begin(), figure.end())); }

Eigen::VectorXd Covariance::pull(const std::vector<Row::Term>& figure) const {
    const std::size_t of_places = 3 * places_.size();
    Eigen::VectorXd shared = Eigen::VectorXd::Zero(shared_.rows()), places = Eigen::VectorXd::Zero(static_cast<Index>(of_places));
    for (const Row::Term& term : figure) {
        const auto at = static_cast<Index>(term.at < first_place_ ? term.at : term.at - of_places);
        shared += term.slope * shared_.col(at);
        for (std::size_t p = 0; p < places_.size(); ++p)
            places.segment<3>(static_cast<Index>(3 * p)) += term.slope * places_[p].with_shared.row(at).transpose();
    }
    return woven(shared, places, first_place_);
}

double Covariance::variance(const Row& reading) const {
    const std::size_t of_places = 3 * places_.size();
    double sum = 0.0;
    for (const Row::Term& a : reading)
        for (const Row::Term& b : reading) {
            const std::size_t place_a = a.at - first_place_, place_b = b.at - first_place_;
            const auto shared = [&](std::size_t at) { return static_cast<Index>(at < first_place_ ? at : at - of_places); };
            double together = 0.0;
            if (place_a < of_places && place_b < of_places)
                together = places_[place_a / 3].own(static_cast<Index>(place_a % 3), static_cast<Index>(place_b % 3));
            else if (place_a < of_places)
                together = places_[place_a / 3].with_shared(shared(b.at), static_cast<Index>(place_a % 3));
            else if (place_b < of_places)
                together = places_[place_b / 3].with_shared(shared(a.at), static_cast<Index>(place_b % 3));
            else
                together = shared_(shared(a.at), shared(b.at));
            sum += a.slope * b.slope * together;
        }
    return sum;
}

}  // namespace proofwalk::verify
