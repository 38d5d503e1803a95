#include "report/room_layout.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "plan/area.hpp"
#include "report/figures.hpp"
#include "report/wording.hpp"
#include "units/convert.hpp"

namespace proofwalk::report {
namespace {

constexpr double fan_widths = 2.0;           // standard uncertainties either side
constexpr double same_place_m = 0.35;        // flags nearer than this share one
constexpr double usual_box_m = 0.5;          // where the plan gives no size
constexpr std::size_t most_dimensions = 16;  // of one view
constexpr int most_lanes = 3;
constexpr double least_dimension_m = 0.3;
constexpr double same_column_m = 1.0;  // dimension lines nearer than this take separate lanes

enum class View { plan, section };

FlatPoint flat(View view, Vec3 at) { return view == View::plan ? FlatPoint{at.x, at.y} : FlatPoint{at.x, at.z}; }
double flat_distance(FlatPoint a, FlatPoint b) { return std::hypot(a.u - b.u, a.v - b.v); }

double fitted_or(std::optional<double> fitted_value, double planned) {
    return fitted_value && std::isfinite(*fitted_value) ? *fitted_value : planned;
}

struct Bounds {
    Vec3 low{std::numeric_limits<double>::max(), std::numeric_limits<double>::max(), 0.0};
    Vec3 high{std::numeric_limits<double>::lowest(), std::numeric_limits<double>::lowest(), 1.0};
    void include(Vec3 at) {
        low = {std::min(low.x, at.x), std::min(low.y, at.y), std::min(low.z, at.z)};
        high = {std::max(high.x, at.x), std::max(high.y, at.y), std::max(high.z, at.z)};
    }
};

std::array<Vec3, 4> corners(const plan::Area& area) {
    return {plan::point_on(area, {0.0, -1.0}), plan::point_on(area, {0.0, 1.0}), plan::point_on(area, {1.0, 1.0}),
            plan::point_on(area, {1.0, -1.0})};
}

Bounds bounds_of(const plan::Plan& plan) {
    Bounds bounds;
    for (const auto& area : plan.areas)
        for (const Vec3& corner : corners(area)) bounds.include(corner);
    for (const auto& box : plan.boxes) bounds.include(box.at);
    for (const auto& position : plan.positions) bounds.include(position.at);
    if (bounds.low.x > bounds.high.x) bounds.include({});
    return bounds;
}

// Where a line of sight leaves the drawing: on the first audience plane, else on the lowest ear height or at the edge.
Vec3 sight_end(const plan::Plan& plan, const Bounds& bounds, Vec3 from, Vec3 towards) {
    double reach = std::numeric_limits<double>::max();
    for (const auto& area : plan.areas) {
        const Vec3 along = area.far - area.near;
        const Vec3 normal = cross(along, {-along.y, along.x, 0.0});
        const double slope = dot(normal, towards);
        if (std::abs(slope) < 1e-9) continue;
        const double metres = dot(normal, area.near - from) / slope;
        if (metres <= 0.0 || metres >= reach) continue;
        const auto place = plan::on_area(area, from + metres * towards);
        if (place.along >= 0.0 && place.along <= 1.0 && std::abs(place.across) <= 1.0) reach = metres;
    }
    const double ear_m = plan.areas.empty() ? 0.0 : std::min(plan.areas.front().near.z, plan.areas.front().far.z);
    if (reach == std::numeric_limits<double>::max() && towards.z < 0.0 && from.z > ear_m)
        reach = (from.z - ear_m) / -towards.z;
    const auto to_edge = [&](double at, double step, double low, double high) {
        if (step > 1e-9) reach = std::min(reach, std::max(0.0, (high - at) / step));
        if (step < -1e-9) reach = std::min(reach, std::max(0.0, (low - at) / step));
    };
    const double margin = 0.04 * std::max(bounds.high.x - bounds.low.x, bounds.high.y - bounds.low.y);
    to_edge(from.x, towards.x, bounds.low.x - margin, bounds.high.x + margin);
    to_edge(from.y, towards.y, bounds.low.y - margin, bounds.high.y + margin);
    to_edge(from.z, towards.z, 0.0, bounds.high.z + margin);
    return from + (reach == std::numeric_limits<double>::max() ? 1.0 : reach) * towards;
}

// Unit vector at h or v degrees off an axis, in the plane of that angle.
Vec3 off_axis(const acoustics::Axes& axes, View view, double angle_deg) {
    const Vec3 side = view == View::plan ? axes.left : axes.up;
    return std::cos(radians(angle_deg)) * axes.forward + std::sin(radians(angle_deg)) * side;
}

class ViewMaker {
public:
    ViewMaker(const plan::Plan& plan, const Bounds& bounds, View view) : plan_(plan), bounds_(bounds), view_(view) {}

    RoomView made(const std::vector<verify::Fit>& fits) {
        for (const auto& area : plan_.areas) add_area(area);
        for (const auto& box : plan_.boxes) add_planned(box);
        for (const auto& fit : fits)
            if (const plan::Box* box = plan_.box(fit.box)) add_fitted(*box, fit);
        for (const auto& box : plan_.boxes) add_bar(box);
        for (std::size_t i = 0; i < plan_.positions.size(); ++i) add_flag(static_cast<int>(i) + 1, plan_.positions[i]);
        view_ == View::plan ? add_plan_dimensions() : add_section_dimensions();
        set_bounds();
        return std::move(result_);
    }

private:
    void add_area(const plan::Area& area) {
        FlatStroke outline{StrokeKind::area, area.id, {}, view_ == View::plan};
        if (view_ == View::plan)
            for (const Vec3& corner : corners(area)) outline.points.push_back(flat(view_, corner));
        else
            outline.points = {flat(view_, area.near), flat(view_, area.far)};
        result_.strokes.push_back(std::move(outline));
    }

    void add_sight(StrokeKind kind, const plan::Box& box, Vec3 from, Vec3 towards) {
        result_.strokes.push_back(
            {kind, box.id, {flat(view_, from), flat(view_, sight_end(plan_, bounds_, from, towards))}, false});
    }

    void add_planned(const plan::Box& box) {
        const plan::Model& model = plan_.model_of(box);
        if (model.pattern == plan::Pattern::omni) return;
        const acoustics::Axes axes = acoustics::axes(box.pan_deg, box.tilt_deg);
        const double half_deg = (view_ == View::plan ? model.coverage_h_deg : model.coverage_v_deg) / 2.0;
        for (const double side : {-1.0, 1.0})
            add_sight(StrokeKind::coverage_edge, box, box.at, off_axis(axes, view_, side * half_deg));
        add_sight(StrokeKind::axis_planned, box, box.at, axes.forward);
    }

    void add_fitted(const plan::Box& box, const verify::Fit& fit) {
        const auto& turned = view_ == View::plan ? fit.pan_deg : fit.tilt_deg;
        const auto& turned_u = view_ == View::plan ? fit.pan_u_deg : fit.tilt_u_deg;
        if (!turned || !std::isfinite(*turned)) return;
        const Vec3 from{fitted_or(fit.at[0], box.at.x), fitted_or(fit.at[1], box.at.y), fitted_or(fit.at[2], box.at.z)};
        const double pan_deg = fitted_or(fit.pan_deg, box.pan_deg);
        const double tilt_deg = fitted_or(fit.tilt_deg, box.tilt_deg);
        const auto axes = acoustics::axes(pan_deg, tilt_deg);
        const Vec3 end = sight_end(plan_, bounds_, from, axes.forward);
        if (turned_u && std::isfinite(*turned_u)) {
            FlatStroke fan{StrokeKind::fan, box.id, {flat(view_, from)}, true};
            const double reach_m = distance(from, end);
            for (const double part : {-1.0, -0.5, 0.0, 0.5, 1.0})
                fan.points.push_back(
                    flat(view_, from + reach_m * off_axis(axes, view_, part * fan_widths * *turned_u)));
            result_.strokes.push_back(std::move(fan));
        }
        result_.strokes.push_back({StrokeKind::axis_fitted, box.id, {flat(view_, from), flat(view_, end)}, false});
    }

    void add_bar(const plan::Box& box) {
        const plan::Model& model = plan_.model_of(box);
        const acoustics::Axes axes = acoustics::axes(box.pan_deg, box.tilt_deg);
        const FlatPoint side = flat(view_, view_ == View::plan ? axes.left : axes.up);
        const double norm = std::max(1e-9, std::hypot(side.u, side.v));
        const double size_m = view_ == View::plan ? model.size_m.x : model.size_m.y;
        result_.boxes.push_back(
            {box.id, flat(view_, box.at), {side.u / norm, side.v / norm}, size_m > 0.0 ? size_m : usual_box_m});
    }

    void add_flag(int number, const plan::Position& position) {
        const FlatPoint at = flat(view_, position.at);
        for (FlatFlag& flag : result_.flags)
            if (flat_distance(flag.at, at) < same_place_m) {
                flag.numbers.push_back(number);
                flag.positions.push_back(position.id);
                flag.roles.clear();
                return;
            }
        result_.flags.push_back({{number}, {position.id}, roles_written_out(position), at});
    }

    // Free when no line of its lane runs beside it.
    int free_lane(const FlatDimension& wanted) const {
        const auto collides = [&](const FlatDimension& known) {
            if (!(known.set_off == wanted.set_off)) return false;
            const bool upright = wanted.set_off.v == 0.0;
            const auto along = [&](FlatPoint at) { return upright ? at.v : at.u; };
            const auto beside = [&](FlatPoint at) { return upright ? at.u : at.v; };
            const auto [low, high] = std::minmax({along(wanted.from), along(wanted.to)});
            const auto [known_low, known_high] = std::minmax({along(known.from), along(known.to)});
            return low < known_high - 0.01 && known_low < high - 0.01 &&
                   std::abs(beside(known.from) - beside(wanted.from)) < same_column_m;
        };
        for (int lane = 0;; ++lane)
            if (std::ranges::none_of(result_.dimensions,
                                     [&](const FlatDimension& known) { return known.lane == lane && collides(known); }))
                return lane;
    }

    void add_dimension(FlatPoint from, FlatPoint to, FlatPoint set_off) {
        const double metres = flat_distance(from, to);
        if (metres < least_dimension_m || result_.dimensions.size() >= most_dimensions) return;
        FlatDimension dimension{from, to, with_unit(fixed(metres, 2), "m"), set_off, 0};
        dimension.lane = free_lane(dimension);
        if (dimension.lane < most_lanes) result_.dimensions.push_back(std::move(dimension));
    }

    // How far in the audience begins and ends, and how far neighbours hang apart.
    void add_plan_dimensions() {
        for (const auto& array : plan_.arrays) {
            if (array.kind != plan::ArrayKind::uncoupled && array.kind != plan::ArrayKind::point_destination) continue;
            for (std::size_t i = 1; i < array.boxes.size(); ++i) {
                const plan::Box* first = plan_.box(array.boxes[i - 1]);
                const plan::Box* second = plan_.box(array.boxes[i]);
                if (first != nullptr && second != nullptr)
                    add_dimension(flat(view_, first->at), flat(view_, second->at), {-1.0, 0.0});
            }
        }
        std::vector<double> rows_m = {0.0};
        for (const auto& area : plan_.areas) rows_m.insert(rows_m.end(), {area.near.x, area.far.x});
        std::ranges::sort(rows_m);
        for (std::size_t i = 1; i < rows_m.size(); ++i)
            add_dimension({rows_m[i - 1], bounds_.low.y}, {rows_m[i], bounds_.low.y}, {0.0, -1.0});
    }

    // Trim heights above the floor of the plan, one of boxes that hang about as high in about the same place.
    void add_section_dimensions() {
        std::vector<FlatPoint> known;
        for (const auto& box : plan_.boxes) {
            const FlatPoint at = flat(view_, box.at);
            if (std::ranges::any_of(known, [&](FlatPoint other) { return flat_distance(other, at) < same_column_m; })) continue;
            known.push_back(at);
            if (box.at.z > 0.5) add_dimension({at.u, 0.0}, at, {-1.0, 0.0});
        }
    }

    void set_bounds() {
        FlatPoint low{std::numeric_limits<double>::max(), std::numeric_limits<double>::max()};
        FlatPoint high{std::numeric_limits<double>::lowest(), std::numeric_limits<double>::lowest()};
        const auto include = [&](FlatPoint at) {
            low = {std::min(low.u, at.u), std::min(low.v, at.v)};
            high = {std::max(high.u, at.u), std::max(high.v, at.v)};
        };
        for (const auto& stroke : result_.strokes)
            for (const FlatPoint& at : stroke.points) include(at);
        for (const auto& box : result_.boxes) include(box.at);
        for (const auto& flag : result_.flags) include(flag.at);
        for (const auto& dimension : result_.dimensions) {
            include(dimension.from);
            include(dimension.to);
        }
        if (view_ == View::section) include({bounds_.low.x, 0.0});
        if (low.u > high.u) include({0.0, 0.0});
        result_.low = low;
        result_.high = high;
    }

    const plan::Plan& plan_;
    const Bounds& bounds_;
    View view_;
    RoomView result_;
};

double round_length_m(double about_m) {
    const double decade = std::pow(10.0, std::floor(std::log10(std::max(about_m, 0.1))));
    for (const double step : {5.0, 2.0})
        if (about_m >= step * decade) return step * decade;
    return decade;
}

}  // namespace

std::string roles_written_out(const plan::Position& position) {
    std::vector<std::string> roles;
    for (const auto& serve : position.serves) {
        std::string role(word(serve.role));
        if (serve.role != plan::Role::on_axis) std::ranges::replace(role, '-', ' ');
        const std::string_view between = serve.role == plan::Role::crossover ? "+" : ", ";
        roles.push_back(fmt::format("{} {}", role, joined(serve.boxes, between)));
    }
    return roles.empty() ? "extra evidence" : joined(roles, "; ");
}

RoomLayout room_layout(const plan::Plan& plan, const std::vector<verify::Fit>& fits) {
    const Bounds bounds = bounds_of(plan);
    RoomLayout layout;
    layout.plan = ViewMaker(plan, bounds, View::plan).made(fits);
    layout.section = ViewMaker(plan, bounds, View::section).made(fits);
    layout.scale_bar_m = round_length_m((layout.plan.high.u - layout.plan.low.u) / 5.0);
    return layout;
}

}  // namespace proofwalk::report
