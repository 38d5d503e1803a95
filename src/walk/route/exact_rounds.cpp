// Branch and bound over the order of rounds: each branch is a group of unvisited places, then a set of stands that are
// carried there and the place where the crew ends; the same situation reached at a higher cost is not followed again.

#include <algorithm>
#include <bit>
#include <cassert>
#include <cstdint>
#include <limits>
#include <map>
#include <tuple>

#include "walk/route/ground.hpp"

namespace proofwalk::walk::route {
namespace {

using Mask = std::uint32_t;

class Search {
public:
    explicit Search(const Errand& errand) : ground_(errand), all_((Mask{1} << ground_.places()) - 1) {
        const Itinerary start = searched_rounds(errand, 0.3, 1);
        best_seconds_ = start.seconds + 1e-9;
        for (const Stop& stop : start.stops) best_.push_back(stop.places);
    }

    std::vector<std::vector<std::size_t>> solve() {
        follow(0, ground_.first_stands(), ground_.crew_node(), 0.0);
        return best_;
    }

private:
    struct Branch {
        Mask group = 0;
        double bound = 0.0, fixed_s = 0.0;  // fixed: placing and taking
    };
    using Situation = std::tuple<Mask, std::vector<std::size_t>, std::size_t>;

    [[nodiscard]] static std::vector<std::size_t> members(Mask mask) {
        std::vector<std::size_t> places;
        for (; mask != 0; mask &= mask - 1) places.push_back(static_cast<std::size_t>(std::countr_zero(mask)));
        return places;
    }

    // What is left costs at least: every place is reached from somewhere and, but for one a round, left for somewhere.
    [[nodiscard]] double rest_bound(Mask rest) const {
        if (rest == 0) return 0.0;
        CircuitSet circuits;
        double carrying = 0.0, longest = 0.0;
        for (const std::size_t place : members(rest)) {
            circuits |= ground_.errand().circuits[place];
            carrying += ground_.nearest_s(place);
            longest = std::max(longest, ground_.nearest_s(place));
        }
        const auto count = static_cast<std::size_t>(std::popcount(rest));
        const double rounds = static_cast<double>((count + ground_.mics() - 1) / ground_.mics());
        return carrying + std::max(0.0, carrying - rounds * longest) + ground_.placing_s(count) + ground_.taking_s(circuits);
    }

    void add_branches(Mask visited, const std::vector<std::size_t>& stands, double seconds,
                      std::vector<Branch>& branches) const {
        const std::size_t left = ground_.places() - static_cast<std::size_t>(std::popcount(visited));
        const std::size_t size = std::min(left, ground_.mics());
        const Mask rest = all_ & ~visited;
        for (Mask group = rest;; group = (group - 1) & rest) {
            if (static_cast<std::size_t>(std::popcount(group)) == size) {
                const std::vector<std::size_t> wanted = members(group);
                CircuitSet circuits;
                for (const std::size_t place : wanted) circuits |= ground_.errand().circuits[place];
                const double fixed_s = ground_.placing_s(size) + ground_.taking_s(circuits);
                const double later = rest_bound(rest & ~group);
                const double bound = seconds + fixed_s + later + changeover_bound(ground_.distances(), stands, wanted);
                if (bound < best_seconds_) branches.push_back({group, bound, fixed_s});
            }
            if (group == 0) break;
        }
    }

    void follow(Mask visited, const std::vector<std::size_t>& stands, std::size_t crew_at, double seconds) {
        if (visited == all_) {
            if (seconds < best_seconds_) {
                best_seconds_ = seconds;
                best_ = groups_;
            }
            return;
        }
        const auto [known, fresh] = reached_.try_emplace({visited, stands, crew_at}, seconds);
        if (!fresh) {
            if (known->second <= seconds) return;
            known->second = seconds;
        }
        std::vector<Branch> branches;
        add_branches(visited, stands, seconds, branches);
        std::ranges::sort(branches, {}, &Branch::bound);
        for (const Branch& branch : branches) {
            if (branch.bound >= best_seconds_) break;
            take(branch, visited, stands, crew_at, seconds);
        }
    }

    void take(const Branch& branch, Mask visited, const std::vector<std::size_t>& stands, std::size_t crew_at, double seconds) {
        const std::vector<std::size_t> wanted = members(branch.group);
        const double later = rest_bound(all_ & ~visited & ~branch.group);
        std::vector<ExactChangeover::Outcome> outcomes = changeover(stands, wanted, crew_at);
        std::ranges::sort(outcomes, {}, &ExactChangeover::Outcome::seconds);
        groups_.push_back(wanted);
        for (const auto& outcome : outcomes) {
            const double then = seconds + branch.fixed_s + outcome.seconds;
            if (then + later >= best_seconds_) break;
            std::vector<std::size_t> after = wanted;
            for (std::size_t index = 0; index < stands.size(); ++index)
                if ((outcome.carried >> index & 1u) == 0) after.push_back(stands[index]);
            std::ranges::sort(after);
            follow(visited | branch.group, after, wanted[outcome.last], then);
        }
        groups_.pop_back();
    }

    const std::vector<ExactChangeover::Outcome>& changeover(const std::vector<std::size_t>& stands,
                                                            const std::vector<std::size_t>& wanted, std::size_t crew_at) {
        const auto [known, fresh] = changeovers_.try_emplace({stands, wanted, crew_at});
        if (fresh) known->second = ExactChangeover(ground_.distances(), stands, wanted, crew_at).outcomes();
        return known->second;
    }

    Ground ground_;
    Mask all_;
    double best_seconds_ = std::numeric_limits<double>::infinity();
    std::vector<std::vector<std::size_t>> best_, groups_;
    std::map<Situation, double> reached_;
    std::map<std::tuple<std::vector<std::size_t>, std::vector<std::size_t>, std::size_t>, std::vector<ExactChangeover::Outcome>>
        changeovers_;
};

}  // namespace

Itinerary exact_rounds(const Errand& errand) {
    assert(errand.places.size() <= exact_places);
    if (errand.places.empty()) return {{}, 0.0, true};
    Itinerary best = itinerary_of(errand, Search(errand).solve(), true);
    best.proven = true;
    return best;
}

}  // namespace proofwalk::walk::route
