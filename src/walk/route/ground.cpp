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
    return static_cast<double>(circuits.count()) * (errand_.crew.take_s + errand_.crew.mute_change_s);
}

}  // namespace proofwalk::walk::route
