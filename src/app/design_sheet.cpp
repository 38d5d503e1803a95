// Design desk: the plan's boxes with what each position should hear of them and how well the walk could tell.
#include <fmt/format.h>

#include "app/room_view.hpp"
#include "app/sheets.hpp"
#include "plan/targets.hpp"
#include "report/figures.hpp"

namespace proofwalk::app {

void draw_design(const Stage& stage, Rect main, Rect actions) {
    const Records* show = stage.records();
    if (show == nullptr) return;
    Ink& ink = stage.ink();
    const Paper& paper = stage.paper();
    Rect rest = main;
    const Rect left = cut_left(rest, 0.5F * main.width());
    cut_left(rest, stage.px(20.0F));
    const plan::Box* box = show->plan().box(stage.state.box);
    if (box == nullptr && !show->plan().boxes.empty()) box = &show->plan().boxes.front();
    const auto layout = report::room_layout(show->plan(), {});
    RoomPicture picture;
    picture.layout = &layout;
    picture.box = box != nullptr ? box->id : "";
    draw_room_view(stage, room_places(stage, left, layout, 1.0F, {}), picture);
    if (box == nullptr) return;
    ink.text_in(cut_top(rest, stage.px(32.0F)), Size::head, paper.ink, fmt::format("{}: what each position should hear", box->id));
    Rect head = cut_top(rest, stage.px(22.0F));
    const float column = rest.width() / 6.0F;
    const auto cell = [&](Rect row, int i, std::string_view text, Colour colour) {
        ink.text_right({row.min.x + column * static_cast<float>(i + 1) - stage.px(4.0F), row.min.y}, Size::small, colour, text);
    };
    int c = 0;
    for (const char* name : {"position", "distance", "left", "up", "arrival", "level"}) cell(head, c++, name, paper.faint);
    ink.line({rest.min.x, head.max.y}, head.max, paper.ink);
    const auto& positions = show->plan().positions;
    stage.ui.list("targets", rest, positions.size(), stage.px(22.0F), stage.state.target_list, [&](std::size_t i, Rect row, bool) {
        const auto target = plan::target(show->plan(), *box, positions[i], show->plan().air);
        const Colour colour = target.serves ? paper.ink : paper.faint;
        cell(row, 0, positions[i].id, colour);
        cell(row, 1, report::with_unit(report::fixed(target.bearing.distance_m, 2), "m"), colour);
        cell(row, 2, report::with_unit(report::fixed(target.bearing.h_deg, 1), "deg"), colour);
        cell(row, 3, report::with_unit(report::fixed(target.bearing.v_deg, 1), "deg"), colour);
        cell(row, 4, report::with_unit(report::fixed(target.arrival_s * 1e3, 2), "ms"), colour);
        cell(row, 5, report::with_unit(report::fixed(target.aim_band_db, 1), "dB"), colour);
    });
    ink.wrapped(actions, Size::small, paper.faint, "Level: aim band, direct, re the model's own level at 1 m on axis. Angles off the box's axis. Plain rows: positions that serve this box.");
}

}  // namespace proofwalk::app
