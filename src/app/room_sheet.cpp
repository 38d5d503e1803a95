// Room: plan and section, planned aims dashed and fitted aims solid, where the mics stand now and the way they walk.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "app/room_view.hpp"
#include "report/figures.hpp"
#include "report/wording.hpp"

namespace proofwalk::app {
namespace {

void draw_facts(const Stage& stage, Rect rect, const plan::Box& box) {
    const Records& show = *stage.records();
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    Rect rest = rect;
    ink.text_in(cut_top(rest, stage.px(30.0F)), Size::head, paper.ink, box.id);
    ink.text_in(cut_top(rest, stage.px(20.0F)), Size::small, paper.faint, fmt::format("{}, circuit {}{}", box.model, box.circuit, box.output ? fmt::format(", output {}", *box.output) : ""));
    if (!box.patch.empty()) cut_top(rest, ink.wrapped(cut_top(rest, stage.px(34.0F)), Size::small, paper.faint, box.patch) - stage.px(30.0F));
    Rect head = cut_top(rest, stage.px(20.0F));
    const float column = 0.36F * rect.width();
    ink.text({head.min.x + 0.28F * rect.width(), head.min.y}, Size::small, paper.faint, "planned");
    ink.text({head.min.x + 0.28F * rect.width() + column, head.min.y}, Size::small, paper.faint, "by the sound");
    ink.line({rect.min.x, head.max.y}, head.max, paper.hairline);
    const verify::Fit* fit = show.fit(box.id);
    const auto line = [&](std::string_view name, const std::string& planned, const std::string& fitted) {
        Rect row = cut_top(rest, stage.px(20.0F));
        ink.text_in({row.min, {row.min.x + 0.27F * rect.width(), row.max.y}}, Size::small, paper.faint, name);
        row.min.x += 0.28F * rect.width();
        ink.text_in({row.min, {row.min.x + column, row.max.y}}, Size::small, paper.ink, planned);
        ink.text_in({{row.min.x + column, row.min.y}, row.max}, Size::small, paper.ink, fitted);
    };
    const auto fitted = [&](std::optional<double> value, std::optional<double> u, std::string_view unit) { return fit == nullptr ? std::string{report::no_figure} : report::fitted(value, u, unit); };
    using O = std::optional<double>;
    line("pan", report::with_unit(report::fixed(box.pan_deg, 1), "deg"), fitted(fit ? fit->pan_deg : O{}, fit ? fit->pan_u_deg : O{}, "deg"));
    line("tilt", report::with_unit(report::fixed(box.tilt_deg, 1), "deg"), fitted(fit ? fit->tilt_deg : O{}, fit ? fit->tilt_u_deg : O{}, "deg"));
    const std::array<double, 3> at = {box.at.x, box.at.y, box.at.z};
    for (std::size_t axis = 0; axis < 3; ++axis)
        line(std::array{"x", "y", "z"}[axis], report::with_unit(report::fixed(at[axis], 2), "m"), fitted(fit ? fit->at[axis] : O{}, fit ? fit->at_u[axis] : O{}, "m"));
    line("gain", report::with_unit(report::fixed(box.gain_db, 1), "dB"), fitted(fit ? fit->gain_db : O{}, fit ? fit->gain_u_db : O{}, "dB"));
    line("delay", report::with_unit(report::fixed(box.delay_ms, 2), "ms"), "");
    cut_top(rest, stage.px(8.0F));
    Rect noted = cut_bottom(rest, std::min(stage.px(120.0F), 0.4F * rest.height()));
    draw_remarks(stage, noted, {"box " + box.id, "circuit " + box.circuit, "position " + stage.state.position}, 3);
    for (const auto& check : show.page.tally.checks) {
        if (first_box_of(show.plan(), check.subject) != box.id && check.subject.find(box.id) == std::string::npos) continue;
        if (rest.height() < stage.px(20.0F)) break;
        Rect row = cut_top(rest, stage.px(20.0F));
        ink.mark({row.min.x + stage.px(7.0F), row.centre().y}, stage.px(4.5F), check.verdict);
        row.min.x += stage.px(18.0F);
        ink.text_in({row.min, {row.max.x - stage.px(100.0F), row.max.y}}, Size::small, paper.ink, fmt::format("{} {}", plan::word(check.kind), check.subject));
        ink.text_right({row.max.x, row.min.y + stage.px(1.0F)}, Size::small, paper.ink, report::value_of(check));
    }
}

// The one before or after in a list that goes round; the first or last where none is chosen.
template <class Named>
std::string neighbour(const std::vector<Named>& list, const std::string& id, int by) {
    const std::size_t count = list.size(), at = static_cast<std::size_t>(std::ranges::find(list, id, &Named::id) - list.begin());
    if (at == count) return by > 0 ? list.front().id : list.back().id;
    return list[(at + count + static_cast<std::size_t>(by)) % count].id;
}

// A chosen position while no box is chosen: what it serves, where it is, what was noted.
void draw_position(const Stage& stage, Rect rect, const plan::Position& position) {
    Ink& ink = stage.ink();
    Rect rest = rect;
    ink.text_in(cut_top(rest, stage.px(30.0F)), Size::head, stage.paper().ink, position.id);
    cut_top(rest, ink.wrapped(rest, Size::small, stage.paper().ink, role_words(stage.records()->plan(), position.id)) + stage.px(4.0F));
    ink.text_in(cut_top(rest, stage.px(20.0F)), Size::small, stage.paper().faint, fmt::format("x {}, y {}, z {} m", report::fixed(position.at.x, 2), report::fixed(position.at.y, 2), report::fixed(position.at.z, 2)));
    cut_top(rest, stage.px(8.0F));
    draw_remarks(stage, rest, {"position " + position.id}, 8);
}

}  // namespace

void draw_room(const Stage& stage, Rect main, Rect actions) {
    const Records* show = stage.records();
    if (show == nullptr) return;
    State& state = stage.state;
    Rect rest = main;
    const plan::Box* box = show->plan().box(state.box);
    if (box != nullptr && main.width() > stage.px(620.0F)) {
        draw_facts(stage, cut_right(rest, std::min(stage.px(330.0F), 0.42F * main.width())), *box);
        cut_right(rest, stage.px(16.0F));
    } else if (const plan::Position* position = show->plan().position(state.position); position != nullptr && main.width() > stage.px(620.0F)) {
        draw_position(stage, cut_right(rest, std::min(stage.px(330.0F), 0.42F * main.width())), *position);
        cut_right(rest, stage.px(16.0F));
    }
    const report::RoomLayout& layout = show->room;
    const auto places = room_places(stage, rest, layout, state.room_zoom, state.room_shift);
    const Ui::Drag drag = stage.ui.drag("room", rest);
    if (drag.active && !drag.pressed) state.room_shift = state.room_shift + drag.by;
    state.room_shift = state.room_shift - Point{drag.step.x * stage.px(60.0F), drag.step.y * stage.px(60.0F)};
    if (drag.whole) state.room_zoom = 1.0F, state.room_shift = {};
    if (drag.wheel != 0.0F) {
        const float factor = std::pow(1.15F, drag.wheel), zoom = std::clamp(state.room_zoom * factor, 0.5F, 20.0F);
        const Point centre = places.plan_at.centre();
        const float grown = zoom / state.room_zoom;
        state.room_shift = {state.room_shift.x * grown + (1.0F - grown) * (drag.at.x - centre.x), state.room_shift.y * grown + (1.0F - grown) * (drag.at.y - centre.y)};
        state.room_zoom = zoom;
    }
    if (drag.pressed) {
        const RoomHit found = hit(stage, places, layout, drag.at);
        if (!found.box.empty()) stage.select_box(found.box);
        if (!found.position.empty()) state.position = found.position, state.position_newest = true;
    }
    RoomPicture picture;
    picture.layout = &layout;
    picture.box = state.box;
    picture.position = state.position;
    picture.worst = &show->worst;
    if (const auto step = stage.step()) picture.mics = show->path.steps[*step].positions;
    std::size_t round = static_cast<std::size_t>(-1);
    for (const auto& step : show->path.steps)
        if (step.round != round) {
            round = step.round;
            picture.way.insert(picture.way.end(), step.positions.begin(), step.positions.end());
        }
    draw_room_view(stage, places, picture);

    Rect strip = actions;
    const float width = std::min(stage.px(112.0F), 0.2F * actions.width());
    const auto& boxes = show->plan().boxes;
    const auto place = [&] {
        const Rect at = cut_left(strip, width);
        cut_left(strip, stage.px(8.0F));
        return at;
    };
    const auto pressed = [&](std::string_view id, std::string_view label, Act act) {
        return stage.ui.button(id, place(), label, Weight::normal, !boxes.empty(), stage.ui.keys().shown(act)) || (!boxes.empty() && stage.ui.asked(act));
    };
    const int to_box = pressed("box-before", "Box before", Act::earlier) ? -1 : pressed("box-after", "Box after", Act::later) ? 1 : 0;
    if (to_box != 0) stage.select_box(neighbour(boxes, state.box, to_box));
    const int to_position = stage.ui.asked(Act::position_before) ? -1 : stage.ui.asked(Act::position_after) ? 1 : 0;
    if (to_position != 0 && !show->plan().positions.empty()) state.position = neighbour(show->plan().positions, state.position, to_position), state.position_newest = true;
    if (stage.ui.button("room-whole", place(), actions.width() > stage.px(520.0F) ? "Whole room" : "Whole")) {
        state.room_zoom = 1.0F;
        state.room_shift = {};
    }
    draw_note_button(stage, place());
    if (strip.width() > stage.px(120.0F)) stage.ink().wrapped(strip, Size::small, stage.paper().faint, boxes.size() > boxes_in_a_crowd ? "Filled flags: mics stand there now. Dashed: planned aim. With this many boxes coverage is drawn for the chosen one; zoom in for more names."
                                                                                                         : "Filled flags: mics stand there now. Dashed: planned aim; solid with its fan: where it points by the sound.");
}

}  // namespace proofwalk::app
