#include "acoustics/aim.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "acoustics/root.hpp"
#include "acoustics/triangle.hpp"
#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

constexpr double beam_floor_db = -30.0;
constexpr int places_along = 400;

std::unexpected<Fault> impossible(std::string reason, std::string remedy) {
    return std::unexpected(Fault{FaultKind::input, "", "", std::move(reason), std::move(remedy)});
}

double path_loss(double path_m, double air_db_per_m) { return amplitude_db(path_m) + air_db_per_m * path_m; }

// Angles upwards, as tilts.
End end_of(Row row, double air_db_per_m) {
    const Throw path = throw_to(row.height_m, row.distance_m);
    return {-path.depression_deg, path_loss(path.path_m, air_db_per_m)};
}

Row between(Row a, Row b, double share) {
    return {a.height_m + share * (b.height_m - a.height_m), a.distance_m + share * (b.distance_m - a.distance_m)};
}

// Where the axis meets the line from front to back (or its extension), as distance along the floor; negative: nowhere.
double landing_m(Row front, Row back, double tilt_deg) {
    const double slope = std::tan(radians(-tilt_deg));  // fall of the axis per metre
    const double rise = (back.height_m - front.height_m) / (back.distance_m - front.distance_m);
    const double distance = (front.height_m - rise * front.distance_m) / (slope - rise);
    return std::isfinite(distance) && distance > 0.0 ? distance : -1.0;
}

Result<VerticalAim> with_loss(Row front, Row back, const std::function<double(double)>& loss_db, double wanted_deg, double air_db_per_m,
                              TiltLimits limits) {
    VerticalAim aim;
    aim.tilt_wanted_deg = wanted_deg;
    aim.tilt_deg = std::clamp(wanted_deg, limits.lowest_deg, limits.highest_deg);
    const auto level = [&](Row row) {
        const End end = end_of(row, air_db_per_m);
        return loss_db(end.angle_deg - aim.tilt_deg) - end.loss_db;
    };
    aim.front_db = level(front);
    aim.back_db = level(back);
    aim.loudest_db = std::max(aim.front_db, aim.back_db);
    aim.quietest_db = std::min(aim.front_db, aim.back_db);
    for (int i = 1; i < places_along; ++i) {
        const double here = level(between(front, back, static_cast<double>(i) / places_along));
        aim.loudest_db = std::max(aim.loudest_db, here);
        aim.quietest_db = std::min(aim.quietest_db, here);
    }
    aim.wanted_coverage_deg = wanted_coverage_deg(end_of(front, air_db_per_m), end_of(back, air_db_per_m));
    aim.axis_lands_m = landing_m(front, back, aim.tilt_deg);
    for (const Row row : {front, back})
        aim.beyond_beam |= loss_db(end_of(row, air_db_per_m).angle_deg - aim.tilt_deg) <= beam_floor_db;
    return aim;
}

std::optional<Fault> bad_rows(Row front, Row back) {
    const auto fault = [](std::string reason, std::string remedy) { return Fault{FaultKind::input, "", "", std::move(reason), std::move(remedy)}; };
    if (!(front.distance_m > 0.0)) return fault(fmt::format("the front row is {:g} m ahead of the box: behind or under it", front.distance_m), "move the box back or the row forward");
    if (!(back.distance_m > front.distance_m)) return fault("the back row is not farther away than the front row", "exchange the two rows");
    if (std::abs(end_of(front, 0.0).angle_deg - end_of(back, 0.0).angle_deg) < 1e-6)
        return fault("the box sees the front and the back row in one line", "hang it higher or lower");
    return std::nullopt;
}

double beam_loss_db(double off_deg, double coverage_deg) {
    const double part = off_deg / (0.5 * coverage_deg);
    return -6.0 * part * part;
}

// Pans towards the outermost corners, right to left, unwrapped so that left >= right.
struct Horizon {
    double right_deg = 0.0, left_deg = 0.0;
    End right, left;
};
Result<Horizon> horizon(Vec3 at, const std::vector<Vec3>& corners, double air_db_per_m) {
    if (corners.size() < 2) return impossible("the audience has fewer than two corners", "give at least two");
    double sine = 0.0, cosine = 0.0;
    for (const Vec3 corner : corners) {
        const double across = std::hypot(corner.x - at.x, corner.y - at.y);
        if (across < 1e-9) return impossible("the box hangs straight above a corner of the audience", "move it off the audience's edge");
        sine += (corner.y - at.y) / across;
        cosine += (corner.x - at.x) / across;
    }
    const double middle = degrees(std::atan2(sine, cosine));
    Horizon found;
    found.right_deg = std::numeric_limits<double>::infinity();
    found.left_deg = -found.right_deg;
    for (const Vec3 corner : corners) {
        const double pan = middle + wrapped_deg(direction(at, corner).pan_deg - middle);
        const double loss = path_loss(distance(at, corner), air_db_per_m);
        // Of two corners in one direction the nearer is on the same ray; the farther one decides, as it is quieter.
        if (pan < found.right_deg - 1e-9 || (std::abs(pan - found.right_deg) <= 1e-9 && loss > found.right.loss_db)) {
            found.right_deg = pan;
            found.right = {pan, loss};
        }
        if (pan > found.left_deg + 1e-9 || (std::abs(pan - found.left_deg) <= 1e-9 && loss > found.left.loss_db)) {
            found.left_deg = pan;
            found.left = {pan, loss};
        }
    }
    if (found.left_deg - found.right_deg >= 180.0)
        return impossible(fmt::format("the audience takes {:.0f} degrees of the box's horizon, so part of it lies behind the box", found.left_deg - found.right_deg),
                          "split it between two boxes or hang the box outside of it");
    if (found.left_deg - found.right_deg < 1e-6) return impossible("all corners of the audience lie in one direction", "give corners that differ");
    return found;
}

}  // namespace

double equal_level_aim_deg(End one, End other, double coverage_deg) {
    const double apart = other.angle_deg - one.angle_deg;
    return 0.5 * (one.angle_deg + other.angle_deg) + coverage_deg * coverage_deg * (other.loss_db - one.loss_db) / (48.0 * apart);
}

double wanted_coverage_deg(End one, End other) {
    const double apart = std::abs(other.angle_deg - one.angle_deg), q = std::abs(other.loss_db - one.loss_db);
    if (q >= 6.0) return apart * std::sqrt(24.0 / q);
    // 12 (1 - sqrt(1 - q/6)) / q, written so that it holds at q = 0 too.
    return apart * 2.0 / (1.0 + std::sqrt(1.0 - q / 6.0));
}

Result<double> equal_level_aim_numeric_deg(End one, End other, const std::function<double(double)>& loss_db) {
    const auto difference = [&](double aim) {
        return (loss_db(one.angle_deg - aim) - one.loss_db) - (loss_db(other.angle_deg - aim) - other.loss_db);
    };
    const double middle = 0.5 * (one.angle_deg + other.angle_deg);
    // From the middle outwards, towards the quieter end first: the root nearest to the audience is the one meant.
    const double towards = (other.loss_db > one.loss_db) == (other.angle_deg > one.angle_deg) ? 1.0 : -1.0;
    for (const double sign : {towards, -towards})
        if (const auto found = first_root([&](double off) { return difference(middle + sign * off); }, 0.0, 90.0, 0.5)) return middle + sign * *found;
    return impossible("no aim within 90 degrees gives both ends of the audience the same level", "use a box with another coverage, or two boxes");
}

Result<VerticalAim> vertical_aim(Row front, Row back, double coverage_deg, double air_db_per_m, TiltLimits limits) {
    if (const auto bad = bad_rows(front, back)) return std::unexpected(*bad);
    if (!(coverage_deg > 0.0 && coverage_deg <= 360.0)) return impossible(fmt::format("a coverage of {:g} degrees does not exist", coverage_deg), "give 1 to 360 degrees");
    const double tilt = equal_level_aim_deg(end_of(front, air_db_per_m), end_of(back, air_db_per_m), coverage_deg);
    return with_loss(front, back, [&](double off) { return beam_loss_db(off, coverage_deg); }, tilt, air_db_per_m, limits);
}

Result<VerticalAim> vertical_aim(Row front, Row back, const Directivity& directivity, double low_hz, double high_hz, double air_db_per_m,
                                 TiltLimits limits) {
    if (const auto bad = bad_rows(front, back)) return std::unexpected(*bad);
    const auto loss = [&](double off) { return directivity.loss_db(0.0, std::clamp(off, -90.0, 90.0), low_hz, high_hz); };
    const auto tilt = equal_level_aim_numeric_deg(end_of(front, air_db_per_m), end_of(back, air_db_per_m), loss);
    if (!tilt) return std::unexpected(tilt.error());
    return with_loss(front, back, loss, *tilt, air_db_per_m, limits);
}

Result<HorizontalAim> horizontal_aim(Vec3 at, const std::vector<Vec3>& corners, double coverage_deg, double air_db_per_m) {
    const auto seen = horizon(at, corners, air_db_per_m);
    if (!seen) return std::unexpected(seen.error());
    HorizontalAim aim;
    aim.left_deg = wrapped_deg(seen->left_deg);
    aim.right_deg = wrapped_deg(seen->right_deg);
    aim.middle_pan_deg = wrapped_deg(0.5 * (seen->left_deg + seen->right_deg));
    const double pan = equal_level_aim_deg(seen->right, seen->left, coverage_deg);
    aim.pan_deg = wrapped_deg(pan);
    aim.wanted_coverage_deg = wanted_coverage_deg(seen->right, seen->left);
    aim.corner_db = beam_loss_db(seen->left_deg - pan, coverage_deg) - seen->left.loss_db;
    return aim;
}

Result<CoverageNeed> coverage_need(Vec3 at, const std::vector<Vec3>& corners, double air_db_per_m) {
    const auto seen = horizon(at, corners, air_db_per_m);
    if (!seen) return std::unexpected(seen.error());
    CoverageNeed need;
    need.coverage_h_deg = wanted_coverage_deg(seen->right, seen->left);
    const double pan = equal_level_aim_deg(seen->right, seen->left, need.coverage_h_deg);
    need.pan_deg = wrapped_deg(pan);
    // The nearest and the farthest place of the outline, along the floor: a level box sees a place's height by that alone.
    Row front{0.0, std::numeric_limits<double>::infinity()}, back{0.0, 0.0};
    for (std::size_t i = 0; i < corners.size(); ++i)
        for (int step = 0; step < 20; ++step) {
            const Vec3 place = corners[i] + (step / 20.0) * (corners[(i + 1) % corners.size()] - corners[i]);
            const Row row{at.z - place.z, std::hypot(place.x - at.x, place.y - at.y)};
            if (row.distance_m < front.distance_m) front = row;
            if (row.distance_m > back.distance_m) back = row;
        }
    if (const auto bad = bad_rows(front, back)) return std::unexpected(*bad);
    const End near = end_of(front, air_db_per_m), far = end_of(back, air_db_per_m);
    need.coverage_v_deg = wanted_coverage_deg(near, far);
    need.tilt_deg = equal_level_aim_deg(near, far, need.coverage_v_deg);
    return need;
}

}  // namespace proofwalk::acoustics
