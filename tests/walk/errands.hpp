// Generated errands for the tests and benchmarks of the shortest walk: seeded, so that an instance has a name.
#pragma once

#include <algorithm>
#include <random>

#include "walk/route/rounds.hpp"

namespace proofwalk::walk::route {

// A hall of 20 by 30 m with a balcony over its last third, one circuit for each place's patch and a few that are heard widely.
inline Errand generated_errand(unsigned seed, std::size_t places, int mics, std::size_t circuits) {
    std::mt19937_64 random(seed);
    const auto uniform = [&](double low, double high) { return low + (high - low) * static_cast<double>(random() >> 11) * 0x1.0p-53; };
    Errand errand;
    errand.crew.mics = mics;
    errand.crew.start = {-2.0, 0.0, 0.0};
    std::vector<Vec3> boxes;
    for (std::size_t circuit = 0; circuit < circuits; ++circuit) boxes.push_back({uniform(0.0, 28.0), uniform(-10.0, 10.0), 0.0});
    for (std::size_t place = 0; place < places; ++place) {
        Vec3 at{uniform(2.0, 30.0), uniform(-10.0, 10.0), 1.2};
        if (at.x > 22.0 && uniform(0.0, 1.0) < 0.4) at.z = 5.5;
        CircuitSet heard;
        std::vector<std::size_t> order(circuits);
        for (std::size_t circuit = 0; circuit < circuits; ++circuit) order[circuit] = circuit;
        std::ranges::sort(order, {}, [&](std::size_t circuit) { return distance(boxes[circuit], {at.x - 6.0, at.y, 0.0}); });
        const std::size_t count = 1 + static_cast<std::size_t>(uniform(0.0, 3.0));
        for (std::size_t index = 0; index < std::min(count, circuits); ++index) heard.set(order[index]);
        errand.places.push_back(at);
        errand.circuits.push_back(heard);
    }
    return errand;
}

}  // namespace proofwalk::walk::route
