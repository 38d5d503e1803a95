// The room in plan and section at one scale, as one SVG picture.
#pragma once

#include <map>
#include <string>

#include "report/room_layout.hpp"

namespace proofwalk::report {

// wide: the stage on the left, the section under the plan. narrow: the stage on top, for a page held upright.
enum class RoomFormat { wide, narrow };

struct RoomMarks {
    // What stands beside a box's name: the numbers of its notes ("1, 2"), with the mark of a fail.
    std::map<std::string, std::string> notes;
};

struct RoomPicture {
    std::string svg;
    double width = 0.0, height = 0.0;  // pixels at scale 1
};

[[nodiscard]] RoomPicture room_picture(const RoomLayout& layout, const std::string& show_name, RoomFormat format,
                                       const RoomMarks& marks = {});

// The same from a plan alone, a whole SVG file with its own style.
[[nodiscard]] std::string plan_svg(const plan::Plan& plan);

}  // namespace proofwalk::report
