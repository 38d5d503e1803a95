// A look at a photo that was attached to the log. Decoded beside the screen; gone from memory once it is put away.
#include <fmt/format.h>

#include <cmath>

#include "app/slip_parts.hpp"

namespace proofwalk::app {

void open_photo(const Stage& stage, const report::RemarkLine& remark) {
    stage.state.photo = remark;
    stage.state.photo.picture.clear();
    stage.desk.look_at(remark.sha256, remark.file);
    stage.open_slip(Slip::photo);
}

void draw_photo_slip(const Stage& stage, Rect whole) {
    const report::RemarkLine& remark = stage.state.photo;
    Rect rest = lay_slip(stage, whole, 1200.0F, 760.0F, fmt::format("{} about {}", remark.file, remark.about));
    const Answer given = slip_answer(stage, rest, "", false);
    Ink& ink = stage.ink();
    ink.text_in(cut_top(rest, stage.px(22.0F)), Size::small, stage.paper().faint, fmt::format("{} {}", remark.when.substr(0, 10), remark_words(remark)));
    const Desk::Photo& photo = stage.desk.photo();
    if (!photo.found) {
        ink.wrapped(rest, Size::body, stage.paper().faint, "Reading the picture.");
    } else if (!*photo.found) {
        ink.wrapped(rest, Size::body, stage.paper().ink, sentence(photo.found->error()));
    } else {
        const Pixels& pixels = **photo.found;
        const auto across = static_cast<float>(pixels.width), down = static_cast<float>(pixels.height);
        const float scale = std::min(rest.width() / across, rest.height() / down);
        const Point half{std::floor(0.5F * scale * across), std::floor(0.5F * scale * down)}, middle{std::floor(rest.centre().x), std::floor(rest.centre().y)};
        const Rect at{middle - half, middle + half};
        ink.picture(at, stage.ui.picture("photo", photo.sha256, true, [&] { return pixels; }));
        ink.frame(at, stage.paper().hairline);
    }
    if (given != Answer::no) return;
    stage.desk.forget_photo();
    stage.state.slip = Slip::none;
}

}  // namespace proofwalk::app
