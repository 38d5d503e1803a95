// The room in plan and section at one scale, drawn with ink from the flat shapes that the report draws too. Used by the
// room sheet, the design desk and explanations.
#pragma once

#include <string>
#include <vector>

#include "app/sheets.hpp"
#include "report/room_layout.hpp"

namespace proofwalk::app {

// Coverage edges are drawn for the chosen box alone where more than these stand in one room.
inline constexpr std::size_t boxes_in_a_crowd = 60;

struct RoomPicture {
    const report::RoomLayout* layout = nullptr;
    std::string box, position;               // selected
    std::vector<std::string> mics;           // positions where mics stand now
    std::vector<std::string> way;            // positions in walking order
    const decltype(Records::worst)* worst = nullptr;  // the worst verdict of a box stands beside its name
};

// Pixels of a view: metres to paper and back.
struct RoomScale {
    Point origin;                 // where u = v = 0 lies
    float per_metre = 1.0F;
    [[nodiscard]] Point place(report::FlatPoint at) const {
        return {origin.x + static_cast<float>(at.u) * per_metre, origin.y - static_cast<float>(at.v) * per_metre};
    }
    [[nodiscard]] report::FlatPoint metres(Point at) const {
        return {static_cast<double>((at.x - origin.x) / per_metre), static_cast<double>((origin.y - at.y) / per_metre)};
    }
};
struct RoomPlaces {
    Rect plan_at, section_at;
    RoomScale plan, section;
};
// Both views one under the other at one scale that fits; zoom and shift as the hand has set them.
[[nodiscard]] RoomPlaces room_places(const Stage& stage, Rect rect, const report::RoomLayout& layout, float zoom, Point shift);

struct RoomHit {
    std::string box, position;
};
// What lies within a finger's width of a point of the plan view.
[[nodiscard]] RoomHit hit(const Stage& stage, const RoomPlaces& places, const report::RoomLayout& layout, Point at);

void draw_room_view(const Stage& stage, const RoomPlaces& places, const RoomPicture& picture);
// The plan view alone, fitted into a rectangle: where to walk now.
void draw_plan_view(const Stage& stage, Rect rect, const RoomPicture& picture);

}  // namespace proofwalk::app
