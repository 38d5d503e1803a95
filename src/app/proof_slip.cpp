// The slip that proves the gear by one take: what to set up, the caution, the take as it runs, and at once what it said.
#include <fmt/format.h>

#include <algorithm>

#include "app/slip_parts.hpp"
#include "report/figures.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::app {
namespace {

using signal::TakeKind;

std::string title_of(TakeKind kind) { return kind == TakeKind::loopback ? "Prove the loopback" : kind == TakeKind::match ? "Match the mics" : "Calibrate a mic"; }

std::string what_to_do(const Stage& stage) {
    const Settings& settings = stage.state.settings;
    const walk::GearTake& take = stage.state.gear_take;
    switch (take.kind) {
        case TakeKind::loopback: return fmt::format("Wire an output back to input {}. A sweep goes out and comes back: it shows flatness, phase, noise and, from the second take on, whether the latency is stable.", settings.reference);
        case TakeKind::match: return fmt::format("Put all mics at one spot, capsules together, and unmute the circuit alone. Mic 1 is on input {}. What each mic adds of its own is taken off its later readings.", settings.reference + 1);
        default: return fmt::format("Put the calibrator on mic {} (input {}), switch it on and wait until it is steady. Nothing is played.", take.mic, settings.reference + take.mic);
    }
}

std::string caution_of(const Settings& settings, TakeKind kind) {
    if (settings.rehearse) return "Rehearsal: the room is simulated and no sound plays.";
    if (kind == TakeKind::calibrator) return "A calibrator on an ear hurts: only mics go into it.";
    return fmt::format("{} Now set: {} dBFS, {} s.", walk::sound_caution(), report::fixed(settings.level_dbfs, 0), report::fixed(settings.length_s, 1));
}

// What sounds and where all mics stand.
void draw_match_choices(const Stage& stage, Rect& rest) {
    State& state = stage.state;
    walk::GearTake& take = state.gear_take;
    const plan::Plan& plan = stage.records()->plan();
    Rect row = cut_top(rest, std::min(stage.px(150.0F), 0.5F * rest.height()));
    const float gap = stage.px(12.0F), each = (row.width() - 2.0F * gap) / 3.0F;
    const auto circuits = plan.circuits();
    std::vector<std::string> positions;
    for (const auto& position : plan.positions) positions.push_back(position.id);
    const auto choose = [&](std::string_view id, std::string_view caption, const std::vector<std::string>& names, ListState& list, std::string& chosen) {
        Rect at = cut_left(row, each);
        cut_left(row, gap);
        stage.ink().text_in(cut_top(at, stage.ink().line_height(Size::small)), Size::small, stage.paper().faint, caption);
        stage.ink().frame(at, stage.paper().hairline);
        const auto now = static_cast<std::size_t>(std::ranges::find(names, chosen) - names.begin());
        if (now < names.size() && list.selected != now) list.selected = now, list.show_selected = true;
        stage.ui.list(id, at.inset(stage.px(2.0F)), names.size(), stage.px(26.0F), list, [&](std::size_t i, Rect line, bool) { stage.ink().name_in(line.inset(stage.px(6.0F), 0.0F), Size::body, stage.paper().ink, names[i]); });
        if (list.selected && *list.selected < names.size()) chosen = names[*list.selected];
    };
    choose("proof-circuits", "circuit that sounds", circuits, state.gear_circuits, take.circuit);
    choose("proof-positions", "near position", positions, state.gear_positions, take.position);
    double mics = take.mics;
    if (stage.ui.stepper("proof-mics", cut_top(row, stage.px(58.0F)), "mics at the spot", mics, 1.0, 2.0, 31.0, "")) take.mics = static_cast<int>(mics);
}

void draw_calibrator_choices(const Stage& stage, Rect& rest) {
    walk::GearTake& take = stage.state.gear_take;
    static const std::vector<std::string> levels = {"94 dB", "114 dB"};
    Rect row = cut_top(rest, stage.px(58.0F));
    double mic = take.mic;
    if (stage.ui.stepper("proof-mic", cut_left(row, 0.48F * row.width()), "mic that it is on", mic, 1.0, 1.0, 31.0, "")) take.mic = static_cast<int>(mic);
    cut_left(row, stage.px(12.0F));
    stage.ink().text_in(cut_top(row, stage.ink().line_height(Size::small)), Size::small, stage.paper().faint, "what it gives, re 20 \u00b5Pa");
    std::size_t chosen = take.calibrator_db > 100.0 ? 1 : 0;
    if (stage.ui.choice("proof-level", row, levels, chosen)) take.calibrator_db = chosen == 1 ? 114.0 : 94.0;
}

struct Line {
    verify::Verdict verdict;
    std::string words;
};
// One a subject, what failed first: a mic's level and polarity stand together.
std::vector<Line> lines_of(const Desk::Proof& proof) {
    std::vector<Line> lines;
    std::string subject;
    for (const auto& check : proof.checks) {
        const std::string says = check.says + (check.advice.empty() ? "" : "; " + check.advice);
        if (check.check == "mic-polarity" && check.subject == subject) {
            Line& line = lines.back();
            line.words += ", polarity " + says;
            if (rank_of(check.verdict) < rank_of(line.verdict)) line.verdict = check.verdict;
        } else {
            lines.push_back({check.verdict, fmt::format("{}: {}", check.check == "latency" ? check.check : check.subject, says)});
        }
        subject = check.subject;
    }
    std::ranges::stable_sort(lines, {}, [](const Line& line) { return rank_of(line.verdict); });
    return lines;
}

void draw_found(const Stage& stage, Rect rest, const Desk::Proof& proof) {
    Ink& ink = stage.ink();
    ink.line({rest.min.x, rest.min.y}, {rest.max.x, rest.min.y}, stage.paper().hairline);
    cut_top(rest, stage.px(6.0F));
    if (proof.checks.empty()) return draw_proof_line(stage, rest, verify::Verdict::fail, proof.says);
    const auto lines = lines_of(proof);
    const float line = ink.line_height(Size::small);
    Rect last = cut_bottom(rest, line);
    std::size_t shown = 0;
    for (; shown < lines.size() && rest.height() >= line; ++shown) draw_proof_line(stage, rest, lines[shown].verdict, lines[shown].words);
    if (shown == lines.size()) last.min.y = rest.min.y;
    ink.wrapped(last, Size::small, stage.paper().faint, (shown < lines.size() ? fmt::format("{} more stand on the gear sheet. ", lines.size() - shown) : "") + proof.says + ".");
}

}  // namespace

void draw_proof_line(const Stage& stage, Rect& rest, verify::Verdict verdict, const std::string& words) {
    Ink& ink = stage.ink();
    const float line = ink.line_height(Size::small);
    if (rest.height() < line) return;
    ink.mark({rest.min.x + stage.px(6.0F), rest.min.y + 0.5F * line}, stage.px(4.5F), verdict);
    const Rect room{{rest.min.x + stage.px(18.0F), rest.min.y}, rest.max};
    cut_top(rest, ink.wrapped(room, Size::small, stage.paper().ink, words));
}

void open_proof(const Stage& stage, TakeKind kind) {
    const plan::Plan& plan = stage.records()->plan();
    walk::GearTake& take = stage.state.gear_take;
    take.kind = kind;
    take.mics = std::clamp(std::min(stage.state.settings.mics, static_cast<int>(plan.positions.size())), 2, 31);
    const plan::Box* box = plan.box(stage.state.box);
    if (box == nullptr && !plan.boxes.empty()) box = &plan.boxes.front();
    if (box != nullptr && plan.boxes_of(take.circuit).empty()) {
        take.circuit = box->circuit;
        const plan::Position* place = plan.serving(plan::Role::on_axis, box->id);
        if (place == nullptr && !plan.positions.empty()) place = &plan.positions.front();
        if (place != nullptr) take.position = place->id;
    }
    stage.desk.forget_proof();
    stage.open_slip(Slip::prove);
}

void draw_proof_slip(const Stage& stage, Rect whole) {
    State& state = stage.state;
    if (stage.records() == nullptr) {
        state.slip = Slip::none;
        return;
    }
    const TakeKind kind = state.gear_take.kind;
    const auto running = stage.desk.running();
    Rect rest = lay_slip(stage, whole, 760.0F, kind == TakeKind::match ? 620.0F : 430.0F, title_of(kind));
    const bool ready = !running && !state.settings.who.empty();
    const bool plays = kind != TakeKind::calibrator && !state.settings.rehearse;
    const std::string yes = running ? running->what + (running->whole > 0.0 ? fmt::format(", {} %", report::fixed(100.0 * std::min(1.0, running->done / running->whole), 0)) : "") : plays ? "The area is clear: play" : "Take";
    const Answer given = slip_answer(stage, rest, yes, ready, running ? "Stop" : "Put away");
    Ink& ink = stage.ink();
    cut_top(rest, ink.wrapped(rest, Size::body, stage.paper().ink, what_to_do(stage)) + stage.px(6.0F));
    cut_top(rest, ink.wrapped(rest, Size::small, plays ? stage.paper().ink : stage.paper().faint, caution_of(state.settings, kind)) + stage.px(8.0F));
    if (kind == TakeKind::match) draw_match_choices(stage, rest);
    if (kind == TakeKind::calibrator) draw_calibrator_choices(stage, rest);
    cut_top(rest, stage.px(8.0F));
    stage.ui.field("proof-who", cut_top(rest, stage.px(54.0F)), "your name", state.settings.who);
    cut_top(rest, stage.px(10.0F));
    if (const auto& proof = stage.desk.proof()) draw_found(stage, rest, *proof);
    if (given == Answer::yes) stage.desk.prove(state.gear_take, state.settings);
    if (given != Answer::no) return;
    if (running) stage.desk.stop();
    else state.slip = Slip::none;
}

}  // namespace proofwalk::app
