// Take: the mics before and while a take runs, and what each says afterwards.
#include <fmt/format.h>

#include <cmath>

#include "app/sheets.hpp"
#include "report/figures.hpp"
#include "report/wording.hpp"
#include "units/convert.hpp"

namespace proofwalk::app {
namespace {

constexpr float lowest_dbfs = -80.0F;

float dbfs(float peak) { return peak > 1e-6F ? static_cast<float>(amplitude_db(static_cast<double>(peak))) : -120.0F; }

// A rule with its scale; a slanted tick where the level is, a small flag at the highest since the take began.
void draw_rule(const Stage& stage, Rect rect, std::string_view name, std::string_view place, float level, float highest, std::optional<double> noise) {
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    Rect rest = rect;
    const Rect words = cut_left(rest, std::min(stage.px(120.0F), 0.36F * rect.width()));
    ink.name_in({words.min, {words.max.x - stage.px(4.0F), words.centre().y}}, Size::body, paper.ink, place);
    ink.text_in({{words.min.x, words.centre().y}, words.max}, Size::small, paper.faint, name);
    const Rect figure = cut_right(rest, stage.px(86.0F));
    const float y = rest.centre().y + stage.px(4.0F);
    const auto place_of = [&](float value) { return rest.min.x + std::clamp((value - lowest_dbfs) / -lowest_dbfs, 0.0F, 1.0F) * rest.width(); };
    ink.line({rest.min.x, y}, {rest.max.x, y}, paper.ink);
    for (int tick = 0; tick <= 16; ++tick) {
        const float value = lowest_dbfs + 5.0F * static_cast<float>(tick), long_one = tick % 4 == 0 ? 7.0F : 3.0F;
        ink.line({place_of(value), y}, {place_of(value), y + stage.px(long_one)}, paper.faint);
    }
    if (noise) {
        const float x = place_of(static_cast<float>(*noise));
        ink.hatch({{rest.min.x, y - stage.px(8.0F)}, {x, y}}, paper.hairline, 5.0F);
        ink.line({x, y - stage.px(8.0F)}, {x, y}, paper.faint);
    }
    if (level > lowest_dbfs) ink.line({place_of(level) - stage.px(3.0F), y - stage.px(12.0F)}, {place_of(level) + stage.px(3.0F), y}, paper.ink, 3.0F);
    if (highest > lowest_dbfs) ink.line({place_of(highest), y - stage.px(14.0F)}, {place_of(highest), y}, paper.ink, 1.0F);
    const bool clipped = highest > -0.1F;
    ink.text_right({figure.max.x, figure.centre().y - 0.5F * ink.line_height(Size::small)}, Size::small, clipped ? paper.fail : paper.ink,
                   highest <= lowest_dbfs ? std::string{report::no_figure}
                   : clipped             ? std::string{"full scale"}
                                         : fmt::format("{} dB free", report::fixed(static_cast<double>(-highest), 0)));
}

std::optional<double> noise_at(const std::vector<Card>& cards, const std::string& position) {
    for (const Card& card : cards)
        if (card.position == position && card.noise_dbfs) return card.noise_dbfs;
    return std::nullopt;
}

void draw_mics(const Stage& stage, Rect rect, const walk::Step& step) {
    const TakeView view = stage.desk.take_view();
    if (step.positions.empty()) return;
    Rect rest = rect;
    Ink& ink = stage.ink();
    ink.text_in(cut_top(rest, stage.px(24.0F)), Size::small, stage.paper().faint, "Mics, dB below full scale; hatched: noise");
    const float row = std::clamp(rest.height() / static_cast<float>(step.positions.size() + 1), stage.px(30.0F), stage.px(52.0F));
    const bool live = view.whole_s > 0.0 && view.positions == step.positions;
    for (std::size_t i = 0; i < step.positions.size() && rest.height() >= row; ++i)
        draw_rule(stage, cut_top(rest, row), fmt::format("mic {}", i + 1), step.positions[i],
                  live && i < view.peak.size() ? dbfs(view.peak[i]) : -120.0F, live && i < view.highest.size() ? dbfs(view.highest[i]) : -120.0F,
                  noise_at(stage.desk.cards(), step.positions[i]));
    if (rest.height() >= row)
        draw_rule(stage, cut_top(rest, row), fmt::format("input {}", stage.state.settings.reference), "loopback",
                  live ? dbfs(view.reference_peak) : -120.0F, live ? dbfs(view.reference_peak) : -120.0F, std::nullopt);
}

void draw_progress(const Stage& stage, Rect rect, const walk::Path& path, std::size_t index) {
    Ink& ink = stage.ink();
    const TakeView view = stage.desk.take_view();
    const walk::Step& step = path.steps[index];
    const bool running = view.phase != TakeView::Phase::none;
    const std::string words = running && view.run ? run_words(view)
                              : view.phase == TakeView::Phase::capturing ? (view.circuit.empty() ? "Listening to the noise" : "Taking " + view.circuit)
                              : view.phase == TakeView::Phase::storing ? "Storing and measuring"
                              : view.phase == TakeView::Phase::judging ? "Judging"
                              : step.circuit.empty()                   ? "Next: the noise at these places"
                                                                       : "Next: " + step.circuit;
    Rect rest = rect;
    ink.text_in(cut_top(rest, stage.px(32.0F)), Size::head, stage.paper().ink, words);
    const Rect rule = cut_top(rest, stage.px(14.0F));
    const float y = rule.centre().y;
    ink.line({rule.min.x, y}, {rule.max.x, y}, stage.paper().hairline, 1.0F);
    if (running && view.whole_s > 0.0) {
        const float share = std::clamp(static_cast<float>(view.done_s / view.whole_s), 0.0F, 1.0F);
        ink.line({rule.min.x, y}, {rule.min.x + share * rule.width(), y}, stage.paper().ink, 4.0F);
    }
    const auto& after = stage.desk.cards_after();
    const std::string says = view.run ? view.run->says : "";
    if (!says.empty()) ink.text_in(cut_top(rest, ink.line_height(Size::small)), Size::small, stage.paper().ink, says);
    else if (!running && after) ink.text_in(cut_top(rest, ink.line_height(Size::small)), Size::small, stage.paper().faint, fmt::format("Cards {} ms after the last sample", report::fixed(after->shown_ms, 0)));
}

std::string quality_of(const signal::Reading& reading) {
    std::string text;
    for (const auto flag : words(reading.flags)) text += (text.empty() ? "" : ", ") + std::string{flag};
    return text.empty() ? fmt::format("clean, {} dB above the noise", report::fixed(reading.signal_to_noise_db, 0)) : text;
}

std::string level_of(const signal::Reading& reading) {
    if (!reading.aim_band_db) return std::string{report::no_figure};
    return report::with_unit(report::with_uncertainty(reading.aim_band_db->value, reading.aim_band_db->u, "dB"), reading.calibrated ? "dB SPL" : "dB");
}

std::string arrival_of(const signal::Reading& reading) {
    if (!reading.arrival_s) return std::string{report::no_figure};
    const double ms = 1e3;
    return report::with_unit(report::with_uncertainty(reading.arrival_s->value * ms, reading.arrival_s->u * ms, "ms", report::Sign::when_negative), "ms");
}

std::string polarity_of(const signal::Reading& reading) {
    return reading.polarity ? (*reading.polarity > 0 ? "+ as the signal" : "\u2212 inverted") : "cannot tell";
}

void draw_card(const Stage& stage, Rect rect, const Card& card) {
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    ink.frame(rect, paper.hairline);
    Rect rest = rect.inset(stage.px(10.0F), stage.px(6.0F));
    Rect head = cut_top(rest, stage.px(26.0F));
    ink.text_right({head.max.x, head.min.y + stage.px(4.0F)}, Size::small, paper.faint, card.mic);
    ink.text_in({head.min, {head.max.x - stage.px(40.0F), head.max.y}}, Size::body, paper.ink, card.circuit.empty() ? card.position : card.circuit + " at " + card.position);
    ink.line({rect.min.x, head.max.y}, {rect.max.x, head.max.y}, paper.hairline);
    cut_top(rest, stage.px(4.0F));
    const auto line = [&](std::string_view caption, const std::string& value) {
        Rect row = cut_top(rest, ink.line_height(Size::small) + stage.px(1.0F));
        if (rest.height() < 0.0F) return;
        ink.text_in(cut_left(row, stage.px(62.0F)), Size::small, paper.faint, caption);
        ink.text_in(row, Size::small, paper.ink, value);
    };
    if (card.reading) {
        line("arrival", arrival_of(*card.reading));
        line("level", level_of(*card.reading));
        line("polarity", polarity_of(*card.reading));
        line("quality", quality_of(*card.reading));
    } else if (card.noise_dbfs) {
        line("noise", fmt::format("{} dB below full scale", report::fixed(-*card.noise_dbfs, 0)));
    }
    for (const auto* result : card.meaning) {
        if (rest.height() < ink.line_height(Size::small)) break;
        ink.mark({rest.min.x + stage.px(6.0F), rest.min.y + 0.5F * ink.line_height(Size::small)}, stage.px(4.5F), result->verdict);
        Rect words{{rest.min.x + stage.px(18.0F), rest.min.y}, rest.max};
        const std::string text = fmt::format("{} {}: {}", plan::word(result->kind), result->subject, result->says.empty() ? std::string{verify::word(result->verdict)} : report::with_real_signs(result->says));
        cut_top(rest, ink.wrapped(words, Size::small, paper.ink, text) + stage.px(2.0F));
    }
}

void draw_cards(const Stage& stage, Rect rect) {
    const auto& cards = stage.desk.cards();
    if (cards.empty()) {
        stage.ink().wrapped(rect, Size::body, stage.paper().faint, "What each mic heard stands here after the take.");
        return;
    }
    const auto columns = static_cast<std::size_t>(std::clamp(rect.width() / stage.px(225.0F), 1.0F, 4.0F));
    const std::size_t rows = (cards.size() + columns - 1) / columns;
    const float gap = stage.px(8.0F);
    const float width = (rect.width() - gap * static_cast<float>(columns - 1)) / static_cast<float>(columns);
    const float height = std::clamp((rect.height() - gap * static_cast<float>(rows - 1)) / static_cast<float>(rows), stage.px(110.0F), stage.px(270.0F));
    stage.ink().clip(rect.inset(-stage.px(2.0F)));
    for (std::size_t i = 0; i < cards.size(); ++i) {
        const Point at{rect.min.x + static_cast<float>(i % columns) * (width + gap), rect.min.y + static_cast<float>(i / columns) * (height + gap)};
        draw_card(stage, {at, {at.x + width, at.y + height}}, cards[i]);
    }
    stage.ink().unclip();
}

}  // namespace

void draw_take(const Stage& stage, Rect main, Rect actions) {
    const Records* show = stage.records();
    if (show == nullptr) return;
    Rect rest = main;
    const TakeView view = stage.desk.take_view();
    const auto step = view.phase != TakeView::Phase::none ? std::optional{view.step} : stage.step();
    if (step && *step < show->path.steps.size()) {
        Rect left = main.width() > stage.px(700.0F) ? cut_left(rest, std::min(0.36F * main.width(), stage.px(460.0F))) : cut_top(rest, 0.5F * main.height());
        cut_left(rest, stage.px(main.width() > stage.px(700.0F) ? 24.0F : 0.0F));
        draw_progress(stage, cut_top(left, stage.px(66.0F)), show->path, *step);
        draw_mics(stage, left, show->path.steps[*step]);
    }
    draw_cards(stage, rest.inset(0.0F, stage.px(4.0F)));
    Rect strip = actions;
    if (view.phase == TakeView::Phase::none || !view.run) {
        draw_note_button(stage, cut_right(strip, std::min(stage.px(110.0F), 0.2F * actions.width())));
        cut_right(strip, stage.px(10.0F));
    }
    draw_go(stage, strip);
}

}  // namespace proofwalk::app
