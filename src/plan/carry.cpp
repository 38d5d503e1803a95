#include "plan/carry.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "acoustics/geometry.hpp"
#include "plan/area.hpp"
#include "plan/place.hpp"
#include "plan/targets.hpp"
#include "units/convert.hpp"

namespace proofwalk::plan {
namespace {

struct Share {
    std::size_t area = 0;
    OnArea place;
};

// Where an axis lands: on the area that it hits inside, else on the outline of the one it misses least.
std::optional<Share> share_of_axis(const Plan& plan, Vec3 at, acoustics::Direction axis) {
    const Vec3 ahead = acoustics::axes(axis.pan_deg, axis.tilt_deg).forward;
    std::optional<Share> best;
    double least = 1e9;
    for (std::size_t i = 0; i < plan.areas.size(); ++i) {
        const auto place = landing(plan.areas[i], at, ahead);
        if (!place) continue;
        const OnArea inside{std::clamp(place->along, 0.0, 1.0), std::clamp(place->across, -1.0, 1.0)};
        const double off = acoustics::angle_between_deg(axis, acoustics::direction(at, point_on(plan.areas[i], inside)));
        if (off < least) {
            least = off;
            best = Share{i, inside};
        }
    }
    return best;
}

std::optional<Share> share_of_point(const Plan& plan, Vec3 at) {
    for (std::size_t i = 0; i < plan.areas.size(); ++i)
        if (covers(plan.areas[i], at)) return Share{i, on_area(plan.areas[i], at)};
    return std::nullopt;
}

Vec3 in_venue(const Plan& venue, const Share& share) { return point_on(venue.areas[std::min(share.area, venue.areas.size() - 1)], share.place); }

class Carrier {
public:
    Carrier(const Plan& rig, const Plan& venue) : rig_(rig), venue_(venue) {
        result_.plan = rig;
        result_.plan.name = venue.name;
        result_.plan.air = venue.air;
        result_.plan.areas = venue.areas;
        result_.plan.positions.clear();
    }

    Carried run() {
        if (rig_.areas.empty() || venue_.areas.empty()) {
            result_.notes.push_back("one of the two plans has no area: the rig is taken over as it hangs, without new aims");
            result_.plan.positions = rig_.positions;
            return std::move(result_);
        }
        if (venue_.areas.size() < rig_.areas.size())
            result_.notes.push_back(fmt::format("the venue has {} areas and the rig was aimed at {}: boxes of the missing ones are aimed at the last", venue_.areas.size(), rig_.areas.size()));
        std::vector<bool> done(rig_.boxes.size(), false);
        for (std::size_t i = 0; i < rig_.boxes.size(); ++i)
            if (!done[i]) {
                const auto together = hung_together(i);
                for (const std::size_t member : together) done[member] = true;
                move(together);
            }
        for (const Array& array : rig_.arrays)
            if (array.kind == ArrayKind::delay)
                for (std::size_t i = 0; i + 1 < array.boxes.size(); ++i) retime(array.boxes[i], array.boxes[i + 1]);
        const Placement placement = place(result_.plan);
        result_.plan.positions = placement.positions;
        for (const Unplaced& one : placement.unplaced) {
            std::string boxes;
            for (const std::string& box : one.boxes) boxes += (boxes.empty() ? "" : "+") + box;
            result_.notes.push_back(fmt::format("no mic for {} of {}: {}", word(one.role), boxes, one.why));
        }
        result_.notes.push_back("trims, loads and sight lines of the new venue are not known to the plan: have them checked by who hangs the rig");
        return std::move(result_);
    }

private:
    [[nodiscard]] std::size_t index_of(const std::string& id) const { return static_cast<std::size_t>(rig_.box(id) - rig_.boxes.data()); }

    [[nodiscard]] std::vector<std::size_t> hung_together(std::size_t first) const {
        std::vector<std::size_t> all = {first};
        for (std::size_t i = 0; i < all.size(); ++i)
            for (const Array& array : rig_.arrays) {
                const bool joined = array.kind == ArrayKind::coupled || array.kind == ArrayKind::line;
                if (!joined || std::ranges::find(array.boxes, rig_.boxes[all[i]].id) == array.boxes.end()) continue;
                for (const std::string& id : array.boxes)
                    if (std::ranges::find(all, index_of(id)) == all.end()) all.push_back(index_of(id));
            }
        return all;
    }

    [[nodiscard]] Vec3 moved(Vec3 at) const {
        const Area &old_first = rig_.areas.front(), &new_first = venue_.areas.front();
        const double old_near = old_first.near.x, new_near = new_first.near.x;
        const double old_far = std::ranges::max_element(rig_.areas, {}, [](const Area& area) { return area.far.x; })->far.x;
        const double new_far = std::ranges::max_element(venue_.areas, {}, [](const Area& area) { return area.far.x; })->far.x;
        const double x = at.x <= old_near || old_far <= old_near ? at.x : new_near + (at.x - old_near) * (new_far - new_near) / (old_far - old_near);
        return {x, at.y * new_first.near_width_m / old_first.near_width_m, at.z + new_first.near.z - old_first.near.z};
    }

    void move(const std::vector<std::size_t>& together) {
        Vec3 middle;
        Vec3 ahead;
        const double part = 1.0 / static_cast<double>(together.size());
        for (const std::size_t i : together) {
            middle = middle + part * rig_.boxes[i].at;
            ahead = ahead + part * acoustics::axes(rig_.boxes[i].pan_deg, rig_.boxes[i].tilt_deg).forward;
        }
        const acoustics::Direction axis = acoustics::direction({}, ahead);
        const Vec3 new_middle = moved(middle);
        const auto share = share_of_axis(rig_, middle, axis);
        const bool omni = rig_.model_of(rig_.boxes[together.front()]).pattern == Pattern::omni;
        acoustics::Direction new_axis = axis;
        if (share)
            new_axis = acoustics::direction(new_middle, in_venue(venue_, *share));
        else if (!omni)
            result_.notes.push_back(fmt::format("the axis of {} meets no area: it keeps its pan and tilt", rig_.boxes[together.front()].id));
        for (const std::size_t i : together) {
            Box& box = result_.plan.boxes[i];
            box.at = rounded(new_middle + (rig_.boxes[i].at - middle));
            if (omni) continue;
            box.pan_deg = std::round(10.0 * wrapped_deg(rig_.boxes[i].pan_deg + new_axis.pan_deg - axis.pan_deg)) / 10.0;
            box.tilt_deg = std::round(10.0 * std::clamp(rig_.boxes[i].tilt_deg + new_axis.tilt_deg - axis.tilt_deg, -90.0, 90.0)) / 10.0;
        }
    }

    static Vec3 rounded(Vec3 at) { return {std::round(at.x * 100.0) / 100.0, std::round(at.y * 100.0) / 100.0, std::round(at.z * 100.0) / 100.0}; }

    // Level and delay of the second box as they were against the first at their crossover.
    void retime(const std::string& first, const std::string& second) {
        const Position* crossover = rig_.crossover_of(first, second);
        const auto share = crossover == nullptr ? std::nullopt : share_of_point(rig_, crossover->at);
        if (!share) {
            result_.notes.push_back(fmt::format("{} and {} have no crossover position inside an area: level and delay of {} are as before, set them anew", first, second, second));
            return;
        }
        Position there = *crossover;
        there.at = in_venue(venue_, *share);
        const auto old_first = target(rig_, *rig_.box(first), *crossover, rig_.air), old_second = target(rig_, *rig_.box(second), *crossover, rig_.air);
        const auto new_first = target(result_.plan, *result_.plan.box(first), there, venue_.air), new_second = target(result_.plan, *result_.plan.box(second), there, venue_.air);
        Box& box = result_.plan.boxes[index_of(second)];
        const double late_ms = 1000.0 * ((old_second.arrival_s - old_first.arrival_s) - (new_second.arrival_s - new_first.arrival_s));
        const double louder_db = (old_second.aim_band_db - old_first.aim_band_db) - (new_second.aim_band_db - new_first.aim_band_db);
        box.gain_db = std::round(10.0 * (box.gain_db + louder_db)) / 10.0;
        const double delay_ms = box.delay_ms + late_ms;
        box.delay_ms = std::round(100.0 * std::max(delay_ms, 0.0)) / 100.0;
        if (delay_ms < -0.005) result_.notes.push_back(fmt::format("{} would need {:.2f} ms less than no delay: delay {} instead", second, -delay_ms, first));
    }

    const Plan& rig_;
    const Plan& venue_;
    Carried result_;
};

}  // namespace

Carried carry(const Plan& rig, const Plan& venue) { return Carrier(rig, venue).run(); }

}  // namespace proofwalk::plan
