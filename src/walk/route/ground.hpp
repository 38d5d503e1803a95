// What the solvers of one errand share: nodes, distances and the cost of a round.
#pragma once

#include <vector>

#include "walk/route/rounds.hpp"

namespace proofwalk::walk::route {

class Ground {
public:
    explicit Ground(const Errand& errand);

    [[nodiscard]] const Errand& errand() const { return errand_; }
    [[nodiscard]] const Distances& distances() const { return distances_; }
    [[nodiscard]] std::size_t places() const { return errand_.places.size(); }
    [[nodiscard]] const std::vector<std::size_t>& first_stands() const { return first_stands_; }
    [[nodiscard]] std::size_t crew_node() const { return crew_node_; }
    [[nodiscard]] std::size_t mics() const { return first_stands_.size(); }
    [[nodiscard]] std::size_t rounds() const { return (places() + mics() - 1) / mics(); }

    [[nodiscard]] double placing_s(std::size_t stands) const;
    [[nodiscard]] double taking_s(const CircuitSet& circuits) const;
    // What one more circuit costs where `beside` others of its set sound in the same round.
    [[nodiscard]] double added_s(std::size_t set, std::size_t beside) const;
    // The set of circuits that it sounds together with: from 0; errand().together.size() for one that sounds alone.
    [[nodiscard]] std::size_t set_of(std::size_t circuit) const;
    // From a place to the nearest other node.
    [[nodiscard]] double nearest_s(std::size_t place) const { return nearest_s_[place]; }

private:
    Errand errand_;
    std::vector<std::size_t> first_stands_;
    std::size_t crew_node_;
    Distances distances_;
    std::vector<double> nearest_s_;
};

}  // namespace proofwalk::walk::route
