// From values to places on paper and back; ticks; and thinning of curves to what the pixels can show.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "app/shapes.hpp"

namespace proofwalk::app {

struct Span {
    double low = 0.0, high = 1.0;
    [[nodiscard]] double length() const { return high - low; }
    friend bool operator==(const Span&, const Span&) = default;
};

// One axis: values `span` over pixels `from`..`to`; logarithmic when asked and possible.
struct Scale {
    Span span;
    float from = 0.0F, to = 1.0F;
    bool logarithmic = false;

    [[nodiscard]] float place(double value) const;
    [[nodiscard]] double value(float place) const;
};

struct Tick {
    double value = 0.0;
    std::string label;  // empty: a short tick
    bool strong = false;
};
// Third-octave midbands (IEC 61260-1) with nominal labels; strong at 100, 1k, 10k. Labels where they have room.
[[nodiscard]] std::vector<Tick> third_octave_ticks(const Scale& scale, float label_room);
// Steps of 1, 2 or 5 times a power of ten, at most as many as have room.
[[nodiscard]] std::vector<Tick> linear_ticks(const Scale& scale, float label_room);
// Steps of 15, 30, 45, 90 or 180 degrees.
[[nodiscard]] std::vector<Tick> degree_ticks(const Scale& scale, float label_room);

// The curve as points on paper: not more than two to four a pixel column, extremes kept, gaps (non-finite values) split it.
[[nodiscard]] std::vector<std::vector<Point>> thinned(std::span<const double> x, std::span<const double> y, const Scale& across,
                                                      const Scale& up);

// Value of a curve at x, linear between its points (over log x when asked); absent outside it.
[[nodiscard]] std::optional<double> value_at(std::span<const double> x, std::span<const double> y, double at, bool log_x);

// The span grown or shrunk by `factor` about `fixed`, kept inside `limits`.
[[nodiscard]] Span zoomed(Span span, double factor, double fixed, bool logarithmic, Span limits);
[[nodiscard]] Span panned(Span span, double by_share, bool logarithmic, Span limits);

// A comfortable range for values: whole steps around what is finite; `least` is the smallest range shown.
[[nodiscard]] Span comfortable(std::span<const double> values, double step, double least);

}  // namespace proofwalk::app
