// The panel of the design desk: what is chosen, figure by figure and word by word.
#include <fmt/format.h>

#include <algorithm>

#include "app/design.hpp"
#include "plan/checks.hpp"
#include "plan/targets.hpp"
#include "report/figures.hpp"

namespace proofwalk::app {
namespace {

// Fields side by side, as many to a row as have room.
class Cells {
public:
    Cells(const Stage& stage, Rect& rest) : stage_(stage), rest_(rest), columns_(rest.width() > stage.px(520.0F) ? 4 : 3), gap_(stage.px(8.0F)) {}

    Rect next(int wide = 1) {
        if (used_ + wide > columns_) used_ = 0;
        if (used_ == 0) {
            if (begun_) cut_top(rest_, stage_.px(6.0F));
            begun_ = true;
            row_ = cut_top(rest_, stage_.px(50.0F));
        }
        used_ += wide;
        const float each = (rest_.width() - gap_ * static_cast<float>(columns_ - 1)) / static_cast<float>(columns_);
        const Rect cell = cut_left(row_, each * static_cast<float>(wide) + gap_ * static_cast<float>(wide - 1));
        cut_left(row_, gap_);
        return cell;
    }
    void end_row() { used_ = 0; }

private:
    const Stage& stage_;
    Rect& rest_;
    Rect row_;
    int columns_, used_ = 0;
    bool begun_ = false;
    float gap_;
};

// A word under the pencil: it counts when Enter is pressed or the field is left. What the plan refuses goes back.
std::optional<std::string> draw_word(const Stage& stage, Rect rect, const std::string& key, std::string_view caption, const std::string& now) {
    auto& typed = stage.state.design_words[key];
    if (typed.seen != now) typed = {now, now};
    const std::string id = "design-" + key.substr(key.rfind('/') + 1);
    const bool entered = stage.ui.field(id, rect, caption, typed.text);
    if (typed.text == now || (!entered && stage.ui.focused() == id)) return std::nullopt;
    const std::string word = typed.text;
    typed.text = now;
    return word;
}

struct Figure {
    const char* name;
    const char* key;
    double value, step, low, high;
    const char* unit;
    int decimals;
};

void draw_figure(const Stage& stage, Cells& cells, PlanTable table, const std::string& id, const Figure& figure) {
    double value = figure.value;
    if (!stage.ui.stepper(fmt::format("design-{}", figure.key), cells.next(), figure.name, value, figure.step, figure.low, figure.high, figure.unit, figure.decimals)) return;
    if (draft_done(stage, stage.state.draft->set(table, id, figure.key, value, figure.decimals))) draft_changed(stage);
}

void draw_place(const Stage& stage, Cells& cells, PlanTable table, const std::string& id, Vec3 at) {
    const std::array<std::pair<const char*, const char*>, 3> names = {{{"x, from the stage", "x"}, {"y, to the left", "y"}, {"z, up", "z"}}};
    for (std::size_t i = 0; i < names.size(); ++i) {
        double value = i == 0 ? at.x : i == 1 ? at.y : at.z;
        if (!stage.ui.stepper(fmt::format("design-{}", names[i].second), cells.next(), names[i].first, value, 0.1, i == 2 ? -20.0 : -200.0, i == 2 ? 60.0 : 200.0, "m", 2)) continue;
        Vec3 moved = at;
        (i == 0 ? moved.x : i == 1 ? moved.y : moved.z) = value;
        if (draft_done(stage, stage.state.draft->set_place(table, id, moved))) draft_changed(stage);
    }
}

void draw_id(const Stage& stage, Cells& cells, PlanTable table, const std::string& id) {
    const auto to = draw_word(stage, cells.next(), fmt::format("{}/id", id), "name", id);
    if (!to || !draft_done(stage, stage.state.draft->rename(table, id, *to))) return;
    if (table == PlanTable::box) stage.select_box(*to);
    else stage.state.position = *to;
    draft_changed(stage);
}

// The model of a box: side by side, those next to the chosen one where there are many.
void draw_models(const Stage& stage, Rect& rest, const plan::Box& box) {
    const auto& models = stage.state.draft->plan().models;
    constexpr std::size_t most = 5;
    const auto at = static_cast<std::size_t>(std::ranges::find(models, box.model, &plan::Model::id) - models.begin());
    const std::size_t first = models.size() <= most || at < most / 2 ? 0 : std::min(at - most / 2, models.size() - most);
    std::vector<std::string> words;
    for (std::size_t i = first; i < std::min(first + most, models.size()); ++i) words.push_back(models[i].id);
    std::size_t chosen = at - first;
    cut_top(rest, stage.px(8.0F));
    if (stage.ui.choice("design-model", cut_top(rest, stage.px(32.0F)), words, chosen) && chosen < words.size() &&
        draft_done(stage, stage.state.draft->set_word(PlanTable::box, box.id, "model", words[chosen])))
        draft_changed(stage);
    cut_top(rest, stage.px(8.0F));
}

void draw_words(const Stage& stage, Cells& cells, const plan::Box& box) {
    Draft& draft = *stage.state.draft;
    const auto word = [&](const char* key, const char* caption, const std::string& now, int wide) {
        const auto to = draw_word(stage, cells.next(wide), fmt::format("{}/{}", box.id, key), caption, now);
        if (!to) return;
        if (draft_done(stage, to->empty() ? draft.clear(PlanTable::box, box.id, key) : draft.set_word(PlanTable::box, box.id, key, *to))) draft_changed(stage);
    };
    word("circuit", "circuit", box.circuit, 1);
    double output = box.output.value_or(0);
    if (stage.ui.stepper("design-output", cells.next(), "output, 0 for none", output, 1.0, 0.0, 4096.0, "") &&
        draft_done(stage, output < 1.0 ? draft.clear(PlanTable::box, box.id, "output") : draft.set(PlanTable::box, box.id, "output", output, 0)))
        draft_changed(stage);
    word("patch", "patch", box.patch, 1);
}

// Targets of the positions that serve the box.
void draw_targets(const Stage& stage, Rect& rest, const plan::Plan& plan, const plan::Box& box) {
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    const float line = stage.px(18.0F), column = rest.width() / 6.0F;
    if (rest.height() < 6.0F * line) return;
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
    cut_top(rest, stage.px(6.0F));
}

// How sure the walk could be of this box: the mark says what a rig that hangs exactly as planned would get.
void draw_predicted(const Stage& stage, Rect rest, const std::string& box) {
    Ink& ink = stage.ink();
    const auto& predicted = stage.desk.predicted();
    const float line = stage.px(18.0F);
    const std::string head = stage.state.draft->plan().boxes.size() > most_boxes_predicted ? "A plan of this size is too large to work out here how sure the walk could be"
                             : predicted.text == stage.state.draft->text()                  ? "How sure the walk could be (standard uncertainty, all positions taken)"
                                                                                            : "Working out how sure the walk could be";
    if (rest.height() >= line) ink.text_in(cut_top(rest, line), Size::small, stage.paper().faint, head);
    for (const auto& check : predicted.checks) {
        if (rest.height() < line) break;
        if (check.subject != box && !check.subject.starts_with(box + "+") && !check.subject.ends_with("+" + box)) continue;
        Rect row = cut_top(rest, line);
        ink.mark({row.min.x + stage.px(8.0F), row.centre().y}, stage.px(4.5F), check.best);
        row.min.x += stage.px(20.0F);
        const Rect words = cut_left(row, 0.3F * rest.width());
        ink.text_in(words, Size::small, stage.paper().ink, fmt::format("{} {}", plan::word(check.kind), check.subject));
        const Rect figure = cut_left(row, stage.px(74.0F));
        const bool angle = check.kind == plan::CheckKind::aim_h || check.kind == plan::CheckKind::aim_v || check.kind == plan::CheckKind::splay;
        const bool time = check.kind == plan::CheckKind::arrival || check.kind == plan::CheckKind::alignment;
        const std::string unit = angle ? "deg" : time ? "ms" : check.kind == plan::CheckKind::spacing ? "m" : "dB";
        ink.text_in(figure, Size::small, stage.paper().ink, check.u ? report::with_unit(report::fixed(*check.u, report::decimals_of(*check.u)), unit) : std::string{report::no_figure});
        if (check.best != verify::Verdict::pass) ink.text_in(row, Size::small, stage.paper().faint, check.says);
    }
}

std::vector<std::vector<std::string>> pairs_with(const plan::Plan& plan, const std::string& box) {
    std::vector<std::vector<std::string>> pairs;
    for (const auto& array : plan.arrays)
        for (std::size_t i = 0; i + 1 < array.boxes.size(); ++i) {
            const std::vector<std::string> pair = {array.boxes[i], array.boxes[i + 1]};
            if ((pair[0] == box || pair[1] == box) && std::ranges::find(pairs, pair) == pairs.end()) pairs.push_back(pair);
        }
    return pairs;
}

// What the position is for: the roles of one box at a time, each a tick.
void draw_roles(const Stage& stage, Rect& rest, const plan::Position& position) {
    State& state = stage.state;
    const plan::Plan& plan = state.draft->plan();
    if (plan.boxes.empty()) return;
    const plan::Box* box = plan.box(state.box);
    if (box == nullptr) box = &plan.boxes.front();
    const auto at = static_cast<std::size_t>(box - plan.boxes.data());
    cut_top(rest, stage.px(10.0F));
    Rect row = cut_top(rest, stage.px(36.0F));
    if (stage.ui.button("role-box-before", cut_left(row, stage.px(44.0F)), "\u2039")) stage.select_box(plan.boxes[(at + plan.boxes.size() - 1) % plan.boxes.size()].id);
    stage.ink().text_centred(cut_left(row, std::min(stage.px(190.0F), 0.4F * rest.width())), Size::body, stage.paper().ink, fmt::format("is there for {}", box->id));
    if (stage.ui.button("role-box-after", cut_left(row, stage.px(44.0F)), "\u203a")) stage.select_box(plan.boxes[(at + 1) % plan.boxes.size()].id);
    cut_top(rest, stage.px(4.0F));
    std::vector<plan::Serve> wishes = {{plan::Role::on_axis, {box->id}}};
    if (plan.model_of(*box).pattern == plan::Pattern::beam)
        for (const auto role : {plan::Role::top_edge, plan::Role::bottom_edge, plan::Role::left_edge, plan::Role::right_edge}) wishes.push_back({role, {box->id}});
    for (auto& pair : pairs_with(plan, box->id)) wishes.push_back({plan::Role::crossover, std::move(pair)});
    Rect line;
    for (std::size_t i = 0; i < wishes.size() && (i % 2 == 1 || rest.height() > stage.px(32.0F)); ++i) {
        if (i % 2 == 0) line = cut_top(rest, stage.px(32.0F));
        const plan::Serve& wish = wishes[i];
        const auto held = std::ranges::find_if(position.serves, [&](const plan::Serve& serve) {
            return serve.role == wish.role && std::ranges::is_permutation(serve.boxes, wish.boxes);
        });
        bool on = held != position.serves.end();
        const std::string words = wish.role == plan::Role::crossover ? fmt::format("crossover of {} and {}", wish.boxes[0], wish.boxes[1]) : std::string{plan::word(wish.role)};
        if (!stage.ui.tick(fmt::format("role-{}", i), cut_left(line, 0.5F * rest.width()).inset(stage.px(2.0F), 0.0F), words, on)) continue;
        if (draft_done(stage, on ? state.draft->add_serve(position.id, wish) : state.draft->remove_serve(position.id, static_cast<std::size_t>(held - position.serves.begin())))) {
            draft_changed(stage);
            return;  // the position that is looked at here is of the plan before
        }
    }
}

void draw_position(const Stage& stage, Rect rest, const plan::Position& position) {
    const plan::Plan& plan = stage.state.draft->plan();
    Ink& ink = stage.ink();
    ink.text_in(cut_top(rest, stage.px(32.0F)), Size::head, stage.paper().ink, position.id);
    cut_top(rest, ink.wrapped({rest.min, {rest.max.x, rest.min.y + stage.px(34.0F)}}, Size::small, stage.paper().faint, role_words(plan, position.id)) + stage.px(6.0F));
    Cells cells{stage, rest};
    draw_id(stage, cells, PlanTable::position, position.id);
    draw_place(stage, cells, PlanTable::position, position.id, position.at);
    if (const auto* now = stage.state.draft->plan().position(position.id)) draw_roles(stage, rest, plan::Position{*now});
}

void draw_box(const Stage& stage, Rect rest, const plan::Box& box) {
    Draft& draft = *stage.state.draft;
    Rect head = cut_top(rest, stage.px(32.0F));
    bool inverted = box.inverted;
    const std::string turned = "polarity inverted";
    if (stage.ui.tick("design-inverted", cut_right(head, stage.ink().width(Size::body, turned) + stage.px(30.0F)), turned, inverted) &&
        draft_done(stage, draft.set_switch(PlanTable::box, box.id, "inverted", inverted)))
        draft_changed(stage);
    stage.ink().text_in(head, Size::head, stage.paper().ink, fmt::format("{}, {}", box.id, box.model));
    cut_top(rest, stage.px(4.0F));
    Cells cells{stage, rest};
    draw_id(stage, cells, PlanTable::box, box.id);
    draw_words(stage, cells, box);
    if (draft.plan().box(box.id) == nullptr) return;  // it has another name since
    draw_place(stage, cells, PlanTable::box, box.id, box.at);
    const std::array<Figure, 4> figures = {Figure{"delay", "delay_ms", box.delay_ms, 0.1, 0.0, 1000.0, "ms", 2}, Figure{"pan", "pan_deg", box.pan_deg, 0.5, -180.0, 180.0, "\u00b0", 2}, Figure{"tilt", "tilt_deg", box.tilt_deg, 0.5, -90.0, 90.0, "\u00b0", 2},
                                           Figure{"gain", "gain_db", box.gain_db, 0.5, -60.0, 20.0, "dB", 1}};
    for (const Figure& figure : figures) draw_figure(stage, cells, PlanTable::box, box.id, figure);
    draw_models(stage, rest, box);
    if (const plan::Box* now = draft.plan().box(box.id)) draw_targets(stage, rest, draft.plan(), *now);
    draw_predicted(stage, rest, box.id);
}

}  // namespace

void draw_design_panel(const Stage& stage, Rect rest) {
    State& state = stage.state;
    const plan::Plan& plan = state.draft->plan();
    if (const auto* position = plan.position(state.position); position != nullptr && state.design_position) return draw_position(stage, rest, plan::Position{*position});
    const plan::Box* box = plan.box(state.box);
    if (box == nullptr && !plan.boxes.empty()) box = &plan.boxes.front();
    if (box != nullptr) return draw_box(stage, rest, plan::Box{*box});
    stage.ink().wrapped(rest, Size::body, stage.paper().faint, plan.models.empty() ? "The plan describes no kind of loudspeaker yet. Add a model, then a box of it."
                                                                                    : "The plan has no boxes yet. Add one, then pull it to its place.");
}

}  // namespace proofwalk::app
