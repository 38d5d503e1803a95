// The one main action of the walk: arm, go, stop. Sound starts nowhere else on the screen.
#include <fmt/format.h>

#include "app/sheets.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::app {

void draw_go(const Stage& stage, Rect actions) {
    Ui& ui = stage.ui;
    State& state = stage.state;
    const Records* show = stage.records();
    const TakeView view = stage.desk.take_view();
    Rect rest = actions;
    const Rect main = cut_left(rest, std::min(stage.px(300.0F), 0.46F * actions.width()));
    cut_left(rest, stage.px(14.0F));

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
    } else if (show != nullptr && step) {
        if (ui.button("arm", main, state.settings.rehearse ? "Begin" : "Arm", Weight::main, true, key) || ui.asked(Act::go)) stage.open_slip(Slip::arm);
    } else if (show != nullptr) {
        if (ui.button("to-tally", main, "See the tally", Weight::main, true, key) || ui.asked(Act::go)) state.sheet = Sheet::tally;
    }
    const std::string caution = state.settings.rehearse
                                    ? "Rehearsal: the room is simulated and no sound plays. On site a loud signal would start here."
                                    : walk::sound_caution();
    stage.ink().wrapped(rest, Size::small, stage.paper().faint, caution);
}

}  // namespace proofwalk::app
