// One sheet a file, one function each: `main` is where it draws, `actions` the strip for its buttons at the bottom.
#pragma once

#include "app/desk.hpp"
#include "app/state.hpp"
#include "app/ui.hpp"

namespace proofwalk::app {

struct Stage {
    Ui& ui;
    State& state;
    Desk& desk;

    [[nodiscard]] Ink& ink() const { return ui.ink(); }
    [[nodiscard]] const Paper& paper() const { return ui.ink().paper(); }
    [[nodiscard]] float px(float at_scale_one) const { return ui.px(at_scale_one); }
    [[nodiscard]] const Records* records() const { return desk.records().get(); }
    // The step that the person chose, else the one that the path says is now.
    [[nodiscard]] std::optional<std::size_t> step() const;
    void open_slip(Slip slip) const;
    void select_check(const walk::CheckName& check) const;  // and its box, everywhere
    void select_box(const std::string& box) const;
};

void draw_next(const Stage& stage, Rect main, Rect actions);
void draw_room(const Stage& stage, Rect main, Rect actions);
void draw_take(const Stage& stage, Rect main, Rect actions);
void draw_curves(const Stage& stage, Rect main, Rect actions);
void draw_tally(const Stage& stage, Rect main, Rect actions);
void draw_sign(const Stage& stage, Rect main, Rect actions);
void draw_look_back(const Stage& stage, Rect main, Rect actions);
void draw_design(const Stage& stage, Rect main, Rect actions);
void draw_gear(const Stage& stage, Rect main, Rect actions);

// Parts that several sheets share.
void draw_title_block(const Stage& stage, Rect rect, bool one_line);
void draw_path_notes(const Stage& stage, Rect rect);
void draw_open(const Stage& stage, Rect main);  // instead of a sheet while no show is open
// The button that takes the step, arms it first or stops it, with the caution that belongs there.
void draw_go(const Stage& stage, Rect actions);
// "2 of 5: M1 in 3 s": where a run of takes stands; empty when none runs.
[[nodiscard]] std::string run_words(const TakeView& view);
void draw_slip(const Stage& stage, Rect whole);
// The slip for a note about what is chosen; `file`: a photo that was dropped onto the window.
void open_note(const Stage& stage, const std::string& file = {});
// A look at what is attached with this remark.
void open_photo(const Stage& stage, const report::RemarkLine& remark);
void draw_note_button(const Stage& stage, Rect rect);
// The newest notes and photos about any of these ("box M1"), at most so many.
void draw_remarks(const Stage& stage, Rect& rest, const std::vector<std::string>& about, std::size_t most);
[[nodiscard]] std::string remark_words(const report::RemarkLine& remark);  // "21:04 incident: went silent, R. Walker"
[[nodiscard]] std::string audit_words(const Audited& audited);             // "the log is what was written, 214 records"
// Why a check came out as it did, what to do, and what such a check is.
void draw_explanation(const Stage& stage, Rect rest, const verify::CheckResult& check);

// Words
[[nodiscard]] std::string name_of(const walk::CheckName& check);          // "aim-v of M1"
[[nodiscard]] std::string about_minutes(double seconds);                  // "about 12 min"
[[nodiscard]] std::string role_words(const plan::Plan& plan, const std::string& position);  // "on-axis of M1, crossover of M1 and M2"
[[nodiscard]] std::string first_box_of(const plan::Plan& plan, const std::string& subject);

}  // namespace proofwalk::app
