// Simulated annealing over groups and their order, from two beginnings: neighbouring places in one round (few circuits a
// round) and places spread over the room, one a mic's own patch (short carries).

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <future>
#include <random>

#include "walk/route/ground.hpp"

namespace proofwalk::walk::route {
namespace {

using Groups = std::vector<std::vector<std::size_t>>;

constexpr std::size_t exact_stands = 6;      // up to here the last polish uses exact changeovers
constexpr double base_steps = 8000.0;        // of each beginning, at effort 1

// Works with a cost that splits into one part a round: the changeover into it from the round before, beginning where the
// crew was when that round was last worked out. The true cost is worked out once at the end.
class Annealer {
public:
    Annealer(const Ground& ground, unsigned seed) : ground_(ground), random_(seed) {}

    // Improves `groups`: roughly while it is hot, with exact exchanges while it cools.
    void run(Groups& groups, std::size_t steps) {
        work_out(groups);
        const double hot = 0.01 * total();
        anneal(groups, 3 * steps, hot, 0.1 * hot);
        polished_ = true;
        anneal(groups, steps, 0.1 * hot, 0.015 * hot);
    }

private:
    void anneal(Groups& groups, std::size_t steps, double hot, double cold) {
        work_out(groups);
        double now = total(), least = now, temperature = hot;
        Groups best = groups;
        const double cooling = std::pow(cold / hot, 1.0 / static_cast<double>(std::max<std::size_t>(steps, 1)));
        for (std::size_t step = 0; step < steps; ++step, temperature *= cooling) {
            const Change change = propose(groups);
            apply(groups, change);
            const double then = now + update(groups, change);
            if (then <= now || uniform() < std::exp((now - then) / temperature)) {
                now = then;
                if (now < least - 1e-9) {
                    least = now;
                    best = groups;
                }
            } else {
                apply(groups, change);  // every change undoes itself
                for (std::size_t index = 0; index < touched_.size(); ++index) parts_[touched_[index]] = before_[index];
            }
        }
        groups = std::move(best);
    }

    // Two places change groups, or two whole groups change turns.
    struct Change {
        std::size_t first_group = 0, first = 0, second_group = 0, second = 0;
        bool whole_groups = false;
    };

    double uniform() { return static_cast<double>(random_() >> 11) * 0x1.0p-53; }
    std::size_t below(std::size_t count) { return static_cast<std::size_t>(random_() % count); }

    struct Part {
        double seconds = 0.0;
        std::size_t last = 0;  // where the crew ends
    };

    [[nodiscard]] double total() const {
        double sum = 0.0;
        for (const Part& part : parts_) sum += part.seconds;
        return sum;
    }
    void work_out(const Groups& groups) {
        parts_.assign(groups.size(), {});
        for (std::size_t round = 0; round < groups.size(); ++round) parts_[round] = part(groups, round);
    }
    [[nodiscard]] Part part(const Groups& groups, std::size_t round) const {
        const auto& stands = round == 0 ? ground_.first_stands() : groups[round - 1];
        const std::size_t crew_at = round == 0 ? ground_.crew_node() : parts_[round - 1].last;
        CircuitSet circuits;
        for (const std::size_t place : groups[round]) circuits |= ground_.errand().circuits[place];
        const QuickCost carried = quick_cost(ground_.distances(), stands, groups[round], crew_at, polished_);
        return {carried.seconds + ground_.placing_s(groups[round].size()) + ground_.taking_s(circuits), carried.last};
    }
    // Works out the parts that a change has touched; returns the difference of the whole.
    double update(const Groups& groups, const Change& change) {
        touched_.clear();
        before_.clear();
        double difference = 0.0;
        std::array<std::size_t, 4> rounds{change.first_group, change.first_group + 1, change.second_group, change.second_group + 1};
        std::ranges::sort(rounds);  // a round takes up where the one before it ends
        for (const std::size_t round : rounds) {
            if (round >= groups.size() || std::ranges::find(touched_, round) != touched_.end()) continue;
            touched_.push_back(round);
            before_.push_back(parts_[round]);
            parts_[round] = part(groups, round);
            difference += parts_[round].seconds - before_.back().seconds;
        }
        return difference;
    }

    Change propose(const Groups& groups) {
        Change change;
        change.first_group = below(groups.size());
        change.second_group = (change.first_group + 1 + below(groups.size() - 1)) % groups.size();
        // Only the last round may be a smaller one.
        change.whole_groups = uniform() < 0.1 && groups[change.first_group].size() == groups[change.second_group].size();
        change.first = below(groups[change.first_group].size());
        change.second = below(groups[change.second_group].size());
        return change;
    }

    static void apply(Groups& groups, const Change& change) {
        if (change.whole_groups)
            std::swap(groups[change.first_group], groups[change.second_group]);
        else
            std::swap(groups[change.first_group][change.first], groups[change.second_group][change.second]);
    }

    const Ground& ground_;
    std::mt19937_64 random_;
    std::vector<Part> parts_, before_;
    std::vector<std::size_t> touched_;
    bool polished_ = false;
};

// An open walk through all places from where the crew is: nearest next, then reversals while they shorten it.
std::vector<std::size_t> tour(const Ground& ground) {
    std::vector<std::size_t> order;
    std::vector<bool> seen(ground.places(), false);
    std::size_t at = ground.crew_node();
    while (order.size() < ground.places()) {
        std::size_t next = ground.places();
        for (std::size_t place = 0; place < ground.places(); ++place)
            if (!seen[place] && (next == ground.places() || ground.distances()(at, place) < ground.distances()(at, next))) next = place;
        seen[next] = true;
        order.push_back(next);
        at = next;
    }
    for (bool better = true; better;) {
        better = false;
        for (std::size_t first = 0; first + 1 < order.size(); ++first)
            for (std::size_t last = first + 1; last < order.size(); ++last) {
                const std::size_t before = first == 0 ? ground.crew_node() : order[first - 1];
                double saved = ground.distances()(before, order[first]) - ground.distances()(before, order[last]);
                if (last + 1 < order.size())
                    saved += ground.distances()(order[last], order[last + 1]) - ground.distances()(order[first], order[last + 1]);
                if (saved > 1e-9) {
                    std::reverse(order.begin() + static_cast<std::ptrdiff_t>(first), order.begin() + static_cast<std::ptrdiff_t>(last) + 1);
                    better = true;
                }
            }
    }
    return order;
}

Groups neighbours(const Ground& ground, const std::vector<std::size_t>& order) {
    Groups groups;
    for (const std::size_t place : order) {
        if (groups.empty() || groups.back().size() == ground.mics()) groups.emplace_back();
        groups.back().push_back(place);
    }
    return groups;
}

Groups spread(const Ground& ground, const std::vector<std::size_t>& order) {
    Groups groups(ground.rounds());
    std::size_t round = 0;
    const std::size_t full_rounds = ground.places() / ground.mics();
    for (std::size_t index = 0; index < order.size(); ++index) {
        if (index < full_rounds * ground.mics()) {
            groups[round].push_back(order[index]);
            round = (round + 1) % full_rounds;
        } else {
            groups.back().push_back(order[index]);
        }
    }
    return groups;
}

}  // namespace

Itinerary searched_rounds(const Errand& errand, double effort, unsigned seed) {
    if (errand.places.empty()) return {{}, 0.0, true};
    const Ground ground(errand);
    const std::vector<std::size_t> order = tour(ground);
    const auto steps = static_cast<std::size_t>(base_steps * effort);
    // The two beginnings on a thread each.
    std::array<Groups, 2> beginnings{neighbours(ground, order), spread(ground, order)};
    const auto improve = [&ground, steps, seed](Groups& groups) {
        if (groups.size() > 1) Annealer(ground, seed).run(groups, steps);
    };
    auto other = std::async(std::launch::async, improve, std::ref(beginnings[1]));
    improve(beginnings[0]);
    other.get();
    const bool exact = ground.mics() <= exact_stands;
    Itinerary first = itinerary_of(errand, beginnings[0], exact), second = itinerary_of(errand, beginnings[1], exact);
    return second.seconds < first.seconds ? second : first;
}

}  // namespace proofwalk::walk::route
