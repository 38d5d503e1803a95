// Slips: small papers over the sheet, one question each. Escape puts one away and nothing is done.
#include <fmt/format.h>

#include <cmath>

#include "app/design.hpp"
#include "app/slip_parts.hpp"
#include "report/figures.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::app {
namespace {

void draw_skip(const Stage& stage, Rect whole) {
    State& state = stage.state;
    Rect rest = lay_slip(stage, whole, 660.0F, 430.0F, "Leave out, with a reason");
    const bool ready = !state.why.empty() && !state.settings.who.empty() && !state.to_skip.empty();
    const Answer given = slip_answer(stage, rest, "Skip", ready);
    std::string names;
    for (const auto& check : state.to_skip) names += (names.empty() ? "" : ", ") + name_of(check);
    Rect text = cut_top(rest, stage.px(64.0F));
    stage.ink().wrapped(text, Size::body, stage.paper().ink, state.to_skip.empty() ? "Nothing here is open any more." : names + ". A skip is never a pass; a later take reopens it.");
    const bool entered = stage.ui.field("skip-why", cut_top(rest, stage.px(54.0F)), "why it is left out", state.why, "no access to the balcony before doors");
    cut_top(rest, stage.px(8.0F));
    // What people usually say is a press away.
    const auto reasons = walk::usual_skip_reasons();
    Rect row = cut_top(rest, stage.px(40.0F));
    const float each = row.width() / static_cast<float>(std::max<std::size_t>(reasons.size(), 1));
    for (const auto& reason : reasons)
        if (stage.ui.button(fmt::format("reason-{}", reason.word), cut_left(row, each).inset(stage.px(2.0F), 0.0F), reason.word)) state.why = reason.says;
    cut_top(rest, stage.px(8.0F));
    stage.ui.field("skip-who", cut_top(rest, stage.px(54.0F)), "who decides so", state.settings.who);
    if (given == Answer::yes || (entered && ready)) {
        stage.desk.skip(state.to_skip, state.why, state.settings);
        state.why.clear();
        state.slip = Slip::none;
    }
    if (given == Answer::no) state.slip = Slip::none;
}

void draw_change(const Stage& stage, Rect whole) {
    State& state = stage.state;
    Rect rest = lay_slip(stage, whole, 620.0F, 400.0F, "Something was moved, repatched or repaired");
    const bool ready = !state.what_changed.empty() && !state.settings.who.empty() && !state.changed_subject.empty();
    const Answer given = slip_answer(stage, rest, "Reopen its checks", ready);
    Rect text = cut_top(rest, stage.px(58.0F));
    stage.ink().wrapped(text, Size::small, stage.paper().faint, "Earlier takes of it retire and its checks open again. " + walk::rigging_caution());
    stage.ui.field("change-subject", cut_top(rest, stage.px(54.0F)), "box, pair, circuit, array or position", state.changed_subject);
    cut_top(rest, stage.px(8.0F));
    const bool entered = stage.ui.field("change-what", cut_top(rest, stage.px(54.0F)), "what was done", state.what_changed, "tilted up 4 degrees");
    cut_top(rest, stage.px(8.0F));
    stage.ui.field("change-who", cut_top(rest, stage.px(54.0F)), "who did it", state.settings.who);
    if (given == Answer::yes || (entered && ready)) {
        stage.desk.change(state.changed_subject, state.what_changed, state.settings);
        state.what_changed.clear();
        state.slip = Slip::none;
    }
    if (given == Answer::no) state.slip = Slip::none;
}

void draw_arm(const Stage& stage, Rect whole) {
    State& state = stage.state;
    const bool rehearse = state.settings.rehearse;
    Rect rest = lay_slip(stage, whole, 620.0F, 320.0F, rehearse ? "Who walks?" : "Before any sound plays");
    const bool ready = !state.settings.who.empty();
    const Answer given = slip_answer(stage, rest, rehearse ? "Begin the rehearsal" : "The area is clear: arm", ready);
    Rect text = cut_top(rest, stage.px(84.0F));
    stage.ink().wrapped(text, Size::body, stage.paper().ink,
                        rehearse ? std::string{"The room is simulated and no sound plays. The name is kept with every take, as it would be on site."}
                                 : fmt::format("{} Now set: {} dBFS, {} s.", walk::sound_caution(), report::fixed(state.settings.level_dbfs, 0), report::fixed(state.settings.length_s, 1)));
    const bool entered = stage.ui.field("arm-who", cut_top(rest, stage.px(54.0F)), "your name", state.settings.who);
    if (given == Answer::yes || (entered && ready)) {
        state.armed = true;
        state.slip = Slip::none;
    }
    if (given == Answer::no) state.slip = Slip::none;
}

void draw_explain(const Stage& stage, Rect whole) {
    State& state = stage.state;
    const Records* show = stage.records();
    const verify::CheckResult* check = show != nullptr && state.check ? show->check(*state.check) : nullptr;
    Rect rest = lay_slip(stage, whole, 980.0F, 660.0F, check == nullptr ? "Nothing is chosen" : fmt::format("{} of {}: {}", plan::word(check->kind), check->subject, verify::word(check->verdict)));
    if (slip_answer(stage, rest, "", false) == Answer::no) state.slip = Slip::none;
    if (check == nullptr) return;
    stage.ink().mark({whole.centre().x + std::min(stage.px(455.0F), 0.5F * whole.width() - stage.px(40.0F)), rest.min.y - stage.px(22.0F)}, stage.px(9.0F), check->verdict);
    draw_explanation(stage, rest, *check);
}

void draw_keys(const Stage& stage, Rect whole) {
    Rect rest = lay_slip(stage, whole, 560.0F, 620.0F, "Keys");
    if (slip_answer(stage, rest, "", false) == Answer::no || stage.ui.asked(Act::keys)) stage.state.slip = Slip::none;
    const auto file = (config_folder() / "keys.conf").string();
    cut_top(rest, stage.ink().wrapped(rest, Size::small, stage.paper().faint, fmt::format("Tab moves on, arrows move inside a list, Enter presses. Your own keys: {}, a line each: skip = s", file)) + stage.px(6.0F));
    const auto acts = all_acts();
    stage.ui.list("keys", rest, acts.size(), stage.px(24.0F), stage.state.keys_list, [&](std::size_t i, Rect row, bool) {
        Rect room = row.inset(stage.px(4.0F), 0.0F);
        stage.ink().text_in(cut_left(room, stage.px(120.0F)), Size::body, stage.paper().ink, stage.ui.keys().shown(acts[i]));
        stage.ink().text_in(cut_left(room, stage.px(90.0F)), Size::small, stage.paper().faint, word(acts[i]));
        stage.ink().text_in(room, Size::small, stage.paper().ink, explained(acts[i]));
    });
}

void draw_open_slip(const Stage& stage, Rect whole) {
    Rect rest = lay_slip(stage, whole, 860.0F, 620.0F, "");
    if (slip_answer(stage, rest, "", false) == Answer::no) {
        stage.state.slip = Slip::none;
        stage.desk.forget_plan();
        return;
    }
    draw_open(stage, rest);
}

// A take waits for a person: is the hall clear?
void draw_question(const Stage& stage, Rect whole) {
    const auto question = stage.desk.question();
    if (!question) {
        stage.open_slip(stage.state.slip_below);
        return;
    }
    Rect rest = lay_slip(stage, whole, 620.0F, 300.0F, "Before it plays");
    const Answer given = slip_answer(stage, rest, "Yes, play", true, "No");
    stage.ink().wrapped(rest, Size::body, stage.paper().ink, *question);
    if (given == Answer::none) return;
    stage.desk.answer(given == Answer::yes);
    stage.open_slip(stage.state.slip_below);
}

// The field that a slip opens with, so that one can type at once.
std::string_view first_field(const State& state) {
    switch (state.slip) {
        case Slip::skip: return "skip-why";
        case Slip::change: return "change-what";
        case Slip::arm: return state.settings.who.empty() ? "arm-who" : "slip-yes";
        case Slip::open: return "path";
        case Slip::explain:
        case Slip::photo: return "slip-no";
        case Slip::keys: return "keys";
        case Slip::estimate: return "estimate-question";
        case Slip::place_mics: return "place-missing";
        case Slip::question: return "slip-no";
        case Slip::note: return "note-text";
        case Slip::audit: return "audit-against";
        case Slip::certificate: return "certificate-of";
        case Slip::prove: return state.settings.who.empty() ? "proof-who" : state.gear_take.kind == signal::TakeKind::match ? "proof-circuits" : state.gear_take.kind == signal::TakeKind::calibrator ? "proof-mic" : "slip-yes";
        case Slip::none: break;
    }
    return "";
}

}  // namespace

Rect lay_slip(const Stage& stage, Rect whole, float width, float height, std::string_view title) {
    Ink& ink = stage.ink();
    ink.fill(whole, stage.paper().veil);
    width = std::min(stage.px(width), whole.width() - stage.px(24.0F));
    height = std::min(stage.px(height), whole.height() - stage.px(24.0F));
    const Point centre = whole.centre();
    const Rect paper{{std::floor(centre.x - 0.5F * width), std::floor(centre.y - 0.5F * height)}, {std::floor(centre.x + 0.5F * width), std::floor(centre.y + 0.5F * height)}};
    ink.fill(paper, stage.paper().ground);
    ink.frame(paper, stage.paper().ink, 2.0F);
    Rect rest = paper.inset(stage.px(20.0F), stage.px(14.0F));
    ink.text_in(cut_top(rest, stage.px(34.0F)), Size::head, stage.paper().ink, title);
    cut_top(rest, stage.px(6.0F));
    return rest;
}

Answer slip_answer(const Stage& stage, Rect& rest, std::string_view yes, bool ready, std::string_view no) {
    Rect strip = cut_bottom(rest, stage.px(52.0F));
    cut_bottom(rest, stage.px(8.0F));
    const Rect right = cut_right(strip, std::min(stage.px(150.0F), 0.36F * strip.width()));
    cut_right(strip, stage.px(10.0F));
    Answer given = Answer::none;
    if (!yes.empty() && stage.ui.button("slip-yes", strip, yes, Weight::main, ready)) given = Answer::yes;
    if (stage.ui.button("slip-no", right, no, Weight::normal, true, "Esc") || stage.ui.escape()) given = Answer::no;
    return given;
}

void draw_slip(const Stage& stage, Rect whole) {
    State& state = stage.state;
    if (state.slip_is_new) {
        stage.ui.focus(first_field(state));
        state.slip_is_new = false;
    }
    switch (state.slip) {
        case Slip::skip: return draw_skip(stage, whole);
        case Slip::change: return draw_change(stage, whole);
        case Slip::arm: return draw_arm(stage, whole);
        case Slip::explain: return draw_explain(stage, whole);
        case Slip::keys: return draw_keys(stage, whole);
        case Slip::open: return draw_open_slip(stage, whole);
        case Slip::question: return draw_question(stage, whole);
        case Slip::note: return draw_note_slip(stage, whole);
        case Slip::audit: return draw_audit_slip(stage, whole);
        case Slip::certificate: return draw_certificate_slip(stage, whole);
        case Slip::prove: return draw_proof_slip(stage, whole);
        case Slip::photo: return draw_photo_slip(stage, whole);
        case Slip::estimate: return draw_estimate_slip(stage, lay_slip(stage, whole, 960.0F, 620.0F, "Estimate"));
        case Slip::place_mics: return draw_place_slip(stage, lay_slip(stage, whole, 700.0F, 280.0F, "Mic places from the plan"));
        case Slip::none: break;
    }
}

}  // namespace proofwalk::app
