// Sign: what is signed, every exception by itself, who signs in which role, the hash; and the report.
#include <fmt/format.h>

#include <algorithm>

#include "app/sheets.hpp"
#include "report/wording.hpp"
#include "walk/checklist.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::app {
namespace {

std::vector<std::string> scope_of(const State& state) { return state.sign_scope.empty() ? std::vector<std::string>{} : std::vector{state.sign_scope}; }

std::vector<const verify::CheckResult*> exceptions_of(const Records& show, const State& state) {
    std::vector<const verify::CheckResult*> list;
    for (const auto& check : show.page.tally.checks)
        if (check.verdict != verify::Verdict::pass && walk::in_scope(show.plan(), check, scope_of(state))) list.push_back(&check);
    return list;
}

// What the signature covers: the whole plan, one of its arrays, or the chosen box; a press goes on to the next.
void draw_scope(const Stage& stage, Rect rect) {
    State& state = stage.state;
    std::vector<std::string> scopes = {""};
    for (const auto& array : stage.records()->plan().arrays) scopes.push_back(array.id);
    if (stage.records()->plan().box(state.box) != nullptr) scopes.push_back(state.box);
    const auto at = std::ranges::find(scopes, state.sign_scope);
    if (at == scopes.end()) state.sign_scope.clear();
    const bool narrow = rect.width() < stage.px(140.0F);
    const std::string label = state.sign_scope.empty() ? std::string{narrow ? "Whole plan" : "Signs the whole plan"} : fmt::format("{}{} alone", narrow ? "" : "Signs ", state.sign_scope);
    if (stage.ui.button("sign-scope", rect, label)) state.sign_scope = at == scopes.end() || at + 1 == scopes.end() ? "" : *(at + 1);
}

std::string key_of(const verify::CheckResult& check) { return fmt::format("{}:{}", plan::word(check.kind), check.subject); }

void draw_exceptions(const Stage& stage, Rect rect, const std::vector<const verify::CheckResult*>& list) {
    Ink& ink = stage.ink();
    State& state = stage.state;
    Rect rest = rect;
    Rect head = cut_top(rest, stage.px(30.0F));
    ink.text_in(head, Size::body, stage.paper().ink, list.empty() ? "No exceptions: every check of the plan passed." : list.size() == 1 ? std::string{"One exception; accept it or settle it first"} : fmt::format("{} exceptions; accept each one or settle it first", list.size()));
    ink.line({rect.min.x, head.max.y}, head.max, stage.paper().hairline);
    const bool turned = stage.ui.list("exceptions", rest, list.size(), stage.px(44.0F), state.exceptions_list, [&](std::size_t i, Rect row, bool) {
        const verify::CheckResult& check = *list[i];
        Rect room = row.inset(stage.px(4.0F), 0.0F);
        bool on = state.accepted.contains(key_of(check));
        const Rect box = cut_left(room, stage.px(34.0F));
        if (stage.ui.tick(fmt::format("accept-{}", key_of(check)), box.inset(stage.px(4.0F), 0.0F), "", on)) {
            if (on) state.accepted.insert(key_of(check));
            else state.accepted.erase(key_of(check));
        }
        ink.mark({room.min.x + stage.px(8.0F), row.min.y + stage.px(14.0F)}, stage.px(5.0F), check.verdict);
        cut_left(room, stage.px(22.0F));
        ink.text_in({room.min, {room.max.x, row.centre().y + stage.px(2.0F)}}, Size::body, stage.paper().ink, fmt::format("{} of {}: {}", plan::word(check.kind), check.subject, verify::word(check.verdict)));
        ink.text_in({{room.min.x, row.centre().y}, room.max}, Size::small, stage.paper().faint, report::with_real_signs(check.says));
        ink.line({row.min.x, row.max.y}, row.max, with_alpha(stage.paper().hairline, 140));
    });
    if (turned && state.exceptions_list.selected) {
        const std::string key = key_of(*list[*state.exceptions_list.selected]);
        if (!state.accepted.erase(key)) state.accepted.insert(key);
    }
}

// The newest signature says just this of the whole plan, and stands.
bool signed_so(const Records& show, const State& state, const std::vector<std::string>& accepted) {
    if (show.page.sign_offs.empty() || !state.sign_scope.empty()) return false;
    const report::SignLine& newest = show.page.sign_offs.back();
    return !newest.stale && newest.covers.starts_with("the whole plan") && newest.who == state.settings.who && newest.role == state.settings.role &&
           std::ranges::is_permutation(newest.exceptions, accepted);
}

// What is signed is the log as it was written: audited as soon as the sheet is looked at; a press leads to the rest of it.
void draw_audit(const Stage& stage, Rect& rest) {
    State& state = stage.state;
    const auto& audited = stage.desk.audited();
    std::error_code ignored;
    if (state.audit_asked.lock() != stage.desk.records() && std::filesystem::exists(stage.records()->log_file, ignored)) {
        state.audit_asked = stage.desk.records();
        stage.desk.audit("", false);
    }
    const float line = stage.ink().line_height(Size::small);
    if (!audited || rest.height() < line) return;
    const bool sound = audited->found && audited->found->sound();
    const std::string text = fmt::format("Audit ({}): {}", stage.ui.keys().shown(Act::audit), audit_words(*audited));
    const Rect row = cut_top(rest, std::min(stage.ink().wrapped_height(rest.width(), Size::small, text), 2.0F * line));
    cut_top(rest, stage.px(5.0F));
    stage.ink().wrapped(row, Size::small, sound ? stage.paper().ink : stage.paper().fail, text);
    if (stage.ui.hovered(row)) stage.ink().line({row.min.x, row.max.y}, row.max, stage.paper().ink);
    if (stage.ui.region("audit", row)) stage.open_slip(Slip::audit);
}

void draw_statement(const Stage& stage, Rect rect) {
    const Records& show = *stage.records();
    const report::Show& page = show.page;
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    State& state = stage.state;
    Rect rest = rect;
    ink.text_in(cut_top(rest, stage.px(32.0F)), Size::head, paper.ink, "What is signed");
    const auto paragraph = [&](Size size, Colour colour, const std::string& text) {
        if (rest.height() < ink.line_height(size)) return;
        cut_top(rest, ink.wrapped(rest, size, colour, text) + stage.px(5.0F));
    };
    const auto counts = page.tally.counts();
    paragraph(Size::body, paper.ink, fmt::format("{}, plan revision {} with hash {}: {} checks passed, {} failed, {} unsure, {} open, {} skipped, from {} takes in {}.",
                                                 page.plan.name, page.plan_revision, report::short_hash(page.plan_sha256), counts.pass, counts.fail, counts.unsure, counts.open, counts.skipped, show.takes, page.log_name));
    if (!state.sign_scope.empty()) paragraph(Size::body, paper.ink, fmt::format("The signature covers {} alone.", state.sign_scope));
    paragraph(Size::small, paper.faint, page.decision_statement);
    draw_audit(stage, rest);
    paragraph(Size::small, paper.faint, "A pass says that the rig is as planned within the tolerances. It says nothing about how safely it hangs.");
    const Rect fields = cut_bottom(rest, std::min(stage.px(118.0F), rest.height()));
    for (auto line = page.sign_offs.rbegin(); line != page.sign_offs.rend(); ++line)
        paragraph(Size::small, line->stale ? paper.fail : paper.ink,
                  fmt::format("{} {}, {}, {}: hash {}{}{}", line->stale ? "Stale:" : "Signed:", line->who, line->role, line->when, line->hash,
                              line->exceptions.empty() ? "" : fmt::format("; exceptions {}", report::joined(line->exceptions)), line->stale ? "; " + line->stale_because : ""));
    Rect form = fields;
    stage.ui.field("sign-who", cut_top(form, stage.px(54.0F)), "name of who signs", state.settings.who);
    cut_top(form, stage.px(8.0F));
    stage.ui.field("sign-role", cut_top(form, stage.px(54.0F)), "role", state.settings.role);
}

}  // namespace

void draw_sign(const Stage& stage, Rect main, Rect actions) {
    const Records* show = stage.records();
    if (show == nullptr) return;
    State& state = stage.state;
    const auto list = exceptions_of(*show, state);
    Rect rest = main;
    const Rect left = main.width() > stage.px(640.0F) ? cut_left(rest, 0.5F * main.width()) : cut_top(rest, 0.4F * main.height());
    draw_exceptions(stage, left, list);
    cut_left(rest, stage.px(main.width() > stage.px(640.0F) ? 24.0F : 0.0F));
    draw_statement(stage, rest);

    std::vector<std::string> accepted;
    for (const auto* check : list)
        if (state.accepted.contains(key_of(*check))) accepted.push_back(key_of(*check));
    const bool signed_already = signed_so(*show, state, accepted);  // pressed twice, it is signed once
    const bool ready = !signed_already && accepted.size() == list.size() && !state.settings.who.empty() && !state.settings.role.empty() && !show->planned.empty();
    Rect strip = actions;
    const float width = std::min(stage.px(190.0F), 0.28F * actions.width());
    if (stage.ui.button("sign", cut_left(strip, width), signed_already ? "Signed" : "Sign", Weight::main, ready, stage.ui.keys().shown(Act::go)) || (ready && stage.ui.asked(Act::go)))
        stage.desk.sign(accepted, scope_of(state), state.settings);
    cut_left(strip, stage.px(10.0F));
    if (stage.ui.button("report", cut_left(strip, width), "Write the report", Weight::normal, true, stage.ui.keys().shown(Act::report)) || stage.ui.asked(Act::report)) stage.desk.write_report();
    cut_left(strip, stage.px(10.0F));
    draw_scope(stage, cut_left(strip, 0.8F * width));
    cut_left(strip, stage.px(10.0F));
    std::string words = ready ? "Signing appends to the log; nothing signed before is changed."
                        : signed_already ? "It is signed so already."
                        : accepted.size() != list.size() ? fmt::format("{} of {} exceptions accepted.", accepted.size(), list.size())
                                                         : "Signing needs a name and a role.";
    if (stage.desk.report_file()) words = "Report: " + stage.desk.report_file()->string();
    stage.ink().wrapped(strip, Size::small, stage.paper().faint, words);
}

}  // namespace proofwalk::app
