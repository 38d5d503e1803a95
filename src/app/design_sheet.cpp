// Design desk: boxes and positions moved, aimed and set on the drawing, with what each position would hear and how sure each
// check could be. A draft until it is saved; saving makes a new revision and never changes what was taken.
#include <fmt/format.h>

#include <cmath>

#include "app/plan_edit.hpp"
#include "app/room_view.hpp"
#include "app/sheets.hpp"
#include "plan/targets.hpp"
#include "report/figures.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::app {
namespace {

void tell(const Stage& stage, const Checked<void>& done) {
    if (done) return;
    for (const auto& fault : done.error()) stage.desk.note(sentence(fault), true);
}

void changed(const Stage& stage) {
    State& state = stage.state;
    state.draft_room = report::room_layout(state.draft->plan(), {});
    stage.desk.predict(state.draft->plan(), state.draft->text());
}

void set_place(const Stage& stage, PlanTable table, const std::string& id, Vec3 at) {
    tell(stage, stage.state.draft->set_place(table, id, at));
    changed(stage);
}

struct Field {
    const char* name;
    const char* key;
    double value, step, low, high;
    const char* unit;
    int decimals;
};

// Three to a row: place, then aim, then signal.
void draw_fields(const Stage& stage, Rect& rest, PlanTable table, const std::string& id, Vec3 at, std::span<const Field> figures) {
    const float gap = stage.px(8.0F), each = (rest.width() - 2.0F * gap) / 3.0F, tall = stage.px(52.0F);
    Rect row = cut_top(rest, tall);
    const std::array<Field, 3> places = {Field{"x, from the stage", "x", at.x, 0.1, -200.0, 200.0, "m", 2}, Field{"y, to the left", "y", at.y, 0.1, -200.0, 200.0, "m", 2}, Field{"z, up", "z", at.z, 0.1, -20.0, 60.0, "m", 2}};
    for (std::size_t i = 0; i < 3; ++i) {
        double value = places[i].value;
        if (stage.ui.stepper(fmt::format("design-{}", places[i].key), cut_left(row, each), places[i].name, value, places[i].step, places[i].low, places[i].high, places[i].unit, 2)) {
            Vec3 moved = at;
            (i == 0 ? moved.x : i == 1 ? moved.y : moved.z) = value;
            set_place(stage, table, id, moved);
        }
        cut_left(row, gap);
    }
    for (std::size_t i = 0; i < figures.size(); ++i) {
        if (i % 3 == 0) {
            cut_top(rest, stage.px(6.0F));
            row = cut_top(rest, tall);
        }
        const Field& field = figures[i];
        double value = field.value;
        if (stage.ui.stepper(fmt::format("design-{}", field.key), cut_left(row, each), field.name, value, field.step, field.low, field.high, field.unit, field.decimals)) {
            tell(stage, stage.state.draft->set(table, id, field.key, value, field.decimals));
            changed(stage);
        }
        cut_left(row, gap);
    }
    cut_top(rest, stage.px(8.0F));
}

// Targets of the positions that serve the box.
void draw_targets(const Stage& stage, Rect& rest, const plan::Plan& plan, const plan::Box& box) {
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    const float line = stage.px(20.0F), column = rest.width() / 6.0F;
    const auto cell = [&](Rect row, int i, std::string_view text, Colour colour) {
        ink.text_right({row.min.x + column * static_cast<float>(i + 1) - stage.px(4.0F), row.min.y}, Size::small, colour, text);
    };
    Rect head = cut_top(rest, line);
    int c = 0;
    for (const char* name : {"position", "distance", "left", "up", "arrival", "level"}) cell(head, c++, name, paper.faint);
    ink.line({rest.min.x, head.max.y}, head.max, paper.hairline);
    for (const auto& position : plan.positions) {
        if (rest.height() < 6.0F * line) break;
        const auto target = plan::target(plan, box, position, plan.air);
        if (!target.serves) continue;
        const Rect row = cut_top(rest, line);
        cell(row, 0, position.id, paper.ink);
        cell(row, 1, report::with_unit(report::fixed(target.bearing.distance_m, 2), "m"), paper.ink);
        cell(row, 2, report::with_unit(report::fixed(target.bearing.h_deg, 1), "deg"), paper.ink);
        cell(row, 3, report::with_unit(report::fixed(target.bearing.v_deg, 1), "deg"), paper.ink);
        cell(row, 4, report::with_unit(report::fixed(target.arrival_s * 1e3, 2), "ms"), paper.ink);
        cell(row, 5, report::with_unit(report::fixed(target.aim_band_db, 1), "dB"), paper.ink);
    }
    cut_top(rest, stage.px(8.0F));
}

// How sure the walk could be of this box: the mark says what a rig that hangs exactly as planned would get.
void draw_predicted(const Stage& stage, Rect rest, const std::string& box) {
    Ink& ink = stage.ink();
    const auto& predicted = stage.desk.predicted();
    ink.text_in(cut_top(rest, stage.px(20.0F)), Size::small, stage.paper().faint, stage.state.draft->plan().boxes.size() > most_boxes_predicted ? "A plan of this size is too large to work out here how sure the walk could be" : predicted.text == stage.state.draft->text() ? "How sure the walk could be (standard uncertainty, all positions taken)" : "Working out how sure the walk could be");
    for (const auto& check : predicted.checks) {
        if (rest.height() < stage.px(20.0F)) break;
        if (check.subject != box && !check.subject.starts_with(box + "+") && !check.subject.ends_with("+" + box)) continue;
        Rect row = cut_top(rest, stage.px(20.0F));
        ink.mark({row.min.x + stage.px(8.0F), row.centre().y}, stage.px(4.5F), check.best);
        row.min.x += stage.px(20.0F);
        const Rect words = cut_left(row, 0.4F * rest.width());
        ink.text_in(words, Size::small, stage.paper().ink, fmt::format("{} {}", plan::word(check.kind), check.subject));
        const Rect figure = cut_left(row, stage.px(84.0F));
        const bool angle = check.kind == plan::CheckKind::aim_h || check.kind == plan::CheckKind::aim_v || check.kind == plan::CheckKind::splay;
        const bool time = check.kind == plan::CheckKind::arrival || check.kind == plan::CheckKind::alignment;
        const std::string unit = angle ? "deg" : time ? "ms" : check.kind == plan::CheckKind::spacing ? "m" : "dB";
        ink.text_in(figure, Size::small, stage.paper().ink, check.u ? report::with_unit(report::fixed(*check.u, report::decimals_of(*check.u)), unit) : std::string{report::no_figure});
        if (check.best != verify::Verdict::pass) ink.text_in(row, Size::small, stage.paper().faint, check.says);
    }
}

void draw_drawing(const Stage& stage, Rect rect) {
    State& state = stage.state;
    RoomPicture picture;
    picture.layout = &state.draft_room;
    picture.box = state.design_position ? "" : state.box;
    picture.position = state.design_position ? state.position : "";
    const auto places = room_places(stage, rect, state.draft_room, 1.0F, {});
    const Ui::Drag drag = stage.ui.drag("design-room", places.plan_at);
    if (drag.pressed) {
        const RoomHit found = hit(stage, places, state.draft_room, drag.at);
        state.dragged = !found.box.empty() || !found.position.empty();
        if (!found.box.empty()) stage.select_box(found.box), state.design_position = false;
        if (!found.position.empty()) state.position = found.position, state.design_position = true;
        state.drag_from = drag.at;
    }
    draw_room_view(stage, places, picture);
    if (!drag.active || !state.dragged) return;
    // A tap selects; a pull beyond a finger's width moves, to the nearest five centimetres.
    if (std::hypot(drag.at.x - state.drag_from.x, drag.at.y - state.drag_from.y) < stage.px(8.0F)) return;
    const auto to = places.plan.metres(drag.at);
    const double grid = 0.05, x = std::round(to.u / grid) * grid, y = std::round(to.v / grid) * grid;
    stage.ink().ring(drag.at, stage.px(10.0F), stage.paper().ink, 1.5F);
    stage.ink().text({drag.at.x + stage.px(14.0F), drag.at.y - stage.px(20.0F)}, Size::small, stage.paper().ink, fmt::format("{}, {} m", report::fixed(x, 2), report::fixed(y, 2)));
    if (!drag.released) return;
    if (state.design_position) {
        if (const auto* position = state.draft->plan().position(state.position)) set_place(stage, PlanTable::position, position->id, {x, y, position->at.z});
    } else if (const auto* box = state.draft->plan().box(state.box)) {
        set_place(stage, PlanTable::box, box->id, {x, y, box->at.z});
    }
    state.dragged = false;
}

void draw_panel(const Stage& stage, Rect rest) {
    State& state = stage.state;
    const plan::Plan& plan = state.draft->plan();
    Ink& ink = stage.ink();
    if (const auto* position = plan.position(state.position); position != nullptr && state.design_position) {
        ink.text_in(cut_top(rest, stage.px(32.0F)), Size::head, stage.paper().ink, position->id);
        ink.text_in(cut_top(rest, stage.px(22.0F)), Size::small, stage.paper().faint, role_words(plan, position->id));
        draw_fields(stage, rest, PlanTable::position, position->id, position->at, {});
        return;
    }
    const plan::Box* box = plan.box(state.box);
    if (box == nullptr && !plan.boxes.empty()) box = &plan.boxes.front();
    if (box == nullptr) {
        ink.wrapped(rest, Size::body, stage.paper().faint, "The plan has no boxes. Add them in its file.");
        return;
    }
    const plan::Box chosen = *box;  // edits below replace the plan
    ink.text_in(cut_top(rest, stage.px(32.0F)), Size::head, stage.paper().ink, fmt::format("{}, {}", chosen.id, chosen.model));
    const std::array<Field, 4> figures = {Field{"pan", "pan_deg", chosen.pan_deg, 0.5, -180.0, 180.0, "\u00b0", 2}, Field{"tilt", "tilt_deg", chosen.tilt_deg, 0.5, -90.0, 90.0, "\u00b0", 2},
                                          Field{"gain", "gain_db", chosen.gain_db, 0.5, -60.0, 20.0, "dB", 1}, Field{"delay", "delay_ms", chosen.delay_ms, 0.1, 0.0, 1000.0, "ms", 2}};
    draw_fields(stage, rest, PlanTable::box, chosen.id, chosen.at, figures);
    if (const plan::Box* now = state.draft->plan().box(chosen.id)) draw_targets(stage, rest, state.draft->plan(), *now);
    draw_predicted(stage, rest, chosen.id);
}

}  // namespace

void draw_design(const Stage& stage, Rect main, Rect actions) {
    const Records* show = stage.records();
    if (show == nullptr) return;
    State& state = stage.state;
    if (!state.draft || state.draft_of != show->page.plan_sha256) {
        state.draft = std::make_shared<Draft>(show->plan_text, show->plan_folder);
        state.draft_of = show->page.plan_sha256;
        changed(stage);
    }
    Rect rest = main;
    draw_drawing(stage, cut_left(rest, 0.5F * main.width()));
    cut_left(rest, stage.px(20.0F));
    draw_panel(stage, rest);

    Rect strip = actions;
    Ui& ui = stage.ui;
    const float width = std::min(stage.px(120.0F), 0.2F * actions.width());
    const auto place = [&] {
        const Rect at = cut_left(strip, width);
        cut_left(strip, stage.px(8.0F));
        return at;
    };
    if (ui.button("undo", place(), "Undo", Weight::normal, state.draft->can_undo(), ui.keys().shown(Act::undo)) || ui.asked(Act::undo)) state.draft->undo(), changed(stage);
    if (ui.button("redo", place(), "Redo", Weight::normal, state.draft->can_redo(), ui.keys().shown(Act::redo)) || ui.asked(Act::redo)) state.draft->redo(), changed(stage);
    if (ui.button("save-plan", place(), "Save", Weight::normal, state.draft->changed())) stage.desk.save_plan(state.draft->text(), state.settings);
    stage.ink().wrapped(strip, Size::small, stage.paper().faint,
                        state.draft->changed() ? fmt::format("Saving writes {} and makes revision {}; takes of what changed retire. {}", stage.desk.plan_file_to_write().string(), show->page.plan_revision + 1, walk::rigging_caution())
                                               : "Pull a box or a flag on the plan, or set figures here. " + walk::rigging_caution());
}

}  // namespace proofwalk::app
