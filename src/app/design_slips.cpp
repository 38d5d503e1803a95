// Slips of the design desk: an estimate for the chosen box, to be taken over or not, and mic places worked out from the plan.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "app/design.hpp"
#include "report/figures.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::app {
namespace {

std::string figure_of(const report::EstimateFigure& figure) {
    return figure.value ? report::with_unit(report::fixed(*figure.value, figure.decimals), figure.unit) : std::string{report::no_figure};
}

std::string words_of(const walk::Suggestion& suggestion) {
    std::string name = suggestion.key.substr(0, suggestion.key.find('_'));
    return fmt::format("{} of {}: {} instead of {}", name, suggestion.box, report::with_unit(report::fixed(suggestion.value, suggestion.decimals), suggestion.unit),
                       report::with_unit(report::fixed(suggestion.now, suggestion.decimals), suggestion.unit));
}

// One of a list by its word; the list is short or the next one is a press away.
bool draw_one_of(const Stage& stage, Rect rect, std::string_view id, std::string_view caption, const std::vector<std::string>& words, std::string& chosen) {
    if (words.size() < 2) return false;
    const auto at = static_cast<std::size_t>(std::ranges::find(words, chosen) - words.begin());
    if (!stage.ui.button(id, rect, fmt::format("{} {}", caption, at < words.size() ? words[at] : words.front()))) return false;
    chosen = words[(at + 1) % words.size()];
    return true;
}

}  // namespace

void draw_sketch(const Stage& stage, Rect rect, const report::EstimateSketch& sketch) {
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    double u0 = std::numeric_limits<double>::infinity(), u1 = -u0, v0 = u0, v1 = -u0;
    for (const auto& stroke : sketch.strokes)
        for (const auto& [u, v] : stroke.points) u0 = std::min(u0, u), u1 = std::max(u1, u), v0 = std::min(v0, v), v1 = std::max(v1, v);
    if (!(u1 >= u0)) return;
    const Rect room = rect.inset(stage.px(34.0F), stage.px(30.0F));
    if (room.empty()) return;
    const float scale = std::min(room.width() / static_cast<float>(std::max(u1 - u0, 0.5)), room.height() / static_cast<float>(std::max(v1 - v0, 0.5)));
    const Point middle = room.centre();
    const auto place = [&](double u, double v) {
        return Point{middle.x + static_cast<float>(u - 0.5 * (u0 + u1)) * scale, middle.y - static_cast<float>(v - 0.5 * (v0 + v1)) * scale};
    };
    using Kind = report::EstimateSketch::Kind;
    ink.clip(rect);
    ink.text({rect.min.x, rect.min.y}, Size::small, paper.faint, sketch.title);
    for (const auto& stroke : sketch.strokes) {
        std::vector<Point> points;
        for (const auto& [u, v] : stroke.points) points.push_back(place(u, v));
        if (points.empty()) continue;
        switch (stroke.kind) {
            case Kind::audience: ink.path(points, paper.ink, 1.5F); break;
            case Kind::axis: ink.path(points, paper.curves[0], 1.8F); break;
            case Kind::edge: ink.path(points, paper.faint); break;
            case Kind::box:
                for (const Point& at : points) ink.disc(at, stage.px(4.0F), paper.ink);
                break;
            case Kind::join:
                for (const Point& at : points) ink.ring(at, stage.px(5.0F), paper.ink, 1.5F);
                break;
        }
        if (stroke.label.empty()) continue;
        const float wide = ink.width(Size::small, stroke.label);
        const bool right = points.back().x + wide + stage.px(8.0F) > rect.max.x;
        ink.text({points.back().x + (right ? -wide - stage.px(6.0F) : stage.px(6.0F)), points.back().y - ink.line_height(Size::small)}, Size::small, paper.ink, stroke.label);
    }
    double bar = 0.5;
    for (const double step : {1.0, 2.0, 5.0, 10.0, 20.0, 50.0})
        if (static_cast<float>(step) * scale < 0.34F * rect.width()) bar = step;
    const Point from{rect.min.x + stage.px(2.0F), rect.max.y - stage.px(8.0F)}, to{from.x + static_cast<float>(bar) * scale, from.y};
    ink.line(from, to, paper.ink, 2.0F);
    ink.text({to.x + stage.px(6.0F), to.y - 0.5F * ink.line_height(Size::small)}, Size::small, paper.ink, fmt::format("{} m", report::fixed(bar, bar < 1.0 ? 1 : 0)));
    ink.unclip();
}

void draw_estimate_slip(const Stage& stage, Rect rest) {
    State& state = stage.state;
    Ink& ink = stage.ink();
    if (!state.draft) {
        state.slip = Slip::none;
        return;
    }
    const plan::Plan& plan = state.draft->plan();
    const plan::Box* box = plan.box(state.box);
    if (box == nullptr && !plan.boxes.empty()) box = &plan.boxes.front();
    if (box == nullptr) {
        state.slip = Slip::none;
        return;
    }
    const auto questions = walk::desk_questions();
    std::vector<std::string> words, areas;
    for (const auto question : questions) words.emplace_back(walk::word(question));
    for (const auto& area : plan.areas) areas.push_back(area.id);
    EstimateAsk ask{box->id, state.draft->text(), questions[std::min(state.estimate_question, questions.size() - 1)], state.estimate_area, state.estimate_partner};
    if (stage.ui.choice("estimate-question", cut_top(rest, stage.px(36.0F)), words, state.estimate_question)) state.estimate_area.clear(), state.estimate_partner.clear();
    cut_top(rest, stage.px(8.0F));
    const DeskEstimate* known = stage.desk.estimate(ask, plan);
    Rect strip = cut_bottom(rest, stage.px(52.0F));
    cut_bottom(rest, stage.px(8.0F));
    const Rect away = cut_right(strip, std::min(stage.px(150.0F), 0.3F * strip.width()));
    cut_right(strip, stage.px(10.0F));
    const Rect other = cut_right(strip, std::min(stage.px(230.0F), 0.34F * strip.width()));
    cut_right(strip, stage.px(10.0F));
    const bool ready = known != nullptr && known->answer && !known->answer->suggestions.empty();
    if (stage.ui.button("take-over", strip, "Take over", Weight::main, ready) && ready) {
        std::vector<FigureEdit> edits;
        for (const auto& suggestion : known->answer->suggestions) edits.push_back({suggestion.box, suggestion.key, suggestion.value, suggestion.decimals});
        if (draft_done(stage, state.draft->set_figures(edits))) draft_changed(stage);
        state.slip = Slip::none;
        return;
    }
    if (stage.ui.button("slip-no", away, "Put away", Weight::normal, true, "Esc") || stage.ui.escape()) state.slip = Slip::none;
    if (known == nullptr) {
        ink.wrapped(rest, Size::body, stage.paper().faint, "Working it out.");
        return;
    }
    if (!known->answer) {
        ink.wrapped(rest, Size::body, stage.paper().ink, sentence(known->answer.error()));
        return;
    }
    const walk::DeskAnswer& answer = *known->answer;
    if (!answer.area.empty()) {
        std::string area = answer.area;
        if (draw_one_of(stage, other, "estimate-area", "for", areas, area)) state.estimate_area = area;
    } else {
        std::string partner = answer.partner;
        if (draw_one_of(stage, other, "estimate-partner", "with", walk::partners_of(plan, ask.question, box->id), partner)) state.estimate_partner = partner;
    }
    const Rect drawing = cut_right(rest, 0.46F * rest.width());
    cut_right(rest, stage.px(16.0F));
    if (answer.estimate.sketch) draw_sketch(stage, drawing, *answer.estimate.sketch);
    const auto paragraph = [&](Size size, Colour colour, const std::string& text) {
        if (rest.height() >= ink.line_height(size)) cut_top(rest, ink.wrapped(rest, size, colour, text) + stage.px(4.0F));
    };
    paragraph(Size::head, stage.paper().ink, fmt::format("{}{}", box->id, answer.area.empty() ? " with " + answer.partner : " for " + answer.area));
    for (const auto& text : answer.estimate.says) paragraph(Size::body, stage.paper().ink, text);
    for (const auto& suggestion : answer.suggestions) paragraph(Size::body, stage.paper().curves[0], words_of(suggestion));
    for (const auto& figure : answer.estimate.figures) {
        if (rest.height() < 5.0F * ink.line_height(Size::small)) break;
        const Rect row = cut_top(rest, ink.line_height(Size::small) + stage.px(1.0F));
        ink.text_in({row.min, {row.max.x - stage.px(90.0F), row.max.y}}, Size::small, stage.paper().faint, figure.words);
        ink.text_right({row.max.x, row.min.y}, Size::small, stage.paper().ink, figure_of(figure));
    }
    cut_top(rest, stage.px(4.0F));
    for (const auto& text : answer.estimate.assumes) paragraph(Size::small, stage.paper().faint, text + ".");
    paragraph(Size::small, stage.paper().fail, walk::rigging_caution());
}

void draw_place_slip(const Stage& stage, Rect rest) {
    State& state = stage.state;
    Ink& ink = stage.ink();
    if (!state.draft) {
        state.slip = Slip::none;
        return;
    }
    Rect strip = cut_bottom(rest, stage.px(52.0F));
    cut_bottom(rest, stage.px(8.0F));
    const Rect away = cut_right(strip, std::min(stage.px(150.0F), 0.3F * strip.width()));
    cut_right(strip, stage.px(10.0F));
    const float half = 0.5F * (strip.width() - stage.px(10.0F));
    const auto place = [&](bool keep_all) {
        stage.desk.place_mics(state.draft->plan(), state.draft->text(), keep_all);
        state.slip = Slip::none;
    };
    if (stage.ui.button("place-missing", cut_left(strip, half), "Add what is missing", Weight::main)) place(true);
    cut_left(strip, stage.px(10.0F));
    if (stage.ui.button("place-anew", strip, "Place all anew", Weight::main)) place(false);
    if (stage.ui.button("slip-no", away, "Put away", Weight::normal, true, "Esc") || stage.ui.escape()) state.slip = Slip::none;
    cut_top(rest, ink.wrapped(rest, Size::body, stage.paper().ink,
                              "On-axis places, edges of coverage and crossovers are worked out from the plan, on the audience areas, few stands and a short walk. The draft takes them over in one step; undo brings the old ones back.") + stage.px(8.0F));
    ink.wrapped(rest, Size::small, stage.paper().faint, fmt::format("The plan has {} positions now. A place that the room does not allow is told with its reason.", state.draft->plan().positions.size()));
}

void take_placed_mics(const Stage& stage) {
    State& state = stage.state;
    const auto placed = stage.desk.take_placed();
    if (!placed || placed->text != state.draft->text()) return;
    if (!draft_done(stage, state.draft->set_positions(placed->placement.positions))) return;
    draft_changed(stage);
    for (const auto& unplaced : placed->placement.unplaced) {
        std::string boxes;
        for (const auto& box : unplaced.boxes) boxes += (boxes.empty() ? "" : " and ") + box;
        stage.desk.note(fmt::format("No place serves {} of {}: {}", plan::word(unplaced.role), boxes, unplaced.why));
    }
    stage.desk.note(fmt::format("{} positions, {} m to walk along them", placed->placement.positions.size(), report::fixed(placed->placement.walk_m, 0)));
}

}  // namespace proofwalk::app
