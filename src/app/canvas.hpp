// Curves drawn into pixels once, so that frames in which they stay the same only lay down a picture: a thousand points are
// tens of thousands of corners for a graphics card, and a software renderer pays for each.
#pragma once

#include <span>
#include <vector>

#include "app/pictures.hpp"

namespace proofwalk::app {

// Points are in pixels from the canvas's top left corner; what lies outside is cut off. Each stroke covers what is below it.
class Canvas {
public:
    Canvas(int width, int height) : pixels_(width, height), cover_(pixels_.colours.size(), 0.0F), first_row_(height) {}

    // A line of round joints and ends; pieces of one call don't darken each other where they meet.
    void line(std::span<const Point> points, Colour colour, float width);
    void dashes(std::span<const Point> points, Colour colour, float width, float dash, float gap);
    // What lies between two lines over the same x, from left to right; `every` above 1: one column of so many.
    void between(std::span<const Point> upper, std::span<const Point> lower, Colour colour, int every = 1);

    [[nodiscard]] const Pixels& pixels() const { return pixels_; }

private:
    void cover_segment(Point a, Point b, float half);
    void ink_covered(Colour colour);
    void ink(int x, int y, Colour colour, float share);

    Pixels pixels_;
    std::vector<float> cover_;  // of the stroke being drawn, 0..1 a pixel
    int first_row_ = 0, past_row_ = 0;  // where it covers anything
};

}  // namespace proofwalk::app
