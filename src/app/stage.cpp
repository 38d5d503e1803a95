#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>

#include "app/sheets.hpp"
#include "walk/bands.hpp"

namespace proofwalk::app {

std::optional<std::size_t> Stage::step() const {
    const Records* show = records();
    if (show == nullptr) return std::nullopt;
    if (state.step && *state.step < show->path.steps.size()) return state.step;
    return show->path.now;
}

void Stage::open_slip(Slip slip) const {
    state.slip = slip;
    state.slip_is_new = true;
}

void Stage::select_box(const std::string& box) const {
    state.box = box;
    state.position_newest = false;
    if (const Records* show = records(); show != nullptr && state.check && first_box_of(show->plan(), state.check->subject) != box)
        state.check.reset();
}

void Stage::select_check(const walk::CheckName& check) const {
    state.check = check;
    if (const Records* show = records()) state.box = first_box_of(show->plan(), check.subject);
}

std::string name_of(const walk::CheckName& check) { return fmt::format("{} of {}", plan::word(check.kind), check.subject); }

std::string about_minutes(double seconds) {
    if (seconds < 45.0) return "under a minute";
    return fmt::format("about {} min", static_cast<int>(std::ceil(seconds / 60.0)));
}

std::string role_words(const plan::Plan& plan, const std::string& id) {
    const plan::Position* position = plan.position(id);
    if (position == nullptr) return {};
    std::string text;
    for (const auto& serve : position->serves)
        text += fmt::format("{}{} of {}", text.empty() ? "" : ", ", plan::word(serve.role), fmt::join(serve.boxes, " and "));
    return text.empty() ? "extra evidence" : text;
}

std::string first_box_of(const plan::Plan& plan, const std::string& subject) {
    for (const auto& part : walk::split_circuits(subject)) {
        if (plan.box(part) != nullptr) return part;
        const auto boxes = plan.boxes_of(part);
        if (!boxes.empty()) return boxes.front()->id;
    }
    return {};
}

}  // namespace proofwalk::app
