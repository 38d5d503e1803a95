// Notes, incidents and photos: written down about whatever is chosen, on every sheet; and shown beside it.
#include <fmt/format.h>

#include <algorithm>

#include "app/slip_parts.hpp"

namespace proofwalk::app {
namespace {

void add_once(std::vector<std::string>& list, std::string subject) {
    if (std::ranges::find(list, subject) == list.end()) list.push_back(std::move(subject));
}

// What a note may be about, the likeliest first: the newest take on its sheet, else what is chosen, else what is next.
std::vector<std::string> subjects(const Stage& stage) {
    const Records& show = *stage.records();
    const State& state = stage.state;
    std::vector<std::string> list;
    const auto& cards = stage.desk.cards();
    const std::string take = cards.empty() ? "" : "take " + cards.front().label;
    if (state.sheet == Sheet::take && !take.empty()) add_once(list, take);
    if (state.sheet == Sheet::room && state.position_newest && !state.position.empty()) add_once(list, "position " + state.position);
    if (show.plan().box(state.box) != nullptr) add_once(list, "box " + state.box);
    if (const auto step = stage.step())
        for (const plan::Box* box : show.plan().boxes_of(show.path.steps[*step].circuit)) add_once(list, "box " + box->id);
    if (!state.position.empty()) add_once(list, "position " + state.position);
    if (!take.empty()) add_once(list, take);
    if (list.size() > 4) list.resize(4);
    add_once(list, "show");
    return list;
}

}  // namespace

void open_note(const Stage& stage, const std::string& file) {
    if (stage.records() == nullptr) return;
    State& state = stage.state;
    state.note = {};
    state.note.file = file;
    state.note.subjects = subjects(stage);
    state.note.about = state.note.subjects.front();
    stage.open_slip(Slip::note);
}

void draw_note_slip(const Stage& stage, Rect whole) {
    State& state = stage.state;
    State::Note& note = state.note;
    Rect rest = lay_slip(stage, whole, 700.0F, 476.0F, "Write it down");
    const auto file = path_from_typed(note.file);
    std::error_code ignored;
    const bool no_file = !file.empty() && !std::filesystem::is_regular_file(file, ignored);
    const bool ready = !no_file && (!note.text.empty() || !file.empty()) && !note.about.empty() && !state.settings.who.empty();
    const Answer given = slip_answer(stage, rest, file.empty() ? "Keep it" : note.text.empty() ? "Attach it" : "Keep and attach", ready);
    const float field = stage.px(50.0F), gap = stage.px(8.0F);
    bool entered = stage.ui.field("note-text", cut_top(rest, field), "what is noted; on a photo, what it shows", note.text, "shackle replaced, pin moused");
    cut_top(rest, gap);
    Rect row = cut_top(rest, stage.px(38.0F));
    const float each = row.width() / static_cast<float>(note.subjects.size());
    for (const auto& subject : note.subjects)
        if (stage.ui.button("note-about-" + subject, cut_left(row, each).inset(stage.px(2.0F), 0.0F), subject, subject == note.about ? Weight::main : Weight::normal)) note.about = subject;
    cut_top(rest, gap);
    row = cut_top(rest, field);
    entered = stage.ui.field("note-about", cut_left(row, 0.49F * rest.width()), "about a box, position, take, array or the show", note.about) || entered;
    entered = stage.ui.field("note-who", cut_right(row, 0.49F * rest.width()), "who notes it", state.settings.who) || entered;
    cut_top(rest, gap);
    entered = stage.ui.field("note-file", cut_top(rest, field), no_file ? "there is no such file" : "photo or document; it is copied beside the log (or drop it onto the window)", note.file, "~/Pictures/shackle.jpg") || entered;
    cut_top(rest, gap);
    stage.ui.tick("note-incident", cut_top(rest, stage.px(36.0F)), "An incident: it happened just now, its time counts", note.incident);
    if (given == Answer::yes || (entered && ready)) {
        stage.desk.keep({note.about, note.text, file, note.incident}, state.settings);
        state.slip = Slip::none;
    }
    if (given == Answer::no) state.slip = Slip::none;
}

void draw_note_button(const Stage& stage, Rect rect) {
    if (stage.ui.button("note", rect, "Note", Weight::normal, true, stage.ui.keys().shown(Act::note))) open_note(stage);
}

void draw_remarks(const Stage& stage, Rect& rest, const std::vector<std::string>& about, std::size_t most) {
    Ink& ink = stage.ink();
    const float line = ink.line_height(Size::small);
    std::size_t shown = 0;
    const auto& remarks = stage.records()->page.remarks;
    for (auto remark = remarks.rbegin(); remark != remarks.rend(); ++remark) {
        if (std::ranges::find(about, remark->about) == about.end()) continue;
        if (shown == most || rest.height() < line) break;
        if (++shown == 1) ink.line(rest.min, {rest.max.x, rest.min.y}, stage.paper().hairline);
        const Rect row{rest.min, {rest.max.x, rest.min.y + 2.0F * line + stage.px(2.0F)}};
        const float used = ink.wrapped({{row.min.x, row.min.y + stage.px(2.0F)}, row.max}, Size::small, remark->what == "incident" ? stage.paper().fail : stage.paper().ink, remark_words(*remark)) + stage.px(4.0F);
        const Rect words = cut_top(rest, used);
        if (remark->file.empty()) continue;
        if (stage.ui.hovered(words)) ink.line({words.min.x, words.max.y}, words.max, stage.paper().ink);
        if (stage.ui.region(fmt::format("photo-{}", shown), words)) open_photo(stage, *remark);
    }
}

std::string remark_words(const report::RemarkLine& remark) {
    const std::string what = remark.file.empty() ? remark.what == "incident" ? "incident: " : "" : fmt::format("{} {}{}", remark.what, remark.file, remark.text.empty() ? "" : ": ");
    return fmt::format("{} {}{}, {}", remark.when.substr(11, 5), what, remark.text, remark.who);
}

}  // namespace proofwalk::app
