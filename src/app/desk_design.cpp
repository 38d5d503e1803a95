// Work of the design desk that runs beside the screen.
#include "app/desk.hpp"

namespace proofwalk::app {

const DeskEstimate* Desk::estimate(const EstimateAsk& ask, const plan::Plan& plan) {
    if (estimate_ && estimate_->ask == ask) return &*estimate_;
    if (estimate_asked_ == ask) return nullptr;
    estimate_asked_ = ask;
    run("working out the estimate", [=, this](Job& job, Back&) {
        auto answer = walk::desk_estimate(plan, ask.question, ask.box, ask.area, ask.partner);
        job.hand_back([this, ask, answer = std::move(answer)] { estimate_ = DeskEstimate{ask, answer}; });
    });
    return nullptr;
}

void Desk::place_mics(const plan::Plan& plan, const std::string& text, bool keep_all) {
    run("placing mics", [=, this](Job& job, Back&) {
        plan::PlaceOptions options;
        options.keep_all = keep_all;
        job.hand_back([this, text, placement = plan::place(plan, options)] { placed_ = PlacedMics{text, placement}; });
    });
}

}  // namespace proofwalk::app
