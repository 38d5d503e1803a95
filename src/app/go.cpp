// The one main action of the walk: arm, go, stop. Sound starts nowhere else on the screen.
#include <fmt/format.h>

#include <cmath>

#include "app/sheets.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::app {

namespace {

using Phase = walk::SequencePhase;

// What the main key does while takes follow one another.
std::string_view main_word(Phase phase) {
    switch (phase) {
        case Phase::by_hand: return "Unmuted: go";
        case Phase::count_in: return "At once";
        case Phase::playing: return "Pause after it";
        case Phase::paused: return "Go on";
        case Phase::over: break;
    }
    return "Storing";
}

void draw_run(const Stage& stage, Rect actions, const TakeView::Run& run) {
    Ui& ui = stage.ui;
    Rect rest = actions;
    const float gap = stage.px(8.0F), each = (actions.width() - 3.0F * gap) / 4.6F;
    const auto place = [&](float share) {
        const Rect at = cut_left(rest, share * each);
        cut_left(rest, gap);
        return at;
    };
    const auto pressed = [&](std::string_view id, float share, std::string_view label, Weight weight, Act act) {
        return ui.button(id, place(share), label, weight, true, ui.keys().shown(act)) || ui.asked(act);
    };
    if (pressed("run-main", 1.6F, main_word(run.phase), Weight::main, Act::go))
        stage.desk.press(run.phase == Phase::playing || run.phase == Phase::paused ? walk::SequenceKey::pause : walk::SequenceKey::go);
    if (pressed("run-skip", 1.0F, "Skip it", Weight::normal, Act::skip)) stage.desk.press(walk::SequenceKey::skip);
    if (pressed("run-again", 1.0F, "Once more", Weight::normal, Act::retake)) stage.desk.press(walk::SequenceKey::repeat);
    if (pressed("stop", 1.0F, "Stop", Weight::normal, Act::stop)) stage.desk.stop();
}

}  // namespace

std::string run_words(const TakeView& view) {
    if (!view.run) return {};
    const TakeView::Run& run = *view.run;
    const std::string what = view.circuit.empty() ? std::string{"the noise"} : view.circuit;
    const std::string place = fmt::format("{} of {}", run.at + 1, run.count);
    switch (run.phase) {
        case Phase::by_hand: return fmt::format("{}: unmute {} alone", place, what);
        case Phase::count_in: return fmt::format("{}: {} in {:.0f} s", place, what, std::ceil(run.count_in_left_s));
        case Phase::paused: return fmt::format("{}: paused before {}", place, what);
        case Phase::playing: return fmt::format("{}: {}", place, what);
        case Phase::over: break;
    }
    return place;
}

void draw_go(const Stage& stage, Rect actions) {
    Ui& ui = stage.ui;
    State& state = stage.state;
    const Records* show = stage.records();
    const TakeView view = stage.desk.take_view();
    if (view.phase != TakeView::Phase::none && view.run) return draw_run(stage, actions, *view.run);
    Rect rest = actions;
    const Rect main = cut_left(rest, std::min(stage.px(240.0F), 0.38F * actions.width()));
    cut_left(rest, stage.px(10.0F));

    const bool running = view.phase != TakeView::Phase::none;
    const bool settled = state.armed && !state.settings.who.empty();
    const auto step = stage.step();
    const std::string key = ui.keys().shown(Act::go);
    if (running) {
        const std::string label = view.phase == TakeView::Phase::capturing ? "Stop" : "Storing";
        if (ui.button("stop", main, label, Weight::main, true, ui.keys().shown(Act::stop)) || ui.asked(Act::go) || ui.asked(Act::stop)) stage.desk.stop();
    } else if (show != nullptr && step && settled) {
        const bool again = show->path.steps[*step].state == walk::StepState::done;
        if (ui.button("go", main, again ? "Take again" : "Go", Weight::main, true, key) || ui.asked(Act::go)) {
            stage.desk.take(*step, state.settings);
            state.step.reset();
        }
        const Rect round = cut_left(rest, std::min(stage.px(130.0F), 0.22F * actions.width()));
        cut_left(rest, stage.px(10.0F));
        if (ui.button("round", round, "The round", Weight::normal, !again, ui.keys().shown(Act::round)) || (!again && ui.asked(Act::round))) {
            stage.desk.take_round(*step, state.settings);
            state.step.reset();
            state.sheet = Sheet::take;
        }
    } else if (show != nullptr && step) {
        if (ui.button("arm", main, state.settings.rehearse ? "Begin" : "Arm", Weight::main, true, key) || ui.asked(Act::go)) stage.open_slip(Slip::arm);
    } else if (show != nullptr) {
        const auto counts = show->page.tally.counts();
        const Sheet then = show->planned.empty() ? Sheet::design : counts.fail + counts.unsure + counts.open + counts.skipped == 0 ? Sheet::sign : Sheet::tally;
        if (ui.button("what-then", main, then == Sheet::design ? "Design" : then == Sheet::sign ? "Sign" : "See the tally", Weight::main, true, key) || ui.asked(Act::go)) state.sheet = then;
    }
    if (!running && !step) return;  // nothing would sound
    std::string caution = state.settings.rehearse ? "Rehearsal: the room is simulated and no sound plays. On site a loud signal would start here." : walk::sound_caution();
    if (!state.settings.rehearse && !stage.desk.exposure().empty()) caution = stage.desk.exposure();
    stage.ink().wrapped(rest, Size::small, stage.paper().faint, caution);
}

}  // namespace proofwalk::app
