#include "report/room_drawing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "report/figures.hpp"
#include "report/label_places.hpp"
#include "report/sheet_style.hpp"
#include "report/svg_canvas.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

constexpr double text_size = 13.0;
constexpr double line_height = 16.0;
constexpr double bold_wider = 1.15;
constexpr double shortest_bar = 12.0;
constexpr double flag_staff = 15.0;
constexpr double flag_height = 15.0;
constexpr double first_lane = 22.0, lane_width = 28.0;  // of dimension lines, off what they measure

struct Frame {
    double width = 1040.0, tallest = 900.0;
    double left = 70.0, right = 30.0, top = 34.0, between = 96.0, bottom = 44.0;
};

using ToPixel = std::function<Pixel(FlatPoint)>;

std::string_view class_of(StrokeKind kind) {
    switch (kind) {
        case StrokeKind::area: return "area";
        case StrokeKind::coverage_edge: return "edge";
        case StrokeKind::axis_planned: return "axis-planned";
        case StrokeKind::axis_fitted: return "axis-fitted";
        case StrokeKind::fan: return "fan";
    }
    return "edge";
}

// Boxes that hang in one place of the view share a label: "A1 ... A8".
struct BoxLabel {
    std::vector<std::string> boxes;
    Pixel at;
    std::string notes;
};

std::string name_of(const BoxLabel& label) {
    if (label.boxes.size() <= 4) return joined(label.boxes);
    return fmt::format("{}\u2026{}", label.boxes.front(), label.boxes.back());
}

class ViewDrawing {
public:
    ViewDrawing(SvgCanvas& canvas, LabelPlaces& places, const RoomView& view, ToPixel to_pixel)
        : canvas_(canvas), places_(places), view_(view), to_pixel_(std::move(to_pixel)) {}

    enum class Flags { with_roles, numbers, feet };

    void draw(const RoomMarks& marks, Flags flags) {
        // Areas lie lowest, then light rules, then aims: what is judged is drawn last.
        for (const StrokeKind kind : {StrokeKind::area, StrokeKind::coverage_edge, StrokeKind::fan,
                                      StrokeKind::axis_planned, StrokeKind::axis_fitted})
            for (const auto& stroke : view_.strokes)
                if (stroke.kind == kind) draw_stroke(stroke);
        for (const auto& box : view_.boxes) draw_bar(box);
        if (flags != Flags::feet) plan_flags();
        for (const auto& dimension : view_.dimensions) draw_dimension(dimension);
        draw_box_labels(marks);
        for (const auto& flag : view_.flags) draw_flag(flag, flags);
        draw_area_names();
    }

private:
    void draw_stroke(const FlatStroke& stroke) {
        std::vector<Pixel> points;
        for (const FlatPoint& at : stroke.points) points.push_back(to_pixel_(at));
        canvas_.path(class_of(stroke.kind), points, stroke.closed);
        if (stroke.kind == StrokeKind::fan || stroke.kind == StrokeKind::coverage_edge) return;
        for (std::size_t i = 1; i < points.size(); ++i) places_.avoid_line(points[i - 1], points[i]);
    }

    void draw_bar(const FlatBox& box) {
        const Pixel middle = to_pixel_(box.at);
        const Pixel end = to_pixel_({box.at.u + box.across.u, box.at.v + box.across.v});
        const double metre = std::max(1e-6, std::hypot(end.x - middle.x, end.y - middle.y));
        const double half = std::max(shortest_bar, box.length_m * metre) / 2.0;
        const Pixel step{(end.x - middle.x) / metre * half, (end.y - middle.y) / metre * half};
        canvas_.open_group(box.box);
        canvas_.line("box", {middle.x - step.x, middle.y - step.y}, {middle.x + step.x, middle.y + step.y});
        canvas_.close_group();
        places_.keep_clear({middle.x - std::abs(step.x) - 3.0, middle.y - std::abs(step.y) - 3.0,
                            middle.x + std::abs(step.x) + 3.0, middle.y + std::abs(step.y) + 3.0});
    }

    void draw_box_labels(const RoomMarks& marks) {
        std::vector<BoxLabel> labels;
        for (const auto& box : view_.boxes) {
            const Pixel at = to_pixel_(box.at);
            auto label = std::ranges::find_if(labels, [&](const BoxLabel& other) {
                return std::hypot(other.at.x - at.x, other.at.y - at.y) < line_height;
            });
            if (label == labels.end()) label = labels.insert(labels.end(), {{}, at, {}});
            label->boxes.push_back(box.box);
            if (const auto note = marks.notes.find(box.box); note != marks.notes.end())
                label->notes += (label->notes.empty() ? "" : ", ") + note->second;
        }
        for (const auto& label : labels) draw_box_label(label);
    }

    void draw_box_label(const BoxLabel& label) {
        const std::string name = name_of(label);
        const double name_width = bold_wider * text_width(name, text_size) + 2.0;
        const double mark_width = label.notes.empty() ? 0.0 : 18.0 + text_width(label.notes, text_size);
        const auto place = places_.near(label.at, name_width + mark_width, line_height, 10.0);
        if (!place) return;
        canvas_.text("box-name", {place->x, place->y + 4.5}, name);
        if (label.notes.empty()) return;
        canvas_.symbol("mark-fail", {place->x + name_width + 8.0, place->y}, 14.0);
        canvas_.text("box-name", {place->x + name_width + 17.0, place->y + 4.5}, label.notes);
    }

    // Set off beside what it measures, with extension lines, as on drawings.
    void draw_dimension(const FlatDimension& dimension) {
        const Pixel measured_from = to_pixel_(dimension.from);
        const Pixel measured_to = to_pixel_(dimension.to);
        const Pixel beyond = to_pixel_({dimension.from.u + dimension.set_off.u, dimension.from.v + dimension.set_off.v});
        const double metre = std::max(1e-6, std::hypot(beyond.x - measured_from.x, beyond.y - measured_from.y));
        const Pixel away{(beyond.x - measured_from.x) / metre, (beyond.y - measured_from.y) / metre};
        const double lane = first_lane + lane_width * dimension.lane;
        // Both ends stand on one line, set off from the farther one.
        const auto reach = [&](Pixel at) { return at.x * away.x + at.y * away.y; };
        const double edge = std::max(reach(measured_from), reach(measured_to)) + lane;
        const auto set_off = [&](Pixel at) {
            const double step = edge - reach(at);
            return Pixel{at.x + step * away.x, at.y + step * away.y};
        };
        const Pixel from = set_off(measured_from);
        const Pixel to = set_off(measured_to);
        const double pixels = std::hypot(to.x - from.x, to.y - from.y);
        if (pixels < 10.0) return;
        canvas_.line("extension", measured_from, from);
        canvas_.line("extension", measured_to, to);
        canvas_.line("dimension", from, to);
        places_.avoid_line(from, to);
        const Pixel along{(to.x - from.x) / pixels, (to.y - from.y) / pixels};
        for (const Pixel& end : {from, to})
            canvas_.line("dimension-tick", {end.x - 4.0 * (along.x - along.y), end.y - 4.0 * (along.y + along.x)},
                         {end.x + 4.0 * (along.x - along.y), end.y + 4.0 * (along.y + along.x)});
        draw_dimension_text(dimension.text, {(from.x + to.x) / 2.0, (from.y + to.y) / 2.0}, std::abs(along.y) > 0.7, pixels);
    }

    void draw_dimension_text(const std::string& text, Pixel middle, bool upright, double pixels) {
        const double width = text_width(text, text_size);
        if (width + 6.0 > pixels) {
            if (const auto place = places_.near(middle, width, line_height, 4.0))
                canvas_.text("dimension-text", {place->x, place->y + 4.5}, text);
            return;
        }
        // The text stands on its line, on the outer side, where nothing else stands.
        const double half_x = upright ? line_height / 2.0 : width / 2.0;
        const double half_y = upright ? width / 2.0 : line_height / 2.0;
        const double free_way = (pixels - width) / 2.0 - 4.0;
        for (const double part : {0.0, -0.5, 0.5, -1.0, 1.0}) {
            const Pixel at{middle.x + (upright ? 0.0 : part * free_way), middle.y + (upright ? part * free_way : 0.0)};
            const Pixel centre{at.x - (upright ? half_x : 0.0), at.y - (upright ? 0.0 : half_y)};
            if (!places_.claim({centre.x - half_x, centre.y - half_y, centre.x + half_x, centre.y + half_y})) continue;
            if (upright)
                canvas_.text("dimension-text", {at.x - 4.0, at.y}, text, SvgCanvas::Anchor::middle, -90.0);
            else
                canvas_.text("dimension-text", {at.x, at.y - 4.0}, text, SvgCanvas::Anchor::middle);
            return;
        }
    }

    static std::string number_text(const FlatFlag& flag) {
        std::string text;
        for (std::size_t i = 0; i < flag.numbers.size(); ++i) {
            if (i == 3 && flag.numbers.size() > 4) return text + "\u2026";
            text += fmt::format("{}{}", i == 0 ? "" : ",", flag.numbers[i]);
        }
        return text;
    }

    static double flag_width(const FlatFlag& flag) { return text_width(number_text(flag), text_size) + 10.0; }

    // Staffs as long as it takes for no flag to cover another.
    void plan_flags() {
        std::vector<const FlatFlag*> order;
        for (const auto& flag : view_.flags) order.push_back(&flag);
        std::ranges::stable_sort(order, {}, [&](const FlatFlag* flag) { return to_pixel_(flag->at).x; });
        std::vector<Rectangle> cloths;
        for (const FlatFlag* flag : order) {
            const Pixel foot = to_pixel_(flag->at);
            Rectangle cloth;
            for (double staff = flag_staff; staff < flag_staff + 5.0 * (flag_height + 3.0); staff += flag_height + 3.0) {
                cloth = {foot.x, foot.y - staff - flag_height, foot.x + flag_width(*flag), foot.y - staff};
                const bool covers = std::ranges::any_of(cloths, [&](const Rectangle& other) {
                    return cloth.left < other.right + 2.0 && other.left < cloth.right + 2.0 && cloth.top < other.bottom &&
                           other.top < cloth.bottom;
                });
                if (!covers) break;
            }
            cloths.push_back(cloth);
            places_.keep_clear({cloth.left - 3.0, cloth.top - 1.0, cloth.right, cloth.bottom});
            places_.keep_clear({foot.x - 3.0, cloth.bottom, foot.x + 3.0, foot.y + 3.0});
            cloths_[flag] = cloth;
        }
    }

    void draw_flag(const FlatFlag& flag, Flags flags) {
        const Pixel foot = to_pixel_(flag.at);
        canvas_.open_group(joined(flag.positions) + (flag.roles.empty() ? "" : ": " + flag.roles));
        canvas_.disc("flag-foot", foot, 2.2);
        if (flags != Flags::feet) draw_cloth(flag, foot);
        canvas_.close_group();
        if (flags == Flags::with_roles && !flag.roles.empty()) draw_role(flag);
    }

    void draw_cloth(const FlatFlag& flag, Pixel foot) {
        const Rectangle& cloth = cloths_.at(&flag);
        canvas_.line("flag-staff", foot, {cloth.left, cloth.top});
        canvas_.path("flag", {{cloth.left, cloth.top}, {cloth.right, cloth.top}, {cloth.right - 4.0, (cloth.top + cloth.bottom) / 2.0},
                              {cloth.right, cloth.bottom}, {cloth.left, cloth.bottom}}, true);
        canvas_.text("flag-number", {cloth.left + 3.0, cloth.top + 11.8}, number_text(flag));
    }

    void draw_role(const FlatFlag& flag) {
        const Rectangle& cloth = cloths_.at(&flag);
        const Pixel middle{(cloth.left + cloth.right) / 2.0, (cloth.top + cloth.bottom) / 2.0};
        const double clearance = (cloth.right - cloth.left) / 2.0 + 4.0;
        if (const auto place = places_.near(middle, text_width(flag.roles, 11.0), 13.0, clearance))
            canvas_.text("flag-role", {place->x, place->y + 4.0}, flag.roles);
    }

    void draw_area_names() {
        for (const auto& stroke : view_.strokes) {
            if (stroke.kind != StrokeKind::area || stroke.points.empty()) continue;
            const Pixel at = to_pixel_(stroke.points.back());
            if (const auto place = places_.near(at, text_width(stroke.subject, text_size), line_height, 5.0))
                canvas_.text("area-name", {place->x, place->y + 4.5}, stroke.subject);
        }
    }

    SvgCanvas& canvas_;
    LabelPlaces& places_;
    const RoomView& view_;
    ToPixel to_pixel_;
    std::map<const FlatFlag*, Rectangle> cloths_;
};

void draw_title(SvgCanvas& canvas, LabelPlaces& places, Pixel at, std::string_view title) {
    canvas.text("view-name", at, title);
    places.keep_clear({at.x, at.y - 14.0, at.x + text_width(title, 16.0) + 8.0, at.y + 4.0});
}

void draw_scale_bar(SvgCanvas& canvas, Pixel left, double metres, double pixels_per_metre) {
    const double length = metres * pixels_per_metre;
    canvas.rectangle("scale-empty", left, length, 5.0);
    canvas.rectangle("scale-full", left, length / 2.0, 5.0);
    canvas.text("dimension-text", {left.x, left.y - 4.0}, "0");
    canvas.text("dimension-text", {left.x + length, left.y - 4.0}, with_unit(fixed(metres, 0), "m"),
                SvgCanvas::Anchor::end);
}

// Towards the stage, as the north arrow of a map.
void draw_stage_arrow(SvgCanvas& canvas, Pixel tip, Pixel away) {
    const Pixel side{-away.y, away.x};
    const auto at = [&](double along, double across) {
        return Pixel{tip.x + along * away.x + across * side.x, tip.y + along * away.y + across * side.y};
    };
    canvas.path("arrow-full", {at(0, 0), at(16, 5), at(12, 0)}, true);
    canvas.path("arrow-empty", {at(0, 0), at(16, -5), at(12, 0)}, true);
    canvas.line("arrow-line", at(12, 0), at(34, 0));
    canvas.text("dimension-text", {at(38, 0).x, at(38, 0).y + (away.y > 0 ? 8.0 : 4.5)}, "stage",
                away.y > 0 ? SvgCanvas::Anchor::middle : SvgCanvas::Anchor::start);
}

std::string described(const RoomLayout& layout) {
    return fmt::format("The room in plan and section at one scale with {}, {} and {} dimension lines. Every figure stands "
                       "in the tables below.",
                       counted(layout.plan.boxes.size(), "box", "boxes"), counted(layout.plan.flags.size(), "flag of mic positions", "flags of mic positions"),
                       layout.plan.dimensions.size() + layout.section.dimensions.size());
}

double span(double low, double high) { return std::max(1.0, high - low); }

}  // namespace

RoomPicture room_picture(const RoomLayout& layout, const std::string& show_name, RoomFormat format, const RoomMarks& marks) {
    const bool wide = format == RoomFormat::wide;
    Frame frame;
    if (!wide) frame = {.width = 400.0, .tallest = 1100.0, .left = 34.0, .right = 16.0, .top = 64.0};
    const RoomView& plan = layout.plan;
    const RoomView& section = layout.section;
    const double deep_m = span(std::min(plan.low.u, section.low.u), std::max(plan.high.u, section.high.u));
    const double first_m = std::min(plan.low.u, section.low.u);
    const double broad_m = span(plan.low.v, plan.high.v);
    const double high_m = span(section.low.v, section.high.v);
    const double room = frame.width - frame.left - frame.right;
    const double free_height = frame.tallest - frame.top - frame.between - frame.bottom;
    const double scale = std::min({room / deep_m, free_height / ((wide ? broad_m : deep_m) + high_m),
                                   wide ? room / deep_m : room / broad_m});
    const double plan_height = (wide ? broad_m : deep_m) * scale;
    const double section_top = frame.top + plan_height + frame.between;
    const double height = std::ceil(section_top + high_m * scale + frame.bottom);

    const double indent = frame.left + (wide ? 0.0 : std::max(0.0, (room - broad_m * scale) / 2.0));
    const ToPixel plan_pixel = [&](FlatPoint at) {
        if (wide) return Pixel{indent + (at.u - first_m) * scale, frame.top + (plan.high.v - at.v) * scale};
        return Pixel{indent + (at.v - plan.low.v) * scale, frame.top + (at.u - first_m) * scale};
    };
    const double section_indent = wide ? indent : frame.left;
    const ToPixel section_pixel = [&](FlatPoint at) {
        return Pixel{section_indent + (at.u - first_m) * scale, section_top + (section.high.v - at.v) * scale};
    };

    SvgCanvas canvas(frame.width, height, wide ? "room room-wide" : "room room-narrow", "Room drawing of " + show_name,
                     described(layout));
    LabelPlaces places(frame.width, height);
    draw_title(canvas, places, {2.0, 14.0}, "PLAN");
    draw_title(canvas, places, {2.0, section_top - 30.0}, "SECTION");
    const Pixel arrow_tip = wide ? Pixel{70.0, 10.0} : Pixel{frame.width - 40.0, 4.0};
    draw_stage_arrow(canvas, arrow_tip, wide ? Pixel{1.0, 0.0} : Pixel{0.0, 1.0});
    places.keep_clear({arrow_tip.x - 8.0, arrow_tip.y - 8.0, arrow_tip.x + (wide ? 90.0 : 20.0), arrow_tip.y + 54.0});
    const Pixel ground_from = section_pixel({first_m, 0.0});
    const Pixel ground_to = section_pixel({first_m + deep_m, 0.0});
    canvas.line("ground", ground_from, ground_to);
    places.avoid_line(ground_from, ground_to);
    ViewDrawing(canvas, places, plan, plan_pixel).draw(marks, ViewDrawing::Flags::with_roles);
    // The narrow section has no room for flags: their feet stand in it, their numbers in the plan.
    ViewDrawing(canvas, places, section, section_pixel)
        .draw({}, wide ? ViewDrawing::Flags::numbers : ViewDrawing::Flags::feet);
    draw_scale_bar(canvas, {section_indent, height - 12.0}, layout.scale_bar_m, scale);
    return {std::move(canvas).finished(), frame.width, height};
}

std::string plan_svg(const plan::Plan& plan) {
    std::string svg = room_picture(room_layout(plan, {}), plan.name, RoomFormat::wide).svg;
    const std::size_t body = svg.find('\n') + 1;
    svg.insert(body, "<style>" + drawing_style() + "</style>\n");
    return svg;
}

}  // namespace proofwalk::report
