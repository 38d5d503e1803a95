// Words on a drawing of the room: dimensions beside what they measure, names of boxes, flags of positions. None covers another;
// what finds no room is left out, the chosen box and the places of mics never.
#pragma once

#include "app/room_view.hpp"

namespace proofwalk::app {

void draw_room_labels(const Stage& stage, Rect rect, const report::RoomView& view, const RoomScale& scale, const RoomPicture& picture, bool is_plan);
// Room towards the stage for names and dimension lines.
[[nodiscard]] float room_left_margin(const Stage& stage, const report::RoomView& view);

}  // namespace proofwalk::app
