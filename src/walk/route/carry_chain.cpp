#include "walk/route/carry_chain.hpp"

#include <algorithm>
#include <cassert>
#include <limits>

namespace proofwalk::walk::route {
namespace {

constexpr std::size_t none = std::numeric_limits<std::size_t>::max();

}  // namespace

CarryChain::CarryChain(const Ground& ground, const std::vector<std::vector<std::size_t>>& groups) : ground_(&ground) {
    std::vector<std::size_t> stands = ground.first_stands(), spare;
    std::size_t crew_at = ground.crew_node();
    starts_.push_back(0);
    for (const auto& group : groups) {
        const Changeover changeover = quick_changeover(ground.distances(), stands, group, crew_at);
        std::vector<std::size_t> left = stands;
        for (const Carry& carry : changeover.carries) {
            from_.push_back(carry.from);
            to_.push_back(carry.to);
            round_of_.push_back(starts_.size() - 1);
            left.erase(std::ranges::find(left, carry.from));
        }
        crew_at = to_.back();
        stands = group;
        spare = left;
        starts_.push_back(to_.size());
    }
    from_.insert(from_.end(), spare.begin(), spare.end());

    const std::size_t nodes = ground.distances().size();
    carry_to_.assign(nodes, none);
    carry_from_.assign(nodes, none);
    for (std::size_t carry = 0; carry < to_.size(); ++carry) carry_to_[to_[carry]] = carry;
    for (std::size_t slot = 0; slot < from_.size(); ++slot) carry_from_[from_[slot]] = slot;
    for (std::size_t carry = 0; carry < to_.size(); ++carry) cost_.push_back(cost_of(carry));

    for (const CircuitSet& set : ground.errand().circuits) {
        auto& list = circuits_of_.emplace_back();
        for (std::size_t circuit = 0; circuit < set.size(); ++circuit)
            if (set.test(circuit)) list.push_back(static_cast<std::uint16_t>(circuit));
        if (!list.empty()) circuits_ = std::max<std::size_t>(circuits_, list.back() + 1u);
    }
    heard_.assign(rounds() * circuits_, 0);
    for (std::size_t circuit = 0; circuit < circuits_; ++circuit) set_of_.push_back(ground.set_of(circuit));
    takes_.assign(rounds() * (ground.errand().together.size() + 1), 0);
    for (std::size_t carry = 0; carry < to_.size(); ++carry) move_circuits(to_[carry], round_of_[carry], 1);
}

double CarryChain::seconds() const {
    double sum = taking_;
    for (const double cost : cost_) sum += cost;
    return sum;
}

double CarryChain::cost_of(std::size_t carry) const {
    const Distances& distances = ground_->distances();
    return distances(carry == 0 ? ground_->crew_node() : to_[carry - 1], from_[carry]) + distances(from_[carry], to_[carry]);
}

void CarryChain::touch(std::size_t carry) {
    if (carry >= to_.size()) return;
    for (const auto& [known, cost] : touched_)
        if (known == carry) return;
    touched_.emplace_back(carry, cost_[carry]);
}

// The costs of all carries that were touched, anew.
double CarryChain::settled() {
    double difference = taking_ - taking_before_;
    for (const auto& [carry, before] : touched_) {
        cost_[carry] = cost_of(carry);
        difference += cost_[carry] - before;
    }
    return difference;
}

void CarryChain::move_circuits(std::size_t place, std::size_t round, int by) {
    for (const std::uint16_t circuit : circuits_of_[place]) {
        std::uint16_t& count = heard_[round * circuits_ + circuit];
        const std::size_t set = set_of_[circuit];
        std::uint16_t& takes = takes_[round * (ground_->errand().together.size() + 1) + set];
        if (by > 0 && count++ == 0) taking_ += ground_->added_s(set, takes++);
        if (by < 0 && --count == 0) taking_ -= ground_->added_s(set, --takes);
    }
}

// Only the names in the chain.
void CarryChain::relabel(std::size_t a, std::size_t b) {
    std::swap(to_[carry_to_[a]], to_[carry_to_[b]]);
    std::swap(carry_to_[a], carry_to_[b]);
    const std::size_t slot_a = carry_from_[a], slot_b = carry_from_[b];
    if (slot_a != none) from_[slot_a] = b;
    if (slot_b != none) from_[slot_b] = a;
    std::swap(carry_from_[a], carry_from_[b]);
}

void CarryChain::exchange(std::size_t a, std::size_t b) {
    const std::size_t round_a = round_of_[carry_to_[a]], round_b = round_of_[carry_to_[b]];
    for (const std::size_t place : {a, b}) {
        touch(carry_to_[place]);
        touch(carry_to_[place] + 1);
        if (carry_from_[place] != none) touch(carry_from_[place]);
    }
    relabel(a, b);
    if (round_a == round_b) return;
    move_circuits(a, round_a, -1);
    move_circuits(b, round_b, -1);
    move_circuits(a, round_b, 1);
    move_circuits(b, round_a, 1);
}

double CarryChain::swap_places(std::size_t a, std::size_t b) {
    touched_.clear();
    taking_before_ = taking_;
    last_ = Last::places;
    last_first_ = a;
    last_second_ = b;
    exchange(a, b);
    return settled();
}

double CarryChain::swap_ends(std::size_t first, std::size_t second) {
    assert(round_of_[first] == round_of_[second]);
    touched_.clear();
    taking_before_ = taking_;
    last_ = Last::ends;
    last_first_ = first;
    last_second_ = second;
    for (const std::size_t carry : {first, second}) {
        touch(carry);
        touch(carry + 1);
    }
    std::swap(to_[first], to_[second]);
    carry_to_[to_[first]] = first;
    carry_to_[to_[second]] = second;
    return settled();
}

double CarryChain::swap_stands(std::size_t first, std::size_t second) {
    touched_.clear();
    taking_before_ = taking_;
    last_ = Last::stands;
    last_first_ = first;
    last_second_ = second;
    touch(first);
    touch(second);
    std::swap(from_[first], from_[second]);
    carry_from_[from_[first]] = first;
    carry_from_[from_[second]] = second;
    return settled();
}

double CarryChain::swap_carries(std::size_t first, std::size_t second) {
    assert(round_of_[first] == round_of_[second]);
    touched_.clear();
    taking_before_ = taking_;
    last_ = Last::carries;
    last_first_ = first;
    last_second_ = second;
    for (const std::size_t carry : {first, second}) {
        touch(carry);
        touch(carry + 1);
    }
    std::swap(to_[first], to_[second]);
    std::swap(from_[first], from_[second]);
    for (const std::size_t carry : {first, second}) {
        carry_to_[to_[carry]] = carry;
        carry_from_[from_[carry]] = carry;
    }
    return settled();
}

double CarryChain::swap_rounds(std::size_t first, std::size_t second) {
    assert(round_size(first) == round_size(second));
    touched_.clear();
    taking_before_ = taking_;
    last_ = Last::rounds;
    last_first_ = first;
    last_second_ = second;
    for (std::size_t index = 0; index < round_size(first); ++index)
        exchange(to_[starts_[first] + index], to_[starts_[second] + index]);
    return settled();
}

void CarryChain::undo() {
    const auto swap_back = [&](std::vector<std::size_t>& ends, std::vector<std::size_t>& where) {
        std::swap(ends[last_first_], ends[last_second_]);
        where[ends[last_first_]] = last_first_;
        where[ends[last_second_]] = last_second_;
    };
    const auto back = [&](std::size_t a, std::size_t b) {
        const std::size_t round_a = round_of_[carry_to_[a]], round_b = round_of_[carry_to_[b]];
        relabel(a, b);
        if (round_a == round_b) return;
        move_circuits(a, round_a, -1);
        move_circuits(b, round_b, -1);
        move_circuits(a, round_b, 1);
        move_circuits(b, round_a, 1);
    };
    switch (last_) {
        case Last::none: return;
        case Last::places: back(last_first_, last_second_); break;
        case Last::ends: swap_back(to_, carry_to_); break;
        case Last::stands: swap_back(from_, carry_from_); break;
        case Last::carries:
            swap_back(to_, carry_to_);
            swap_back(from_, carry_from_);
            break;
        case Last::rounds:
            for (std::size_t index = 0; index < round_size(last_first_); ++index)
                back(to_[starts_[last_first_] + index], to_[starts_[last_second_] + index]);
            break;
    }
    taking_ = taking_before_;
    for (const auto& [carry, cost] : touched_) cost_[carry] = cost;
    last_ = Last::none;
}

std::vector<std::vector<std::size_t>> CarryChain::groups() const {
    std::vector<std::vector<std::size_t>> all;
    for (std::size_t round = 0; round < rounds(); ++round)
        all.emplace_back(to_.begin() + static_cast<std::ptrdiff_t>(starts_[round]), to_.begin() + static_cast<std::ptrdiff_t>(starts_[round + 1]));
    return all;
}

std::vector<Changeover> CarryChain::changeovers() const {
    std::vector<Changeover> all;
    for (std::size_t round = 0; round < rounds(); ++round) {
        Changeover& changeover = all.emplace_back();
        for (std::size_t carry = starts_[round]; carry < starts_[round + 1]; ++carry) {
            changeover.seconds += cost_of(carry);
            changeover.carries.push_back({from_[carry], to_[carry]});
        }
    }
    return all;
}

}  // namespace proofwalk::walk::route
