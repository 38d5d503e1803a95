// Curves on paper: one widget for everything that is drawn over frequency, time or shows. Thin lines, the planned curve
// dashed, uncertainty as a ribbon, labels at the ends of lines and no legend box. The part that computes (scales, ticks,
// decimation) stands in plot_scale.hpp; the same Plot is written as SVG and CSV by plot_export.hpp.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/plot_scale.hpp"
#include "app/ui.hpp"

namespace proofwalk::app {

struct PlotCurve {
    std::string label;
    std::vector<double> x, y;
    std::vector<double> u;    // half width of the ribbon; may be empty
    std::size_t colour = 0;   // index into the paper's set
    bool dashed = false;
};
// A place on the x axis that means something: an arrival, the end of a gate, a reflection.
struct PlotMark {
    double x = 0.0;
    std::string label;
    bool dashed = false;
    std::optional<double> y;  // a point there, else a line through the whole height
};
struct Plot {
    std::string title, x_unit, y_unit;
    bool log_x = true;        // frequency with third-octave ticks; else linear
    bool degrees_y = false;   // an angle: ticks at parts of a turn
    Span x{20.0, 20000.0}, y{-30.0, 10.0};
    std::vector<PlotCurve> curves;
    std::vector<PlotMark> marks;
    std::vector<std::string> x_names;  // linear axis whose whole numbers have names (shows)
};

// What the hand has done to it: panned, zoomed, where the cursor stands.
struct PlotView {
    std::optional<Span> x, y;
    std::optional<double> cursor_x;
};

// Draws it and follows pointer, wheel (zoom about the pointer) and drag; with the keyboard on it left and right move the cursor,
// + and - zoom about it, Home shows all again.
void draw_plot(Ui& ui, std::string_view id, Rect rect, const Plot& plot, PlotView& view);

}  // namespace proofwalk::app
