// The room as flat shapes in metres, ready to be drawn on paper, on a page or on a screen. Drawing geometry only: what
// is planned comes from the plan, what stands there from fits.
#pragma once

#include <string>
#include <vector>

#include "plan/plan.hpp"
#include "verify/judge.hpp"

namespace proofwalk::report {

// Metres in the view. Plan: u = x (from the stage into the room), v = y. Section: u = x, v = z. v points up the sheet.
struct FlatPoint {
    double u = 0.0, v = 0.0;
    friend constexpr bool operator==(const FlatPoint&, const FlatPoint&) = default;
};

enum class StrokeKind {
    area,           // outline of an audience plane (a line in the section)
    coverage_edge,  // -6 dB edge of a box, a light rule
    axis_planned,   // dashed
    axis_fitted,    // solid
    fan,            // closed: two standard uncertainties either side of the fitted axis
};

struct FlatStroke {
    StrokeKind kind = StrokeKind::area;
    std::string subject;  // box or area
    std::vector<FlatPoint> points;
    bool closed = false;
};

// A box as a short bar across its axis.
struct FlatBox {
    std::string box;
    FlatPoint at;
    FlatPoint across;  // unit vector along the bar
    double length_m = 0.5;
};

// Positions that fall on one place of the view share a flag.
struct FlatFlag {
    std::vector<int> numbers;  // from 1, in the order of the plan
    std::vector<std::string> positions;
    std::string roles;  // written out, "on-axis M1"; empty for a shared flag
    FlatPoint at;
};

// The dimension line stands beside what it measures: set off from the two points in this direction, in the lane of this
// number (0 is the nearest), so that lines of one direction do not run into one another.
struct FlatDimension {
    FlatPoint from, to;
    std::string text;  // "12.00 m"
    FlatPoint set_off;  // unit vector
    int lane = 0;
};

struct RoomView {
    std::vector<FlatStroke> strokes;
    std::vector<FlatBox> boxes;
    std::vector<FlatFlag> flags;
    std::vector<FlatDimension> dimensions;
    FlatPoint low, high;  // bounds of everything above
};

struct RoomLayout {
    RoomView plan, section;
    double scale_bar_m = 5.0;  // 1, 2 or 5 times a power of ten, about a fifth of the room
};

// fits: what stands there by the sound; empty for a plan alone.
[[nodiscard]] RoomLayout room_layout(const plan::Plan& plan, const std::vector<verify::Fit>& fits);

// "on-axis M1; left edge FF1": what a position is for, in words.
[[nodiscard]] std::string roles_written_out(const plan::Position& position);

}  // namespace proofwalk::report
