#include "walk/route/ground.hpp"

#include <algorithm>
#include <limits>

namespace proofwalk::walk::route {
namespace {

std::vector<Vec3> nodes_of(const Errand& errand) {
    std::vector<Vec3> nodes = errand.places;
    if (errand.stands.empty())
        nodes.insert(nodes.end(), static_cast<std::size_t>(std::max(1, errand.crew.mics)), errand.crew.start);
    else
        nodes.insert(nodes.end(), errand.stands.begin(), errand.stands.end());
    nodes.push_back(errand.crew_at.value_or(errand.crew.start));
    return nodes;
}

}  // namespace

Ground::Ground(const Errand& errand) : errand_(errand), crew_node_(0), distances_(nodes_of(errand).size()) {
    const std::vector<Vec3> nodes = nodes_of(errand);
    for (std::size_t node = places(); node + 1 < nodes.size(); ++node) first_stands_.push_back(node);
    crew_node_ = nodes.size() - 1;
    for (std::size_t a = 0; a < nodes.size(); ++a)
        for (std::size_t b = 0; b < a; ++b) distances_.set(a, b, walk_s(errand.crew, nodes[a], nodes[b]));
    nearest_s_.assign(places(), std::numeric_limits<double>::infinity());
    for (std::size_t place = 0; place < places(); ++place)
        for (std::size_t node = 0; node < crew_node_; ++node)
            if (node != place) nearest_s_[place] = std::min(nearest_s_[place], distances_(place, node));
}

double Ground::placing_s(std::size_t stands) const {
    return errand_.crew.place_s * static_cast<double>(stands) / std::max(1, errand_.crew.people);
}

double Ground::taking_s(const CircuitSet& circuits) const {
    CircuitSet alone = circuits;
    double seconds = 0.0;
    for (std::size_t set = 0; set < errand_.together.size(); ++set) {
        const std::size_t count = (circuits & errand_.together[set]).count();
        alone &= ~errand_.together[set];
        if (count > 0) seconds += added_s(set, 0) + static_cast<double>(count - 1) * added_s(set, 1);
    }
    return seconds + static_cast<double>(alone.count()) * added_s(errand_.together.size(), 0);
}

double Ground::added_s(std::size_t set, std::size_t beside) const {
    const Crew& crew = errand_.crew;
    if (set == errand_.together.size()) return crew.take_s + crew.mute_change_s;
    return beside == 0 ? crew.take_s : crew.overlap_gap_s;
}

std::size_t Ground::set_of(std::size_t circuit) const {
    std::size_t set = 0;
    while (set < errand_.together.size() && !errand_.together[set].test(circuit)) ++set;
    return set;
}

}  // namespace proofwalk::walk::route
