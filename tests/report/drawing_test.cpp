#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>

#include "report/hover_script.hpp"
#include "report/label_places.hpp"
#include "report/palette.hpp"
#include "report/room_layout.hpp"
#include "walked_show.hpp"

namespace proofwalk::report {
namespace {

// Relative luminance and contrast ratio as WCAG 2.2 defines them.
double luminance(std::string_view tone) {
    const auto part = [&](std::size_t at) {
        const double value = static_cast<double>(std::stoul(std::string(tone.substr(at, 2)), nullptr, 16)) / 255.0;
        return value <= 0.04045 ? value / 12.92 : std::pow((value + 0.055) / 1.055, 2.4);
    };
    return 0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5);
}
double contrast(std::string_view a, std::string_view b) {
    const double first = luminance(a);
    const double second = luminance(b);
    return (std::max(first, second) + 0.05) / (std::min(first, second) + 0.05);
}

// The ratio of black on white is 21:1 by definition.
TEST(Palette, ContrastIsThatOfTheGuidelines) { EXPECT_NEAR(contrast("#000000", "#ffffff"), 21.0, 1e-9); }

TEST(Palette, TextAndLinesStandOutFromEveryPaper) {
    for (const Tone& ground : tones) {
        if (ground.use != ToneUse::paper) continue;
        for (const Tone& tone : tones) {
            const double least = tone.use == ToneUse::text ? 4.5 : tone.use == ToneUse::line ? 3.0 : 0.0;
            EXPECT_GE(contrast(tone.day, ground.day), least) << tone.name << " on " << ground.name << " by day";
            EXPECT_GE(contrast(tone.hall, ground.hall), least) << tone.name << " on " << ground.name << " in the hall";
        }
    }
}

plan::Plan one_box(double pan_deg, double tilt_deg) {
    plan::Plan plan;
    plan.areas = {{"floor", {2.0, 0.0, 1.2}, {20.0, 0.0, 1.2}, 16.0, 16.0}};
    plan::Model model;
    model.id = "wide";
    model.coverage_h_deg = 90.0;
    model.coverage_v_deg = 40.0;
    plan.models = {model};
    plan::Box box;
    box.id = box.circuit = "M1";
    box.model = "wide";
    box.at = {0.0, 0.0, 6.2};
    box.pan_deg = pan_deg;
    box.tilt_deg = tilt_deg;
    plan.boxes = {box};
    return plan;
}

const FlatStroke& stroke(const RoomView& view, StrokeKind kind) {
    return *std::ranges::find(view.strokes, kind, &FlatStroke::kind);
}

TEST(RoomLayout, AnAimEndsWhereItMeetsTheAudience) {
    // 5 m above ear height at 45 degrees down: 5 m into the room.
    const RoomLayout layout = room_layout(one_box(0.0, -45.0), {});
    const auto& section = stroke(layout.section, StrokeKind::axis_planned);
    EXPECT_NEAR(section.points.back().u, 5.0, 1e-9);
    EXPECT_NEAR(section.points.back().v, 1.2, 1e-9);
    const auto& plan = stroke(layout.plan, StrokeKind::axis_planned);
    EXPECT_NEAR(plan.points.back().u, 5.0, 1e-9);
    EXPECT_NEAR(plan.points.back().v, 0.0, 1e-9);
}

TEST(RoomLayout, PositivePanTurnsUpTheSheet) {
    const RoomLayout layout = room_layout(one_box(20.0, -30.0), {});
    EXPECT_GT(stroke(layout.plan, StrokeKind::axis_planned).points.back().v, 0.5);
}

TEST(RoomLayout, TheFanHoldsTwoStandardUncertainties) {
    verify::Fit fit;
    fit.box = "M1";
    fit.pan_deg = 3.0;
    fit.pan_u_deg = 1.0;
    const RoomLayout layout = room_layout(one_box(0.0, -30.0), {fit});
    const auto& fan = stroke(layout.plan, StrokeKind::fan);
    const auto& axis = stroke(layout.plan, StrokeKind::axis_fitted);
    const auto angle = [&](FlatPoint at) { return std::atan2(at.v - fan.points[0].v, at.u - fan.points[0].u); };
    // Off-axis angles lie in the box's own plane, which is tilted: seen from above they open wider by 1 / cos(tilt).
    const double seen_deg = 2.0 / std::cos(30.0 * std::numbers::pi / 180.0);
    EXPECT_NEAR((angle(fan.points.back()) - angle(axis.points.back())) * 180.0 / std::numbers::pi, seen_deg, 0.01);
    // Tilt was not determined: the section shows no fitted aim.
    for (const auto& line : layout.section.strokes) EXPECT_NE(line.kind, StrokeKind::axis_fitted);
}

TEST(RoomLayout, DimensionsOfOneSideKeepApart) {
    const RoomLayout layout = room_layout(demo_plan().plan, {});
    for (const RoomView* view : {&layout.plan, &layout.section})
        for (std::size_t a = 0; a < view->dimensions.size(); ++a)
            for (std::size_t b = a + 1; b < view->dimensions.size(); ++b) {
                const auto& first = view->dimensions[a];
                const auto& second = view->dimensions[b];
                EXPECT_FALSE(first.from == second.from && first.to == second.to && first.lane == second.lane) << first.text;
            }
    EXPECT_EQ(layout.scale_bar_m, 5.0);
}

TEST(RoomLayout, EveryPositionHasItsFlag) {
    const plan::Plan plan = demo_plan().plan;
    const RoomLayout layout = room_layout(plan, {});
    for (const RoomView* view : {&layout.plan, &layout.section}) {
        std::size_t numbers = 0;
        for (const auto& flag : view->flags) numbers += flag.numbers.size();
        EXPECT_EQ(numbers, plan.positions.size());
    }
}

TEST(LabelPlaces, NoLabelLiesOverAnother) {
    LabelPlaces places(400.0, 300.0);
    std::vector<Rectangle> taken;
    for (int i = 0; i < 40; ++i) {
        const auto place = places.near({200.0, 150.0}, 60.0, 16.0, 8.0);
        if (!place) continue;
        const Rectangle label{place->x, place->y - 8.0, place->x + 60.0, place->y + 8.0};
        for (const Rectangle& other : taken)
            EXPECT_FALSE(label.left < other.right && other.left < label.right && label.top < other.bottom && other.top < label.bottom);
        taken.push_back(label);
    }
    EXPECT_GE(taken.size(), 6u);
    EXPECT_LT(taken.size(), 40u);
}

// The hash that the page's policy names is that of the script as a browser computes it (checked in a browser too: the cursor
// would not run otherwise).
TEST(HoverScript, IsNamedByItsHash) {
    EXPECT_EQ(hover_script_hash().size(), std::string("sha256-").size() + 44);
    EXPECT_EQ(hover_script_hash().back(), '=');
}

}  // namespace
}  // namespace proofwalk::report
