#include <algorithm>
#include <limits>
#include <random>

#include <gtest/gtest.h>

#include "walk/errands.hpp"
#include "walk/route/carry_chain.hpp"
#include "walk/route/ground.hpp"

namespace proofwalk::walk::route {
namespace {

// The whole search space without any bound, dominance or table: every group, every stand for every place, every order.
class Enumeration {
public:
    explicit Enumeration(const Errand& errand) : ground_(errand) {}
    double least() {
        round({}, ground_.first_stands(), ground_.crew_node(), 0.0);
        return least_;
    }

private:
    void round(const std::vector<std::size_t>& visited, const std::vector<std::size_t>& stands, std::size_t crew_at, double seconds) {
        if (visited.size() == ground_.places()) {
            least_ = std::min(least_, seconds);
            return;
        }
        const std::size_t size = std::min(ground_.mics(), ground_.places() - visited.size());
        carry(visited, {}, stands, std::vector<bool>(stands.size(), false), crew_at, seconds, size);
    }
    void carry(const std::vector<std::size_t>& visited, const std::vector<std::size_t>& group, const std::vector<std::size_t>& stands,
               const std::vector<bool>& carried, std::size_t crew_at, double seconds, std::size_t left) {
        if (seconds >= least_) return;
        if (left == 0) {
            CircuitSet circuits;
            std::vector<std::size_t> after = visited;
            for (const std::size_t place : group) circuits |= ground_.errand().circuits[place];
            after.insert(after.end(), group.begin(), group.end());
            round(after, stands, crew_at, seconds + ground_.placing_s(group.size()) + ground_.taking_s(circuits));
            return;
        }
        for (std::size_t stand = 0; stand < stands.size(); ++stand)
            for (std::size_t place = 0; place < ground_.places(); ++place) {
                const auto taken = [&](const std::vector<std::size_t>& places) { return std::ranges::find(places, place) != places.end(); };
                if (carried[stand] || taken(visited) || taken(group)) continue;
                auto stands_after = stands;
                auto carried_after = carried;
                auto group_after = group;
                stands_after[stand] = place;
                carried_after[stand] = true;
                group_after.push_back(place);
                carry(visited, group_after, stands_after, carried_after, place,
                      seconds + ground_.distances()(crew_at, stands[stand]) + ground_.distances()(stands[stand], place), left - 1);
            }
    }

    Ground ground_;
    double least_ = std::numeric_limits<double>::infinity();
};

struct Instance {
    unsigned seed;
    std::size_t places;
    int mics;
};
std::ostream& operator<<(std::ostream& out, const Instance& instance) {
    return out << "seed " << instance.seed << ", " << instance.places << " places, " << instance.mics << " mics";
}

class SmallErrand : public testing::TestWithParam<Instance> {};

TEST_P(SmallErrand, BranchAndBoundFindsTheLeastOfAll) {
    const Errand errand = generated_errand(GetParam().seed, GetParam().places, GetParam().mics, 4);
    const Itinerary exact = exact_rounds(errand);
    EXPECT_TRUE(exact.proven);
    EXPECT_NEAR(exact.seconds, Enumeration(errand).least(), 1e-6);
}

INSTANTIATE_TEST_SUITE_P(Enumerated, SmallErrand,
                         testing::Values(Instance{1, 6, 1}, Instance{2, 6, 1}, Instance{3, 5, 2}, Instance{4, 5, 2}, Instance{5, 5, 2}, Instance{6, 4, 3},
                                         Instance{7, 5, 3}, Instance{8, 5, 3}, Instance{9, 4, 4}, Instance{10, 3, 8}, Instance{11, 1, 4}, Instance{12, 5, 4}));

void expect_complete(const Errand& errand, const Itinerary& itinerary) {
    std::vector<std::size_t> visited;
    double seconds = 0.0;
    for (const Stop& stop : itinerary.stops) {
        EXPECT_LE(stop.places.size(), static_cast<std::size_t>(errand.crew.mics));
        EXPECT_EQ(stop.carries.size(), stop.places.size());
        visited.insert(visited.end(), stop.places.begin(), stop.places.end());
        for (const std::size_t place : stop.places) EXPECT_TRUE((errand.circuits[place] & ~stop.circuits).none());
        seconds += stop.walk_s + stop.place_s + stop.take_s;
    }
    std::ranges::sort(visited);
    EXPECT_EQ(std::ranges::unique(visited).begin(), visited.end());
    EXPECT_EQ(visited.size(), errand.places.size());
    EXPECT_NEAR(seconds, itinerary.seconds, 1e-6);
    EXPECT_EQ(itinerary.stops.size(), (errand.places.size() + static_cast<std::size_t>(errand.crew.mics) - 1) / static_cast<std::size_t>(errand.crew.mics));
}

TEST(Rounds, TwelvePlacesAreProvenAndNoSearchIsShorter) {
    for (const int mics : {3, 4, 6, 8, 12}) {
        const Errand errand = generated_errand(static_cast<unsigned>(20 + mics), 12, mics, 6);
        const Itinerary exact = exact_rounds(errand), searched = searched_rounds(errand, 0.2, 1);
        expect_complete(errand, exact);
        expect_complete(errand, searched);
        EXPECT_LE(exact.seconds, searched.seconds + 1e-6);
        EXPECT_LE(searched.seconds, 1.03 * exact.seconds);
    }
}

TEST(Rounds, LargeErrandIsCompleteAndRepeatable) {
    const Errand errand = generated_errand(31, 60, 8, 60);
    const Itinerary once = searched_rounds(errand, 0.1, 1), again = searched_rounds(errand, 0.1, 1);
    expect_complete(errand, once);
    EXPECT_EQ(once.seconds, again.seconds);
    // Better than the places in the order they came in.
    std::vector<std::vector<std::size_t>> in_order;
    for (std::size_t place = 0; place < 60; ++place) {
        if (place % 8 == 0) in_order.emplace_back();
        in_order.back().push_back(place);
    }
    EXPECT_LT(once.seconds, 0.85 * itinerary_of(errand, in_order, false).seconds);
}

// The chain of carries works out every change from what it touches: held against the whole, worked out anew.
TEST(CarryChain, ChangesAndTheirUndoingAddUp) {
    for (const int mics : {1, 3, 8}) {
        Errand errand = generated_errand(static_cast<unsigned>(40 + mics), 14, mics, 9);
        if (mics == 8) {
            errand.together.emplace_back();
            for (std::size_t circuit = 0; circuit < 5; ++circuit) errand.together.front().set(circuit);
        }
        const Ground ground(errand);
        std::vector<std::vector<std::size_t>> groups;
        for (std::size_t place = 0; place < 14; ++place) {
            if (place % static_cast<std::size_t>(mics) == 0) groups.emplace_back();
            groups.back().push_back(place);
        }
        CarryChain chain(ground, groups);
        const auto whole = [&] {
            const Itinerary walked = itinerary_of(errand, chain.groups(), chain.changeovers());
            double placing = 0.0;
            for (const Stop& stop : walked.stops) placing += stop.place_s;
            return walked.seconds - placing;
        };
        std::mt19937 random(1);
        double seconds = whole();
        EXPECT_NEAR(chain.seconds(), seconds, 1e-9);
        for (int step = 0; step < 400; ++step) {
            const std::size_t carry = random() % 14, round = chain.round_of(carry), size = chain.round_size(round);
            const std::size_t mate = chain.round_begin(round) + random() % size;
            double by = 0.0;
            switch (random() % 5) {
                case 0: by = chain.swap_places(random() % 14, random() % 14); break;
                case 1: by = chain.swap_ends(carry, mate); break;
                case 2: by = chain.swap_stands(carry, round + 1 == chain.rounds() && chain.spares() > 0 ? 14 + random() % chain.spares() : mate); break;
                case 3: by = chain.swap_carries(carry, mate); break;
                default: {
                    const std::size_t other = random() % chain.rounds();
                    if (chain.round_size(other) == size) by = chain.swap_rounds(round, other);
                    else by = chain.swap_places(0, 0);
                }
            }
            EXPECT_NEAR(whole(), seconds + by, 1e-6);
            if (random() % 2 == 0) chain.undo();
            seconds = whole();
            EXPECT_NEAR(chain.seconds(), seconds, 1e-6);
        }
    }
}

TEST(Rounds, NothingToVisitCostsNothing) {
    const Itinerary none = plan_rounds(Errand{});
    EXPECT_TRUE(none.stops.empty());
    EXPECT_EQ(none.seconds, 0.0);
}

}  // namespace
}  // namespace proofwalk::walk::route
