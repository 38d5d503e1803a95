#include "walk/route/changeover.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <limits>

namespace proofwalk::walk::route {
namespace {

constexpr double never = std::numeric_limits<double>::infinity();
constexpr std::size_t most_quick = 32;

// A sequence of carries in fixed arrays, for the quick form. Its legs: leg 2k leads from the carry before to the start of
// carry k, leg 2k+1 is carry k itself.
class Sequence {
public:
    Sequence(const Distances& distances, std::size_t crew_at) : distances_(distances), crew_at_(crew_at) {}

    void fill(std::span<const std::size_t> stands, std::span<const std::size_t> wanted) {
        std::array<bool, most_quick> taken{};
        for (const std::size_t place : wanted) {
            double least = never;
            std::size_t best_at = 0, best_stand = 0;
            for (std::size_t stand = 0; stand < stands.size(); ++stand) {
                if (taken[stand]) continue;
                for (std::size_t at = 0; at <= size_; ++at)
                    if (const double cost = insertion(at, {stands[stand], place}); cost < least) {
                        least = cost;
                        best_at = at;
                        best_stand = stand;
                    }
            }
            taken[best_stand] = true;
            for (std::size_t index = size_; index > best_at; --index) carries_[index] = carries_[index - 1];
            carries_[best_at] = {stands[best_stand], place};
            ++size_;
        }
    }

    // Exchanges two starts, two ends or two whole carries while that saves time.
    void improve() {
        for (bool better = true; better;) {
            better = false;
            for (std::size_t first = 0; first + 1 < size_; ++first)
                for (std::size_t second = first + 1; second < size_; ++second)
                    for (int what = 1; what <= 3; ++what) {
                        const double before = around(first, second);
                        exchange(first, second, what);
                        if (around(first, second) < before - 1e-9)
                            better = true;
                        else
                            exchange(first, second, what);
                    }
        }
    }

    [[nodiscard]] double seconds() const {
        double sum = 0.0;
        for (std::size_t index = 0; index < 2 * size_; ++index) sum += leg(index);
        return sum;
    }
    [[nodiscard]] std::size_t last() const { return carries_[size_ - 1].to; }
    [[nodiscard]] std::vector<Carry> carries() const {
        return {carries_.begin(), carries_.begin() + static_cast<std::ptrdiff_t>(size_)};
    }

private:
    [[nodiscard]] double approach(std::size_t at, std::size_t stand) const {
        return distances_(at > 0 ? carries_[at - 1].to : crew_at_, stand);
    }
    [[nodiscard]] double leg(std::size_t index) const {
        const std::size_t carry = index / 2;
        if (carry >= size_) return 0.0;
        return index % 2 == 0 ? approach(carry, carries_[carry].from) : distances_(carries_[carry].from, carries_[carry].to);
    }
    [[nodiscard]] double insertion(std::size_t at, Carry carry) const {
        double cost = approach(at, carry.from) + distances_(carry.from, carry.to);
        if (at < size_) cost += distances_(carry.to, carries_[at].from) - approach(at, carries_[at].from);
        return cost;
    }
    // The legs that an exchange of two carries can change.
    [[nodiscard]] double around(std::size_t first, std::size_t second) const {
        double sum = leg(2 * first) + leg(2 * first + 1) + leg(2 * second + 1) + leg(2 * second + 2) + leg(2 * second);
        if (second != first + 1) sum += leg(2 * first + 2);
        return sum;
    }
    void exchange(std::size_t first, std::size_t second, int what) {
        if ((what & 1) != 0) std::swap(carries_[first].from, carries_[second].from);
        if ((what & 2) != 0) std::swap(carries_[first].to, carries_[second].to);
    }

    const Distances& distances_;
    std::size_t crew_at_;
    std::size_t size_ = 0;
    std::array<Carry, most_quick> carries_{};
};

}  // namespace

ExactChangeover::ExactChangeover(const Distances& distances, std::vector<std::size_t> stands, std::vector<std::size_t> wanted,
                                 std::size_t crew_at)
    : distances_(distances), stands_(std::move(stands)), wanted_(std::move(wanted)), crew_at_(crew_at) {
    assert(wanted_.size() <= stands_.size() && !wanted_.empty());
    if (all_alike()) {
        // Out and back for every stand but the last, whatever the order.
        double round_trips = distances_(crew_at_, stands_.front());
        for (const std::size_t place : wanted_) round_trips += 2.0 * distances_(stands_.front(), place);
        for (std::size_t last = 0; last < wanted_.size(); ++last)
            outcomes_.push_back({all_filled(), last, round_trips - distances_(stands_.front(), wanted_[last])});
        return;
    }
    fill();
    for (std::uint32_t carried = 1; carried < (1u << stands_.size()); ++carried)
        if (static_cast<std::size_t>(std::popcount(carried)) == wanted_.size() && canonical(carried))
            for (std::size_t last = 0; last < wanted_.size(); ++last)
                outcomes_.push_back({carried, last, best_[index(carried, all_filled(), last)]});
}

bool ExactChangeover::all_alike() const {
    return std::ranges::all_of(stands_, [&](std::size_t stand) { return distances_(stand, stands_.front()) == 0.0; });
}

// Of alike stands the first ones are carried.
bool ExactChangeover::canonical(std::uint32_t carried) const {
    for (std::size_t later = 1; later < stands_.size(); ++later)
        for (std::size_t earlier = 0; earlier < later; ++earlier)
            if ((carried >> later & 1u) != 0 && (carried >> earlier & 1u) == 0 && distances_(stands_[earlier], stands_[later]) == 0.0)
                return false;
    return true;
}

std::size_t ExactChangeover::index(std::uint32_t taken, std::uint32_t filled, std::size_t last) const {
    return ((static_cast<std::size_t>(taken) << wanted_.size()) | filled) * wanted_.size() + last;
}

void ExactChangeover::fill() {
    best_.assign((static_cast<std::size_t>(1) << (stands_.size() + wanted_.size())) * wanted_.size(), never);
    for (std::size_t stand = 0; stand < stands_.size(); ++stand)
        for (std::size_t place = 0; place < wanted_.size(); ++place)
            best_[index(1u << stand, 1u << place, place)] =
                distances_(crew_at_, stands_[stand]) + distances_(stands_[stand], wanted_[place]);
    for (std::uint32_t taken = 1; taken < (1u << stands_.size()); ++taken) {
        if (!canonical(taken)) continue;
        for (std::uint32_t filled = 1; filled < all_filled(); ++filled) {
            if (std::popcount(taken) != std::popcount(filled)) continue;
            for (std::size_t last = 0; last < wanted_.size(); ++last)
                if (const double here = best_[index(taken, filled, last)]; here < never) spread(taken, filled, last, here);
        }
    }
}

void ExactChangeover::spread(std::uint32_t taken, std::uint32_t filled, std::size_t last, double here) {
    for (std::size_t stand = 0; stand < stands_.size(); ++stand) {
        if ((taken >> stand & 1u) != 0) continue;
        const double there = here + distances_(wanted_[last], stands_[stand]);
        for (std::size_t place = 0; place < wanted_.size(); ++place) {
            if ((filled >> place & 1u) != 0) continue;
            double& cost = best_[index(taken | 1u << stand, filled | 1u << place, place)];
            cost = std::min(cost, there + distances_(stands_[stand], wanted_[place]));
        }
    }
}

std::pair<std::size_t, std::size_t> ExactChangeover::step_back(std::uint32_t taken, std::uint32_t filled, std::size_t last,
                                                               double here) const {
    std::pair<std::size_t, std::size_t> nearest{0, 0};
    double off = never;
    for (std::size_t stand = 0; stand < stands_.size(); ++stand) {
        if ((taken >> stand & 1u) == 0) continue;
        const double carry = distances_(stands_[stand], wanted_[last]);
        const std::uint32_t taken_before = taken & ~(1u << stand), filled_before = filled & ~(1u << last);
        const auto consider = [&](double before, std::size_t place) {
            if (const double miss = std::abs(before + carry - here); miss < off) {
                off = miss;
                nearest = {stand, place};
            }
        };
        if (filled_before == 0) consider(distances_(crew_at_, stands_[stand]), 0);
        for (std::size_t place = 0; place < wanted_.size(); ++place)
            if ((filled_before >> place & 1u) != 0)
                consider(best_[index(taken_before, filled_before, place)] + distances_(wanted_[place], stands_[stand]), place);
    }
    return nearest;
}

Changeover ExactChangeover::with(const Outcome& outcome) const {
    Changeover result{outcome.seconds, {}};
    if (best_.empty()) {
        for (std::size_t place = 0; place < wanted_.size(); ++place)
            if (place != outcome.last) result.carries.push_back({stands_[result.carries.size()], wanted_[place]});
        result.carries.push_back({stands_[result.carries.size()], wanted_[outcome.last]});
        return result;
    }
    std::uint32_t taken = outcome.carried, filled = all_filled();
    std::size_t last = outcome.last;
    while (filled != 0) {
        const auto [stand, before] = step_back(taken, filled, last, best_[index(taken, filled, last)]);
        result.carries.push_back({stands_[stand], wanted_[last]});
        taken &= ~(1u << stand);
        filled &= ~(1u << last);
        last = before;
    }
    std::ranges::reverse(result.carries);
    return result;
}

Changeover quick_changeover(const Distances& distances, std::span<const std::size_t> stands,
                            std::span<const std::size_t> wanted, std::size_t crew_at) {
    assert(wanted.size() <= stands.size() && stands.size() <= most_quick);
    Sequence sequence(distances, crew_at);
    sequence.fill(stands, wanted);
    sequence.improve();
    return {sequence.seconds(), sequence.carries()};
}

QuickCost quick_cost(const Distances& distances, std::span<const std::size_t> stands, std::span<const std::size_t> wanted,
                     std::size_t crew_at, bool polished) {
    assert(!wanted.empty() && wanted.size() <= stands.size() && stands.size() <= most_quick);
    Sequence sequence(distances, crew_at);
    sequence.fill(stands, wanted);
    if (polished) sequence.improve();
    return {sequence.seconds(), sequence.last()};
}

double changeover_bound(const Distances& distances, std::span<const std::size_t> stands, std::span<const std::size_t> wanted) {
    // Each new place is reached from some stand and, but for the last, left towards some stand.
    const auto there_and_back = [&](std::span<const std::size_t> these, std::span<const std::size_t> others) {
        double sum = 0.0, longest = 0.0;
        for (const std::size_t one : these) {
            double nearest = never;
            for (const std::size_t other : others) nearest = std::min(nearest, distances(other, one));
            sum += nearest;
            longest = std::max(longest, nearest);
        }
        return 2.0 * sum - longest;
    };
    const double by_place = there_and_back(wanted, stands);
    // When every stand moves, the same holds of stands: each is carried somewhere and, but for the first, walked to.
    return stands.size() == wanted.size() ? std::max(by_place, there_and_back(stands, wanted)) : by_place;
}

}  // namespace proofwalk::walk::route
