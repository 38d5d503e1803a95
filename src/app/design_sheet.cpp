// Design desk: boxes and positions put in, moved, aimed and taken out on the drawing, with what each position would hear and
// how sure each check could be. A draft until it is saved; saving makes a new revision and never changes what was taken.
#include <fmt/format.h>

#include <cmath>

#include "app/design.hpp"
#include "app/room_view.hpp"
#include "plan/area.hpp"
#include "report/figures.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::app {
namespace {

void set_place(const Stage& stage, PlanTable table, const std::string& id, Vec3 at) {
    if (draft_done(stage, stage.state.draft->set_place(table, id, at))) draft_changed(stage);
}

const plan::Box* chosen_box(const State& state) {
    const plan::Plan& plan = state.draft->plan();
    const plan::Box* box = plan.box(state.box);
    return box != nullptr || plan.boxes.empty() ? box : &plan.boxes.front();
}

// What was added is chosen, so that it can be pulled to its place and set.
void choose(const Stage& stage, PlanTable table, const Checked<std::string>& made) {
    if (!made) {
        static_cast<void>(draft_done(stage, std::unexpected(made.error())));
        return;
    }
    stage.state.design_position = table == PlanTable::position;
    if (stage.state.design_position) stage.state.position = *made;
    else stage.select_box(*made);
    draft_changed(stage);
}

void add_box(const Stage& stage) {
    Draft& draft = *stage.state.draft;
    if (draft.plan().models.empty()) return choose(stage, PlanTable::box, draft.add_model_and_box());
    const plan::Box* like = chosen_box(stage.state);
    const Vec3 at = like != nullptr ? Vec3{like->at.x, like->at.y + 1.0, like->at.z} : Vec3{0.0, 0.0, 4.0};
    choose(stage, PlanTable::box, draft.add_box(like != nullptr ? like->model : draft.plan().models.front().id, at, like != nullptr ? like->tilt_deg : -10.0));
}

void add_position(const Stage& stage) {
    const auto& areas = stage.state.draft->plan().areas;
    const Vec3 at = areas.empty() ? Vec3{6.0, 0.0, 1.2} : plan::point_on(areas.front(), {0.5, 0.1});
    choose(stage, PlanTable::position, stage.state.draft->add_position({std::round(at.x * 20.0) / 20.0, std::round(at.y * 20.0) / 20.0, at.z}));
}

// The table and id of what is chosen; an empty id when there is nothing.
std::pair<PlanTable, std::string> chosen(const State& state) {
    if (state.design_position && state.draft->plan().position(state.position) != nullptr) return {PlanTable::position, state.position};
    const plan::Box* box = chosen_box(state);
    return {PlanTable::box, box != nullptr ? box->id : ""};
}

void draw_tools(const Stage& stage, Rect rect) {
    State& state = stage.state;
    Ui& ui = stage.ui;
    const auto [table, id] = chosen(state);
    const bool wide = rect.width() > stage.px(560.0F), some = !id.empty();
    const plan::Box* box = chosen_box(state);
    Rect rest = rect;
    const float gap = stage.px(6.0F), each = (rect.width() - 5.0F * gap) / 6.0F;
    const auto tool = [&](std::string_view name, std::string_view label, bool enabled, std::optional<Act> act) {
        const Rect at = cut_left(rest, each);
        cut_left(rest, gap);
        const bool pressed = ui.button(name, at, label, Weight::normal, enabled, act && wide ? ui.keys().shown(*act) : "");
        return pressed || (enabled && act && ui.asked(*act));
    };
    if (tool("add-box", wide ? "Add box" : "+ box", true, std::nullopt)) add_box(stage);
    if (tool("add-position", wide ? "Add position" : "+ place", true, std::nullopt)) add_position(stage);
    if (tool("copy", "Copy", some, Act::copy)) choose(stage, table, state.draft->copy(table, id));
    if (tool("remove", "Remove", some, Act::remove) && draft_done(stage, state.draft->remove(table, id))) {
        state.design_position = false;
        draft_changed(stage);
    }
    if (tool("estimate", "Estimate", box != nullptr, Act::estimate)) stage.open_slip(Slip::estimate);
    if (tool("place-mics", wide ? "Place mics" : "Mics", box != nullptr, Act::place_mics)) stage.open_slip(Slip::place_mics);
}

constexpr double grid_m = 0.05;

// Arrow keys move what is chosen by one step of the grid, as the drawing lies: x to the right, y up.
void nudge(const Stage& stage, Point step) {
    if (step == Point{}) return;
    const auto [table, id] = chosen(stage.state);
    const plan::Plan& plan = stage.state.draft->plan();
    const Vec3 by{grid_m * static_cast<double>(step.x), -grid_m * static_cast<double>(step.y), 0.0};
    if (table == PlanTable::position) set_place(stage, table, id, plan.position(id)->at + by);
    else if (const plan::Box* box = plan.box(id)) set_place(stage, table, id, box->at + by);
}

void draw_drawing(const Stage& stage, Rect rect) {
    State& state = stage.state;
    RoomPicture picture;
    picture.layout = &state.draft_room;
    const plan::Box* box = chosen_box(state);
    picture.box = state.design_position || box == nullptr ? "" : box->id;
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
    nudge(stage, drag.step);
    if (!drag.active || !state.dragged) return;
    // A tap selects; a pull beyond a finger's width moves, to the nearest five centimetres.
    if (std::hypot(drag.at.x - state.drag_from.x, drag.at.y - state.drag_from.y) < stage.px(8.0F)) return;
    const auto to = places.plan.metres(drag.at);
    const double x = std::round(to.u / grid_m) * grid_m, y = std::round(to.v / grid_m) * grid_m;
    stage.ink().ring(drag.at, stage.px(10.0F), stage.paper().ink, 1.5F);
    stage.ink().text({drag.at.x + stage.px(14.0F), drag.at.y - stage.px(20.0F)}, Size::small, stage.paper().ink, fmt::format("{}, {} m", report::fixed(x, 2), report::fixed(y, 2)));
    if (!drag.released) return;
    if (state.design_position) {
        if (const auto* position = state.draft->plan().position(state.position)) set_place(stage, PlanTable::position, position->id, {x, y, position->at.z});
    } else if (const auto* moved = state.draft->plan().box(state.box)) {
        set_place(stage, PlanTable::box, moved->id, {x, y, moved->at.z});
    }
    state.dragged = false;
}

}  // namespace

void draft_changed(const Stage& stage) {
    State& state = stage.state;
    state.draft_room = report::room_layout(state.draft->plan(), {});
    stage.desk.predict(state.draft->plan(), state.draft->text());
}

bool draft_done(const Stage& stage, const Checked<void>& done) {
    if (done) return true;
    for (const auto& fault : done.error()) stage.desk.note(sentence(fault), true);
    return false;
}

void draw_design(const Stage& stage, Rect main, Rect actions) {
    const Records* show = stage.records();
    if (show == nullptr) return;
    State& state = stage.state;
    if (!state.draft || state.draft_of != show->page.plan_sha256) {
        state.draft = std::make_shared<Draft>(show->plan_text, show->plan_folder);
        state.draft_of = show->page.plan_sha256;
        state.design_words.clear();
        draft_changed(stage);
    }
    take_placed_mics(stage);
    Rect rest = main;
    Rect left = cut_left(rest, 0.5F * main.width());
    cut_left(rest, stage.px(20.0F));
    draw_tools(stage, cut_top(left, stage.px(36.0F)));
    cut_top(left, stage.px(6.0F));
    draw_drawing(stage, left);
    draw_design_panel(stage, rest);

    Rect strip = actions;
    Ui& ui = stage.ui;
    const float width = std::min(stage.px(120.0F), 0.2F * actions.width());
    const auto place = [&] {
        const Rect at = cut_left(strip, width);
        cut_left(strip, stage.px(8.0F));
        return at;
    };
    if (ui.button("undo", place(), "Undo", Weight::normal, state.draft->can_undo(), ui.keys().shown(Act::undo)) || ui.asked(Act::undo)) state.draft->undo(), draft_changed(stage);
    if (ui.button("redo", place(), "Redo", Weight::normal, state.draft->can_redo(), ui.keys().shown(Act::redo)) || ui.asked(Act::redo)) state.draft->redo(), draft_changed(stage);
    if (ui.button("save-plan", place(), "Save", Weight::normal, state.draft->changed())) stage.desk.save_plan(state.draft->text(), state.settings);
    stage.ink().wrapped(strip, Size::small, stage.paper().faint,
                        state.draft->changed() ? fmt::format("Saving writes {} and makes revision {}; takes of what changed retire. {}", stage.desk.plan_file_to_write().string(), show->page.plan_revision + 1, walk::rigging_caution())
                                               : "Pull a box or a flag on the plan, or set figures here. " + walk::rigging_caution());
}

}  // namespace proofwalk::app
