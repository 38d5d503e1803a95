// Simulated annealing over the chain of all carries, from two beginnings: neighbouring places in one round (few circuits a
// round) and places spread over the room, one a mic's own patch (short carries). Each step is worked out from the few
// carries that it touches, so that hundreds of thousands fit into a tenth of a second.

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <future>
#include <random>

#include "walk/route/carry_chain.hpp"

namespace proofwalk::walk::route {
namespace {

using Groups = std::vector<std::vector<std::size_t>>;

constexpr std::size_t exact_stands = 6;     // up to here carries are worked out exactly at the end
constexpr double base_steps = 12000.0;      // for each place and beginning, at effort 1
constexpr std::size_t most_near = 12;       // nearest places that a place likes to change with
constexpr double hottest = 0.003, coldest = 0.0002;  // of the whole time

class Annealer {
public:
    Annealer(const Ground& ground, unsigned seed) : ground_(ground), random_(seed) {
        for (std::size_t place = 0; place < ground.places(); ++place) {
            std::vector<std::size_t> others;
            for (std::size_t other = 0; other < ground.places(); ++other)
                if (other != place) others.push_back(other);
            std::ranges::stable_sort(others, {}, [&](std::size_t other) { return ground.distances()(place, other); });
            others.resize(std::min(others.size(), most_near));
            near_.push_back(std::move(others));
        }
    }

    [[nodiscard]] CarryChain run(const Groups& groups, std::size_t steps) {
        CarryChain chain(ground_, groups);
        CarryChain best = chain;
        const double whole = chain.seconds();
        double above = 0.0, least = 0.0, temperature = hottest * whole;
        const double cooling = std::pow(coldest / hottest, 1.0 / static_cast<double>(std::max<std::size_t>(steps, 1)));
        bool better = false;  // than `best`
        for (std::size_t step = 0; step < steps; ++step, temperature *= cooling) {
            const double by = change(chain);
            if (by <= 0.0 || uniform() < std::exp(-by / temperature)) {
                // The best chain is copied when it is left, not at each of its steps.
                above += by;
                if (above < least - 1e-9) {
                    least = above;
                    better = true;
                } else if (better && by > 0.0) {
                    chain.undo();
                    best = chain;
                    better = false;
                    above -= by;
                }
            } else {
                chain.undo();
            }
        }
        return better ? chain : best;
    }

private:
    double uniform() { return static_cast<double>(random_()) * 0x1.0p-32; }
    std::size_t below(std::size_t count) { return static_cast<std::size_t>(static_cast<std::uint64_t>(random_()) * count >> 32); }

    double change(CarryChain& chain) {
        const double what = uniform();
        if (what < 0.55) {
            const std::size_t place = below(chain.places());
            if (what < 0.45) return chain.swap_places(place, near_[place][below(near_[place].size())]);
            return chain.swap_places(place, (place + 1 + below(chain.places() - 1)) % chain.places());
        }
        if (what < 0.56 && chain.rounds() > 1) {
            const std::size_t first = below(chain.rounds()), second = (first + 1 + below(chain.rounds() - 1)) % chain.rounds();
            if (chain.round_size(first) == chain.round_size(second)) return chain.swap_rounds(first, second);
        }
        const std::size_t carry = below(chain.places()), round = chain.round_of(carry);
        const bool last = round + 1 == chain.rounds();
        if (what < 0.70) {
            const std::size_t stands = chain.round_size(round) + (last ? chain.spares() : 0);
            return stands < 2 ? 0.0 : chain.swap_stands(carry, other(carry, chain.round_begin(round), stands));
        }
        if (chain.round_size(round) < 2) return nothing(chain);
        const std::size_t second = other(carry, chain.round_begin(round), chain.round_size(round));
        return what < 0.85 ? chain.swap_ends(carry, second) : chain.swap_carries(carry, second);
    }
    double nothing(CarryChain& chain) { return chain.swap_places(0, 0); }
    std::size_t other(std::size_t carry, std::size_t begin, std::size_t count) {
        return begin + (carry - begin + 1 + below(count - 1)) % count;
    }

    const Ground& ground_;
    std::mt19937 random_;
    std::vector<std::vector<std::size_t>> near_;
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
    if (ground.places() == 1) return itinerary_of(errand, {{0}}, true);
    const std::vector<std::size_t> order = tour(ground);
    const auto steps = static_cast<std::size_t>(base_steps * effort * static_cast<double>(ground.places()));
    // The two beginnings on a thread each.
    const auto improved = [&](const Groups& groups) {
        const CarryChain chain = Annealer(ground, seed).run(groups, steps);
        const Groups found = chain.groups();
        Itinerary walked = itinerary_of(errand, found, chain.changeovers());
        if (ground.mics() > exact_stands) return walked;
        Itinerary exact = itinerary_of(errand, found, true);
        return exact.seconds < walked.seconds ? exact : walked;
    };
    auto other = std::async(std::launch::async, improved, spread(ground, order));
    const Itinerary first = improved(neighbours(ground, order)), second = other.get();
    return second.seconds < first.seconds ? second : first;
}

}  // namespace proofwalk::walk::route
