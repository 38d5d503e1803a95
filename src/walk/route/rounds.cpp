#include "walk/route/rounds.hpp"

#include <algorithm>

#include "walk/route/ground.hpp"

namespace proofwalk::walk::route {

namespace {

// A way to have carried the stands so far.
struct Way {
    double seconds = 0.0;
    std::vector<std::size_t> stands;
    std::size_t crew_at = 0;
    std::vector<Changeover> changeovers;
};

void keep_best(std::vector<Way>& ways, Way way) {
    std::ranges::sort(way.stands);
    const auto alike = std::ranges::find_if(ways, [&](const Way& other) { return other.crew_at == way.crew_at && other.stands == way.stands; });
    if (alike == ways.end())
        ways.push_back(std::move(way));
    else if (way.seconds < alike->seconds)
        *alike = std::move(way);
}

Way after(const Way& way, Changeover changeover) {
    Way next = way;
    next.seconds += changeover.seconds;
    for (const Carry& carry : changeover.carries) *std::ranges::find(next.stands, carry.from) = carry.to;
    if (!changeover.carries.empty()) next.crew_at = changeover.carries.back().to;
    next.changeovers.push_back(std::move(changeover));
    return next;
}

// Where one changeover ends is where the next begins, so all ends are carried along.
std::vector<Changeover> best_carries(const Ground& ground, const std::vector<std::vector<std::size_t>>& groups, bool exact) {
    std::vector<Way> ways{{0.0, ground.first_stands(), ground.crew_node(), {}}};
    for (const auto& group : groups) {
        std::vector<Way> next;
        for (const Way& way : ways) {
            if (!exact) {
                keep_best(next, after(way, quick_changeover(ground.distances(), way.stands, group, way.crew_at)));
                continue;
            }
            const ExactChangeover changeover(ground.distances(), way.stands, group, way.crew_at);
            for (const auto& outcome : changeover.outcomes()) keep_best(next, after(way, changeover.with(outcome)));
        }
        ways = std::move(next);
    }
    return std::ranges::min_element(ways, {}, &Way::seconds)->changeovers;
}

}  // namespace

Itinerary itinerary_of(const Errand& errand, const std::vector<std::vector<std::size_t>>& groups, bool exact) {
    return itinerary_of(errand, groups, best_carries(Ground(errand), groups, exact));
}

Itinerary itinerary_of(const Errand& errand, const std::vector<std::vector<std::size_t>>& groups, std::vector<Changeover> changeovers) {
    const Ground ground(errand);
    Itinerary itinerary;
    for (std::size_t index = 0; index < groups.size(); ++index) {
        Stop stop;
        stop.places = groups[index];
        for (const std::size_t place : stop.places) stop.circuits |= errand.circuits[place];
        stop.carries = std::move(changeovers[index].carries);
        stop.walk_s = changeovers[index].seconds;
        stop.place_s = ground.placing_s(stop.places.size());
        stop.take_s = ground.taking_s(stop.circuits);
        itinerary.seconds += stop.walk_s + stop.place_s + stop.take_s;
        itinerary.stops.push_back(std::move(stop));
    }
    return itinerary;
}

Itinerary plan_rounds(const Errand& errand, double effort) {
    if (errand.places.empty()) return {{}, 0.0, true};
    if (errand.places.size() <= (effort < 1.0 ? exact_places - 3 : exact_places)) return exact_rounds(errand);
    return searched_rounds(errand, effort, 1);
}

}  // namespace proofwalk::walk::route
