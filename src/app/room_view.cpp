#include "app/room_labels.hpp"
#include "app/room_view.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "report/figures.hpp"

namespace proofwalk::app {
namespace {

constexpr double margin_m = 0.6;
constexpr float flag_margin = 26.0F;  // above what stands highest in a view

std::vector<Point> placed(const std::vector<report::FlatPoint>& points, const RoomScale& scale) {
    std::vector<Point> result;
    for (const auto& point : points) result.push_back(scale.place(point));
    return result;
}

void draw_stroke(const Stage& stage, const report::FlatStroke& stroke, const RoomScale& scale, bool chosen, bool dimmed, bool crowd) {
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    if (crowd && !chosen && stroke.kind == report::StrokeKind::coverage_edge) return;
    auto points = placed(stroke.points, scale);
    switch (stroke.kind) {
        case report::StrokeKind::area: ink.path(points, paper.faint, 1.0F, stroke.closed); break;
        case report::StrokeKind::coverage_edge: ink.path(points, chosen ? paper.faint : with_alpha(paper.hairline, dimmed ? 90 : 255)); break;
        case report::StrokeKind::axis_planned: ink.dashed_path(points, dimmed ? paper.hairline : chosen ? paper.ink : paper.faint, 1.2F, crowd && !chosen ? 14.0F : 6.0F, crowd && !chosen ? 10.0F : 4.0F); break;
        case report::StrokeKind::axis_fitted: ink.path(points, dimmed ? paper.hairline : paper.curves[0], chosen ? 2.4F : 1.6F); break;
        case report::StrokeKind::fan:
            if (points.size() >= 3) ink.fill_convex(points, with_alpha(paper.curves[0], chosen ? 110 : 60));
            break;
    }
}

void draw_box(const Stage& stage, const report::FlatBox& box, const RoomScale& scale, const RoomPicture& picture) {
    Ink& ink = stage.ink();
    const Point at = scale.place(box.at);
    const float half = std::max(0.5F * static_cast<float>(box.length_m) * scale.per_metre, stage.px(6.0F));
    const Point along{static_cast<float>(box.across.u) * half, -static_cast<float>(box.across.v) * half};
    const bool chosen = picture.box == box.box;
    ink.line(at - along, at + along, stage.paper().ink, chosen ? 6.0F : 4.0F);
    if (chosen) ink.ring(at, half + stage.px(6.0F), stage.paper().ink, 1.0F);
}

void draw_way(const Stage& stage, const report::RoomView& view, const RoomScale& scale, const std::vector<std::string>& way) {
    std::vector<Point> points;
    for (const auto& id : way)
        for (const auto& flag : view.flags)
            if (std::ranges::find(flag.positions, id) != flag.positions.end()) points.push_back(scale.place(flag.at));
    stage.ink().dashed_path(points, stage.paper().hairline, 1.0F, 2.0F, 5.0F);
}

// What would lie on the same pixels again; boxes that hang in one line do so in the section.
class DrawnBefore {
public:
    bool covers(int kind, Point from, Point to) {
        const auto whole = [](float at) { return static_cast<int>(std::lround(at)); };
        return !seen_.insert({kind, whole(from.x), whole(from.y), whole(to.x), whole(to.y)}).second;
    }

private:
    std::set<std::array<int, 5>> seen_;
};

void draw_view(const Stage& stage, Rect rect, const report::RoomView& view, const RoomScale& scale, const RoomPicture& picture, bool is_plan) {
    Ink& ink = stage.ink();
    ink.clip(rect);
    const bool crowd = view.boxes.size() > boxes_in_a_crowd;
    if (is_plan) draw_way(stage, view, scale, picture.way);
    DrawnBefore drawn;
    for (const bool chosen_pass : {false, true})
        for (const auto& stroke : view.strokes) {
            const bool chosen = !picture.box.empty() && stroke.subject == picture.box;
            const bool dimmed = !picture.box.empty() && !chosen && stroke.kind != report::StrokeKind::area;
            if (chosen != chosen_pass || stroke.points.empty()) continue;
            if (crowd && !chosen && drawn.covers(static_cast<int>(stroke.kind), scale.place(stroke.points.front()), scale.place(stroke.points.back()))) continue;
            draw_stroke(stage, stroke, scale, chosen, dimmed, crowd);
        }
    for (const auto& box : view.boxes) {
        const Point at = scale.place(box.at);
        if (!crowd || box.box == picture.box || !drawn.covers(-1, at, at)) draw_box(stage, box, scale, picture);
    }
    draw_room_labels(stage, rect, view, scale, picture, is_plan);
    ink.unclip();
}

void draw_scale_bar(const Stage& stage, Rect rect, double metres, float per_metre) {
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    const float length = static_cast<float>(metres) * per_metre;
    const Point from{rect.min.x + stage.px(8.0F), rect.max.y - stage.px(10.0F)};
    if (length > rect.width()) return;
    ink.line(from, {from.x + length, from.y}, paper.ink, 2.0F);
    for (const float share : {0.0F, 0.5F, 1.0F}) ink.line({from.x + share * length, from.y - stage.px(4.0F)}, {from.x + share * length, from.y + stage.px(4.0F)}, paper.ink);
    ink.text({from.x + length + stage.px(6.0F), from.y - 0.5F * ink.line_height(Size::small)}, Size::small, paper.ink, fmt::format("{} m", report::fixed(metres, metres < 1.0 ? 1 : 0)));
}

// The drawing's "north" is the stage.
void draw_stage_arrow(const Stage& stage, Rect rect) {
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    const Point tip{rect.max.x - stage.px(120.0F), rect.min.y + stage.px(9.0F)}, tail{tip.x + stage.px(36.0F), tip.y};
    ink.line(tip, tail, paper.ink, 1.5F);
    const std::array<Point, 3> head = {tip, Point{tip.x + stage.px(9.0F), tip.y - stage.px(4.0F)}, Point{tip.x + stage.px(9.0F), tip.y + stage.px(4.0F)}};
    ink.fill_convex(head, paper.ink);
    ink.text({tail.x + stage.px(6.0F), tip.y - 0.5F * ink.line_height(Size::small)}, Size::small, paper.ink, "to the stage");
}

}  // namespace

RoomPlaces room_places(const Stage& stage, Rect rect, const report::RoomLayout& layout, float zoom, Point shift) {
    const auto size = [](const report::RoomView& view) {
        return report::FlatPoint{std::max(view.high.u - view.low.u, 1.0) + 2.0 * margin_m, std::max(view.high.v - view.low.v, 1.0) + 2.0 * margin_m};
    };
    const auto plan_m = size(layout.plan), section_m = size(layout.section);
    const float gap = stage.px(34.0F);
    const float names = room_left_margin(stage, layout.plan), flags = stage.px(flag_margin);
    const float across = (rect.width() - names) / static_cast<float>(std::max(plan_m.u, section_m.u));
    const float down = (rect.height() - gap - 2.0F * flags) / static_cast<float>(plan_m.v + section_m.v);
    const float per_metre = std::max(0.5F, std::min(across, down)) * zoom;
    RoomPlaces places;
    const float share = static_cast<float>(plan_m.v / (plan_m.v + section_m.v));
    places.plan_at = {rect.min, {rect.max.x, rect.min.y + share * (rect.height() - gap)}};
    places.section_at = {{rect.min.x, places.plan_at.max.y + gap}, rect.max};
    const auto centred = [&](Rect at, const report::RoomView& view, bool sideways_only) {
        RoomScale scale{{0.0F, 0.0F}, per_metre};
        const double u = 0.5 * (view.low.u + view.high.u), v = 0.5 * (view.low.v + view.high.v);
        scale.origin = {at.centre().x + 0.5F * names - static_cast<float>(u) * per_metre + shift.x, at.centre().y + 0.5F * flags + static_cast<float>(v) * per_metre + (sideways_only ? 0.0F : shift.y)};
        return scale;
    };
    places.plan = centred(places.plan_at, layout.plan, false);
    places.section = centred(places.section_at, layout.section, true);
    places.section.origin.x = places.plan.origin.x;  // the same x stands above itself
    return places;
}

RoomHit hit(const Stage& stage, const RoomPlaces& places, const report::RoomLayout& layout, Point at) {
    RoomHit found;
    float nearest = stage.px(24.0F);
    const auto look = [&](const report::RoomView& view, const RoomScale& scale) {
        for (const auto& box : view.boxes) {
            const Point place = scale.place(box.at);
            const float away = std::hypot(place.x - at.x, place.y - at.y);
            if (away < nearest) nearest = away, found = {box.box, ""};
        }
        for (const auto& flag : view.flags) {
            const Point place = scale.place(flag.at);
            const float away = std::hypot(place.x + stage.px(10.0F) - at.x, place.y - stage.px(20.0F) - at.y);
            if (away < nearest) nearest = away, found = {"", flag.positions.front()};
        }
    };
    if (places.plan_at.contains(at)) look(layout.plan, places.plan);
    if (places.section_at.contains(at)) look(layout.section, places.section);
    return found;
}

void draw_room_view(const Stage& stage, const RoomPlaces& places, const RoomPicture& picture) {
    draw_view(stage, places.plan_at, picture.layout->plan, places.plan, picture, true);
    Ink& ink = stage.ink();
    const float y = places.section_at.min.y - stage.px(26.0F);
    ink.line({places.plan_at.min.x, y}, {places.plan_at.max.x, y}, stage.paper().hairline);
    ink.text({places.plan_at.min.x + stage.px(4.0F), places.plan_at.min.y}, Size::small, stage.paper().faint, "Plan");
    ink.text({places.plan_at.min.x + stage.px(4.0F), y + stage.px(2.0F)}, Size::small, stage.paper().faint, "Section");
    draw_view(stage, places.section_at, picture.layout->section, places.section, picture, false);
    draw_scale_bar(stage, places.plan_at, picture.layout->scale_bar_m, places.plan.per_metre);
    if (places.plan_at.width() > stage.px(360.0F)) draw_stage_arrow(stage, places.plan_at);  // in a small drawing it would lie on a flag
}

void draw_plan_view(const Stage& stage, Rect rect, const RoomPicture& picture) {
    const report::RoomView& view = picture.layout->plan;
    const float wide = static_cast<float>(view.high.u - view.low.u + 2.0 * margin_m), tall = static_cast<float>(view.high.v - view.low.v + 2.0 * margin_m);
    const float names = room_left_margin(stage, view), flags = stage.px(flag_margin);
    RoomScale scale{{0.0F, 0.0F}, std::max(0.5F, std::min((rect.width() - names) / wide, (rect.height() - flags) / tall))};
    scale.origin = {rect.centre().x + 0.5F * names - static_cast<float>(0.5 * (view.low.u + view.high.u)) * scale.per_metre,
                    rect.centre().y + 0.5F * flags + static_cast<float>(0.5 * (view.low.v + view.high.v)) * scale.per_metre};
    draw_view(stage, rect, view, scale, picture, true);
}

}  // namespace proofwalk::app
