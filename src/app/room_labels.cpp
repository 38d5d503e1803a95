#include "app/room_labels.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace proofwalk::app {
namespace {

constexpr float names_wide = 70.0F, first_lane = 18.0F, lane_wide = 24.0F;
constexpr float longest_name = 170.0F, longest_flag = 110.0F;
constexpr int farthest_push = 4;  // lines that a name may stand off its box

bool touch(const Rect& a, const Rect& b) { return a.min.x < b.max.x && b.min.x < a.max.x && a.min.y < b.max.y && b.min.y < a.max.y; }

// What is taken on the paper.
class Taken {
public:
    [[nodiscard]] bool free(const Rect& rect) const {
        return std::ranges::none_of(rects_, [&](const Rect& other) { return touch(rect, other); });
    }
    void add(const Rect& rect) { rects_.push_back(rect); }

private:
    std::vector<Rect> rects_;
};

std::optional<verify::Verdict> worst_of(const RoomPicture& picture, const std::string& box) {
    if (picture.worst == nullptr) return std::nullopt;
    const auto found = picture.worst->find(box);
    if (found == picture.worst->end()) return std::nullopt;
    return found->second;
}

// Both ends stand on one line, set off from the farther one, with extension lines, as on drawings. Lines that lead towards the
// stage stand beyond the names.
void draw_dimension(const Stage& stage, Rect rect, const report::FlatDimension& dimension, const RoomScale& scale, Taken& taken) {
    Ink& ink = stage.ink();
    const Point from = scale.place(dimension.from), to = scale.place(dimension.to);
    const Point away{static_cast<float>(dimension.set_off.u), -static_cast<float>(dimension.set_off.v)};
    const float lane = stage.px((away.x < -0.5F ? names_wide : first_lane) + lane_wide * static_cast<float>(dimension.lane));
    const auto reach = [&](Point at) { return at.x * away.x + at.y * away.y; };
    const float edge = std::max(reach(from), reach(to)) + lane;
    const auto set_off = [&](Point at) {
        const float step = edge - reach(at);
        return Point{at.x + step * away.x, at.y + step * away.y};
    };
    const Point a = set_off(from), b = set_off(to);
    const float wide = ink.width(Size::small, dimension.text) + stage.px(6.0F), tall = ink.line_height(Size::small);
    const float pixels = std::hypot(b.x - a.x, b.y - a.y);
    const bool upright = std::abs(b.y - a.y) > std::abs(b.x - a.x);
    if (pixels < (upright ? 2.0F * tall : wide + stage.px(12.0F))) return;
    const Point middle{0.5F * (a.x + b.x), 0.5F * (a.y + b.y)};
    const Rect figure{{middle.x - 0.5F * wide, middle.y - 0.5F * tall}, {middle.x + 0.5F * wide, middle.y + 0.5F * tall}};
    if (!rect.contains(figure.min) || !rect.contains(figure.max) || !taken.free(figure)) return;
    taken.add(figure);
    const Colour light = with_alpha(stage.paper().hairline, 150);
    ink.line(from, a, light);
    ink.line(to, b, light);
    ink.dimension(a, b, dimension.text);
}

struct BoxName {
    std::string text;
    Point at;     // of the box
    std::optional<verify::Verdict> worst;
    int more = 0;  // boxes beside the first
    bool chosen = false;
};

std::vector<BoxName> names_of(const Stage& stage, Rect rect, const report::RoomView& view, const RoomScale& scale, const RoomPicture& picture) {
    std::vector<BoxName> names;
    for (const auto& box : view.boxes) {
        const Point at = scale.place(box.at);
        if (!rect.contains(at)) continue;
        const auto verdict = worst_of(picture, box.box);
        const bool chosen = box.box == picture.box;
        const auto same = std::ranges::find_if(names, [&](const BoxName& name) { return std::hypot(name.at.x - at.x, name.at.y - at.y) < stage.px(4.0F); });
        if (same == names.end()) {
            names.push_back({box.box, at, verdict, 0, chosen});
            continue;
        }
        ++same->more;
        same->worst.reset();
        if (chosen) same->text = box.box + ", " + same->text;
        else if (same->more < 3) same->text += ", " + box.box;
        same->chosen = same->chosen || chosen;
    }
    for (BoxName& name : names)
        if (name.more >= 3) name.text += fmt::format(" +{}", name.more - 2);
    for (BoxName& name : names) name.text = stage.ink().fitted_name(Size::small, name.text, stage.px(longest_name));
    std::ranges::stable_sort(names, [](const BoxName& a, const BoxName& b) { return a.chosen != b.chosen ? a.chosen : a.at.y < b.at.y; });
    return names;
}

// On the stage side of its box, pushed down or up a few lines where that place is taken; in a crowd only where it is free.
void draw_name(const Stage& stage, Rect rect, const BoxName& name, bool crowd, Taken& taken) {
    Ink& ink = stage.ink();
    const float line = ink.line_height(Size::small), wide = ink.width(Size::small, name.text), mark = name.worst ? stage.px(16.0F) : 0.0F;
    const float x = std::max(name.at.x - wide - stage.px(16.0F), rect.min.x + mark);
    for (int push = 0; push <= (crowd ? 0 : 2 * farthest_push); ++push) {
        const float y = name.at.y + line * static_cast<float>((push + 1) / 2) * (push % 2 == 1 ? 1.0F : -1.0F);
        const Rect place{{x - mark, y - 0.5F * line}, {x + wide, y + 0.5F * line}};
        if (place.min.y < rect.min.y || place.max.y > rect.max.y || !taken.free(place)) continue;
        taken.add(place);
        if (push > 0) ink.line({x + wide + stage.px(2.0F), y}, name.at, stage.paper().hairline);
        if (name.worst) ink.mark({x - stage.px(9.0F), y}, stage.px(4.0F), *name.worst);
        ink.fill({{x - stage.px(2.0F), place.min.y + stage.px(1.0F)}, {x + wide + stage.px(2.0F), place.max.y - stage.px(1.0F)}}, with_alpha(stage.paper().ground, 200));  // no line runs through it
        ink.text({x, place.min.y}, Size::small, stage.paper().ink, name.text);
        return;
    }
}

// Flags that would cover another stand on a longer pole; where that does not help, only the place is marked.
void draw_flag(const Stage& stage, Rect rect, const report::FlatFlag& flag, Point at, bool mic, bool chosen, bool with_roles, bool crowd, Taken& taken) {
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    const float foot = stage.px(2.0F);
    ink.fill({{at.x - foot, at.y - foot}, {at.x + foot, at.y + foot}}, paper.ink);
    const std::string more = flag.positions.size() == 1 ? "" : fmt::format("+{}", flag.positions.size() - 1);
    const std::string name = ink.fitted_name(Size::small, flag.positions.front(), stage.px(longest_flag)) + more;
    const float wide = ink.width(Size::small, name) + stage.px(8.0F), tall = stage.px(15.0F);
    Rect cloth;
    bool free = false;
    for (const float pole : {15.0F, 32.0F, 49.0F}) {
        const float left = at.x + wide > rect.max.x ? at.x - wide : at.x;  // the cloth blows into the drawing
        cloth = {{left, at.y - stage.px(pole) - tall}, {left + wide, at.y - stage.px(pole)}};
        free = cloth.min.y >= rect.min.y && taken.free(cloth);
        if (free) break;
    }
    if (!free && !chosen && (!mic || crowd)) return;
    if (!free) {
        cloth.min.y = std::max(rect.min.y, at.y - stage.px(15.0F) - tall);
        cloth.max.y = cloth.min.y + tall;
    }
    taken.add(cloth);
    ink.line(at, {at.x, cloth.min.y}, paper.ink);
    ink.fill(cloth, mic ? paper.ink : paper.ground);
    ink.frame(cloth, paper.ink, chosen ? 2.5F : 1.0F);
    ink.text_centred(cloth, Size::small, mic ? paper.ground : paper.ink, name);
    if ((!with_roles && !chosen) || flag.roles.empty() || stage.records() == nullptr) return;
    const std::string roles = ink.fitted(Size::small, flag.roles, stage.px(220.0F));
    const Rect place{{cloth.max.x + stage.px(4.0F), cloth.min.y}, {cloth.max.x + stage.px(4.0F) + ink.width(Size::small, roles), cloth.max.y}};
    if (!chosen && !taken.free(place)) return;
    if (chosen) ink.fill(place, paper.ground);
    taken.add(place);
    ink.text(place.min, Size::small, paper.faint, roles);
}

}  // namespace

float room_left_margin(const Stage& stage, const report::RoomView& view) {
    int lanes = 0;
    for (const auto& dimension : view.dimensions)
        if (dimension.set_off.u < -0.5) lanes = std::max(lanes, dimension.lane + 1);
    return stage.px(names_wide + lane_wide * static_cast<float>(lanes));
}

void draw_room_labels(const Stage& stage, Rect rect, const report::RoomView& view, const RoomScale& scale, const RoomPicture& picture, bool is_plan) {
    Taken taken;
    const bool crowd = view.boxes.size() > boxes_in_a_crowd;
    for (const auto& box : view.boxes) {
        const Point at = scale.place(box.at);
        const float half = stage.px(3.0F);
        if (!crowd) taken.add({{at.x - half, at.y - half}, {at.x + half, at.y + half}});
    }
    for (const auto& name : names_of(stage, rect, view, scale, picture)) draw_name(stage, rect, name, crowd, taken);
    for (const auto& dimension : view.dimensions) draw_dimension(stage, rect, dimension, scale, taken);
    const bool roomy = is_plan && view.flags.size() <= 14 && scale.per_metre > stage.px(34.0F);
    for (const bool first : {true, false})
        for (const auto& flag : view.flags) {
            const Point at = scale.place(flag.at);
            if (!rect.contains(at)) continue;
            const auto any_of = [&](const auto& list) {
                return std::ranges::any_of(flag.positions, [&](const auto& id) { return std::ranges::find(list, id) != list.end(); });
            };
            const bool mic = any_of(picture.mics), chosen = std::ranges::find(flag.positions, picture.position) != flag.positions.end();
            if ((mic || chosen) == first) draw_flag(stage, rect, flag, at, mic, chosen, roomy, crowd, taken);
        }
}

}  // namespace proofwalk::app
