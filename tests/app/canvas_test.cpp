// Curves in pixels, and how long pictures are kept.
#include <gtest/gtest.h>

#include <cmath>

#include "app/canvas.hpp"
#include "shows.hpp"
#include "table.hpp"

namespace proofwalk::app {
namespace {

constexpr Colour red = rgb(0xC80000);
unsigned alpha(const Canvas& canvas, int x, int y) { return Pixels{canvas.pixels()}.at(x, y) >> 24; }
double ink_of(const Canvas& canvas) {
    double sum = 0.0;
    for (const Colour colour : canvas.pixels().colours) sum += (colour >> 24) / 255.0;
    return sum;
}

// The area under the ink is the line's length times its width, whatever its slope (ends are round: a disc of that width more).
TEST(Canvas, ALineCoversItsArea) {
    for (const double slope_deg : {0.0, 12.0, 45.0, 71.0, 90.0}) {
        Canvas canvas{200, 200};
        const float dx = 60.0F * std::cos(static_cast<float>(slope_deg / 57.29578)), dy = 60.0F * std::sin(static_cast<float>(slope_deg / 57.29578));
        const std::array<Point, 2> points = {Point{100.3F - dx, 100.1F - dy}, Point{100.3F + dx, 100.1F + dy}};
        canvas.line(points, red, 3.0F);
        EXPECT_NEAR(ink_of(canvas), 120.0 * 3.0 + 7.07, 0.03 * 360.0) << slope_deg;
    }
}

TEST(Canvas, JointsAreNotDarker) {
    Canvas canvas{40, 20};
    const std::array<Point, 3> bent = {Point{5.0F, 10.5F}, Point{20.0F, 10.5F}, Point{35.0F, 10.5F}};
    canvas.line(bent, with_alpha(red, 100), 4.0F);
    for (int x = 8; x < 32; ++x) EXPECT_EQ(alpha(canvas, x, 10), 100U) << x;
    EXPECT_EQ(alpha(canvas, 20, 2), 0U);
}

TEST(Canvas, WhatLiesOutsideIsCutOff) {
    Canvas canvas{30, 30};
    const std::array<Point, 4> far = {Point{-4000.0F, 15.0F}, Point{4000.0F, 15.0F}, Point{4000.0F, -9000.0F}, Point{10.0F, -9000.0F}};
    canvas.line(far, red, 2.0F);
    canvas.dashes(far, red, 2.0F, 6.0F, 4.0F);
    canvas.between(far, far, red);
    EXPECT_EQ(alpha(canvas, 0, 15), 255U);
    EXPECT_EQ(alpha(canvas, 29, 15), 255U);
    EXPECT_EQ(alpha(canvas, 15, 20), 0U);
    Canvas none{0, 0};
    none.line(far, red, 2.0F);
    EXPECT_TRUE(none.pixels().colours.empty());
}

// Half a pixel of a band gives half its ink; what covers mixes with what lies below.
TEST(Canvas, BandsMixByShareAndAlpha) {
    Canvas canvas{20, 20};
    const std::array<Point, 2> upper = {Point{0.0F, 4.5F}, Point{20.0F, 4.5F}}, lower = {Point{0.0F, 9.0F}, Point{20.0F, 9.0F}};
    canvas.between(upper, lower, rgb(0x0000FF, 102));
    EXPECT_EQ(alpha(canvas, 10, 4), 51U);
    EXPECT_EQ(alpha(canvas, 10, 6), 102U);
    EXPECT_EQ(alpha(canvas, 10, 9), 0U);
    canvas.between(upper, lower, rgb(0xFF0000, 102));
    const Colour mixed = Pixels{canvas.pixels()}.at(10, 6);
    EXPECT_NEAR(mixed >> 24, 255.0 * (1.0 - 0.6 * 0.6), 1.0);
    EXPECT_NEAR(mixed & 0xFFU, 255.0 * 0.4 / 0.64, 1.0);          // red on top
    EXPECT_NEAR((mixed >> 16) & 0xFFU, 255.0 * 0.24 / 0.64, 1.0);  // blue below
    Canvas print{20, 20};
    print.between(upper, lower, red, 6);
    EXPECT_EQ(alpha(print, 6, 6), 255U);
    EXPECT_EQ(alpha(print, 7, 6), 0U);
}

// A drawing is made anew only when it looks otherwise, and freed when its sheet is left.
TEST(Pictures, AreKeptWhileTheyAreDrawn) {
    class Counting : public PictureShelf {
    public:
        std::uintptr_t put(const Pixels& pixels, bool smooth) override { return ++made, PictureShelf::put(pixels, smooth); }
        int made = 0;
    };
    const auto shelf = std::make_shared<Counting>();
    AppOptions options;
    options.shelf = shelf;
    Table table{1280.0F, 800.0F, options};
    Records records = made_up(3, "B", "Pictures (invented)");
    report::ReadingRow row;
    row.taken = {"t01", "B1", "m1", "Bp1", {}};
    records.page.readings.push_back(row);
    records.lay_out();
    walk::HeardCurve heard;
    heard.newest = true;
    heard.curves.measured = {{100.0, 1000.0, 10000.0}, {-3.0, 0.0, 3.0}, {1.0, 1.0, 1.0}};
    heard.curves.impulse_s = {0.0, 0.01};
    heard.curves.impulse_db = {0.0, -60.0};
    table.app().desk().show(std::make_shared<const Records>(std::move(records)));
    table.app().desk().show_curves({"B1", "Bp1", 12.0}, std::make_shared<const std::vector<walk::HeardCurve>>(1, heard));
    table.app().state().sheet = Sheet::curves;
    table.settle();
    table.frame();
    EXPECT_EQ(shelf->made, 2);  // magnitude and impulse response
    EXPECT_EQ(shelf->kept(), 2);
    table.app().state().settings.paper = PaperKind::day;
    table.settle();
    EXPECT_EQ(shelf->made, 4);
    EXPECT_EQ(shelf->kept(), 2);
    table.app().state().sheet = Sheet::tally;
    table.settle();
    EXPECT_EQ(shelf->kept(), 0);
}

}  // namespace
}  // namespace proofwalk::app
