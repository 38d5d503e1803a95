// A whole walk as one chain of carries: walk to a stand, carry it to its new place, walk to the next, round after round.
// The stands of a round are the places of the round before, so a place stands in the chain twice: where a stand comes to,
// and where it is fetched from. Every change of the chain is worked out from the few carries that it touches.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "walk/route/ground.hpp"

namespace proofwalk::walk::route {

class CarryChain {
public:
    // Groups in their order, all as large as there are mics but the last. Keeps a reference to the ground.
    CarryChain(const Ground& ground, const std::vector<std::vector<std::size_t>>& groups);

    [[nodiscard]] std::size_t places() const { return to_.size(); }
    [[nodiscard]] std::size_t rounds() const { return starts_.size() - 1; }
    [[nodiscard]] std::size_t round_begin(std::size_t round) const { return starts_[round]; }
    [[nodiscard]] std::size_t round_size(std::size_t round) const { return starts_[round + 1] - starts_[round]; }
    [[nodiscard]] std::size_t round_of(std::size_t carry) const { return round_of_[carry]; }
    [[nodiscard]] std::size_t spares() const { return from_.size() - to_.size(); }  // stands that the last round leaves where they are

    [[nodiscard]] double seconds() const;  // walking and taking; placing is the same for every chain

    // Each change returns the difference of seconds and can be taken back by `undo` until the next one.
    double swap_places(std::size_t a, std::size_t b);           // two places change their turns
    double swap_ends(std::size_t first, std::size_t second);    // two carries of one round change where they go
    double swap_stands(std::size_t first, std::size_t second);  // ... which stand they take; `second` may be a spare (from places())
    double swap_carries(std::size_t first, std::size_t second); // ... their turns
    double swap_rounds(std::size_t first, std::size_t second);  // alike in size
    void undo();

    [[nodiscard]] std::vector<std::vector<std::size_t>> groups() const;
    [[nodiscard]] std::vector<Changeover> changeovers() const;  // one a round

private:
    void touch(std::size_t carry);
    void relabel(std::size_t a, std::size_t b);
    void exchange(std::size_t a, std::size_t b);  // two places, with their circuits
    void move_circuits(std::size_t place, std::size_t round, int by);
    double settled();
    [[nodiscard]] double cost_of(std::size_t carry) const;

    enum class Last : std::uint8_t { none, places, ends, stands, carries, rounds };

    const Ground* ground_;
    std::vector<std::size_t> from_, to_, starts_, round_of_;
    std::vector<std::size_t> carry_to_, carry_from_;  // by node; carry_from_ may be a spare, or none
    std::vector<double> cost_;
    std::vector<std::pair<std::size_t, double>> touched_;  // carry, its cost before
    std::vector<std::vector<std::uint16_t>> circuits_of_;  // place
    std::vector<std::uint16_t> heard_;                     // round x circuit: how many of its places want it
    std::vector<std::size_t> set_of_;                      // circuit
    std::vector<std::uint16_t> takes_;                     // round x set of circuits that sound together
    std::size_t circuits_ = 0;
    double taking_ = 0.0, taking_before_ = 0.0;
    Last last_ = Last::none;
    std::size_t last_first_ = 0, last_second_ = 0;
};

}  // namespace proofwalk::walk::route
