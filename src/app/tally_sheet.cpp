// Tally: boxes by checks. A cell says word by shape, tone and figure; the chosen one is explained beside it.
#include <fmt/format.h>

#include <algorithm>

#include "app/sheets.hpp"
#include "app/tally_table.hpp"
#include "report/verdict_marks.hpp"
#include "report/wording.hpp"

namespace proofwalk::app {
namespace {

constexpr const auto& kinds = tally_kinds;
using Row = TallyRow;

// Put together again only when the records, the filter or the order are others.
const TallyTable& table_of(const Stage& stage) {
    State& state = stage.state;
    const TallyKey key{stage.desk.records(), state.only, state.tally_sort};
    if (!state.tally_table || !(state.tally_table->key == key)) state.tally_table = std::make_shared<const TallyTable>(tally_table(key));
    return *state.tally_table;
}

// Where the widest figure with its uncertainty has no room, none has: a column reads better when its figures are alike.
bool whole_figures(const Stage& stage, float cell_width) { return stage.ink().width(Size::small, "+0.000 \u00b10.000 ms") + stage.px(25.0F) <= cell_width; }

void draw_cell(const Stage& stage, Rect cell, const verify::CheckResult& check, bool chosen, bool whole) {
    Ink& ink = stage.ink();
    ink.mark({cell.min.x + stage.px(11.0F), cell.centre().y}, stage.px(5.0F), check.verdict);
    const std::string figure = check.kind == plan::CheckKind::sounding || !check.value ? "" : report::value_of(check);
    Rect words{{cell.min.x + stage.px(21.0F), cell.min.y}, cell.max};
    if (check.verdict == verify::Verdict::open || check.verdict == verify::Verdict::skipped)
        ink.text_in(words, Size::small, stage.paper().faint, verify::word(check.verdict));
    else
        ink.text_in(words, Size::small, stage.paper().ink, figure.empty() ? std::string{verify::word(check.verdict)} : whole ? figure : figure.substr(0, figure.find(' ')));
    if (chosen) ink.frame(cell.inset(stage.px(1.0F)), stage.paper().ink, 2.0F);
}

void draw_grid(const Stage& stage, Rect rect, const std::vector<Row>& rows, const std::vector<std::size_t>& columns) {
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    State& state = stage.state;
    Rect rest = rect;
    const float name_width = std::min(stage.px(110.0F), 0.22F * rect.width());
    const float cell_width = columns.empty() ? 0.0F : (rect.width() - name_width - stage.px(12.0F)) / static_cast<float>(columns.size());
    const bool whole = whole_figures(stage, cell_width);
    const Rect head = cut_top(rest, stage.px(24.0F));
    for (std::size_t c = 0; c < columns.size(); ++c) {
        const float x = rect.min.x + name_width + cell_width * static_cast<float>(c);
        ink.text_in({{x + stage.px(4.0F), head.min.y}, {x + cell_width, head.max.y}}, Size::small, paper.faint, plan::word(kinds[columns[c]]));
        ink.line({x, head.min.y}, {x, rect.max.y}, with_alpha(paper.hairline, 140));
    }
    ink.line({rect.min.x, head.max.y}, head.max, paper.ink);
    const auto row_of_selection = [&]() -> std::optional<std::size_t> {
        if (!state.check) return std::nullopt;
        for (std::size_t i = 0; i < rows.size(); ++i)
            if (rows[i].subject == state.check->subject) return i;
        return std::nullopt;
    };
    ListState& list = state.tally_list;
    if (list.selected != row_of_selection()) {
        list.selected = row_of_selection();
        list.show_selected = true;
    }
    const auto before = list.selected;
    std::optional<walk::CheckName> clicked;
    const bool explained = stage.ui.list("tally", rest, rows.size(), stage.px(28.0F), list, [&](std::size_t i, Rect row, bool) {
        ink.name_in({row.min, {row.min.x + name_width - stage.px(4.0F), row.max.y}}, Size::body, paper.ink, rows[i].subject);
        ink.line({row.min.x, row.max.y}, row.max, with_alpha(paper.hairline, 140));
        for (std::size_t c = 0; c < columns.size(); ++c) {
            const auto* check = rows[i].cells[columns[c]];
            if (check == nullptr) continue;
            const float x = row.min.x + name_width + cell_width * static_cast<float>(c);
            const Rect cell{{x, row.min.y}, {x + cell_width, row.max.y}};
            const walk::CheckName name{check->kind, check->subject};
            draw_cell(stage, cell, *check, state.check == name, whole);
            if (stage.ui.hovered(cell) && rest.contains(cell.centre()) && stage.ui.pressed_now()) clicked = name;
        }
    });
    // Up and down change the subject, left and right the check.
    const auto nearest_in = [&](std::size_t i, plan::CheckKind kind) -> std::optional<walk::CheckName> {
        const verify::CheckResult* best = nullptr;
        for (const auto* check : rows[i].cells)
            if (check != nullptr && (best == nullptr || check->kind == kind)) best = check;
        if (best == nullptr) return std::nullopt;
        return walk::CheckName{best->kind, best->subject};
    };
    if (clicked) {
        stage.select_check(*clicked);
    } else if (list.selected && list.selected != before) {
        if (auto name = nearest_in(*list.selected, state.check ? state.check->kind : plan::CheckKind::sounding)) stage.select_check(*name);
    }
    if (list.selected && *list.selected < rows.size() && stage.ui.focused() == "tally" && state.check) {
        const int step = stage.ui.sideways();
        for (int k = static_cast<int>(state.check->kind) + step; step != 0 && k >= 0 && k < static_cast<int>(kinds.size()); k += step)
            if (const auto* check = rows[*list.selected].cells[static_cast<std::size_t>(k)]) {
                stage.select_check({check->kind, check->subject});
                break;
            }
    }
    if (explained && state.check) stage.open_slip(Slip::explain);
}

void draw_chosen(const Stage& stage, Rect rect, const verify::CheckResult& check) {
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    Rect rest = rect;
    Rect head = cut_top(rest, stage.px(32.0F));
    ink.mark({head.min.x + stage.px(10.0F), head.centre().y}, stage.px(8.0F), check.verdict);
    ink.text_in({{head.min.x + stage.px(26.0F), head.min.y}, head.max}, Size::head, paper.ink, fmt::format("{}: {}", check.subject, verify::word(check.verdict)));
    const auto paragraph = [&](Size size, Colour colour, const std::string& text) {
        if (text.empty() || rest.height() < ink.line_height(size)) return;
        cut_top(rest, ink.wrapped(rest, size, colour, text) + stage.px(6.0F));
    };
    paragraph(Size::body, paper.faint, std::string{plan::word(check.kind)});
    paragraph(Size::body, paper.ink, report::sentence_case(check.says));
    if (!check.advice.empty()) paragraph(Size::body, paper.ink, report::sentence_case(check.advice) + ".");
    const std::string limit = report::limit_of(check);
    if (check.value) paragraph(Size::small, paper.ink, report::value_of(check) + (limit.empty() ? "" : "; tolerance " + limit));
    if (check.probability) paragraph(Size::small, paper.faint, fmt::format("probability that it conforms {}", report::fixed(*check.probability, 3)));
    if (!check.takes.empty()) paragraph(Size::small, paper.faint, "from takes " + report::joined(check.takes));
}

}  // namespace

void draw_tally(const Stage& stage, Rect main, Rect actions) {
    const Records* show = stage.records();
    if (show == nullptr) return;
    State& state = stage.state;
    Ui& ui = stage.ui;
    Rect rest = main;
    Rect head = cut_top(rest, stage.px(34.0F));
    static const std::vector<std::string> sorts = {"as planned", "worst first", "by name"};
    Rect sort_at = cut_right(head, std::min(stage.px(300.0F), 0.4F * main.width()));
    ui.choice("tally-sort", sort_at.inset(0.0F, stage.px(2.0F)), sorts, state.tally_sort);
    if (ui.asked(Act::sort)) state.tally_sort = (state.tally_sort + 1) % sorts.size();
    const std::string filter = state.only ? fmt::format("Only {}: all again", verify::word(*state.only)) : "Every verdict";
    if (ui.button("tally-all", cut_left(head, std::min(stage.px(230.0F), 0.4F * main.width())).inset(0.0F, stage.px(2.0F)), filter, Weight::quiet, true, ui.keys().shown(Act::filter)) || ui.asked(Act::filter)) {
        // fail, unsure, open, skipped, pass, then all again
        const std::size_t next = state.only ? rank_of(*state.only) + 1 : 0;
        state.only = next < report::verdict_marks.size() ? std::optional{report::verdict_marks[next].verdict} : std::nullopt;
    }
    cut_top(rest, stage.px(4.0F));
    const TallyTable& table = table_of(stage);
    const auto& rows = table.rows;
    const verify::CheckResult* chosen = state.check ? show->check(*state.check) : nullptr;
    if (chosen != nullptr && main.width() > stage.px(900.0F)) {
        draw_chosen(stage, cut_right(rest, stage.px(280.0F)), *chosen);
        cut_right(rest, stage.px(16.0F));
    }
    if (rows.empty())
        stage.ink().wrapped(rest, Size::body, stage.paper().faint, show->planned.empty() ? "The plan asks no checks: it has no boxes, or no positions that serve them." : "No check has this verdict.");
    else
        draw_grid(stage, rest, rows, table.columns);

    Rect strip = actions;
    const float width = std::min(stage.px(140.0F), 0.235F * actions.width());
    const bool some = chosen != nullptr;
    const auto place = [&] {
        const Rect at = cut_left(strip, width);
        cut_left(strip, stage.px(8.0F));
        return at;
    };
    const auto step = some ? walk::step_serving(show->plan(), show->path, *state.check) : std::nullopt;
    if (ui.button("explain", place(), "Explain", Weight::normal, some, ui.keys().shown(Act::explain)) || (some && ui.asked(Act::explain))) stage.open_slip(Slip::explain);
    if (ui.button("retake", place(), "Take again", Weight::normal, step.has_value(), ui.keys().shown(Act::retake)) || (step && ui.asked(Act::retake))) {
        state.step = step;
        state.sheet = Sheet::next;
    }
    const bool skipped = some && chosen->verdict == verify::Verdict::skipped;
    if (ui.button("skip", place(), skipped ? "Ask again" : "Skip", Weight::normal, some, ui.keys().shown(Act::skip)) || (some && ui.asked(Act::skip))) {
        state.to_skip = {*state.check};
        if (!skipped) stage.open_slip(Slip::skip);
        else if (state.settings.who.empty()) stage.open_slip(Slip::arm);  // a decision has a name
        else stage.desk.take_up(*state.check, state.settings);
    }
    if (ui.button("changed", place(), "Changed", Weight::normal, some, ui.keys().shown(Act::changed)) || (some && ui.asked(Act::changed))) {
        state.changed_subject = state.check->subject;
        stage.open_slip(Slip::change);
    }
}

}  // namespace proofwalk::app
