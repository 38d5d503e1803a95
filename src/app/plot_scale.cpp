#include "app/plot_scale.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/figures.hpp"
#include "units/bands.hpp"

namespace proofwalk::app {
namespace {

double stretch(double value, bool logarithmic) { return logarithmic ? std::log10(std::max(value, 1e-12)) : value; }
double unstretch(double value, bool logarithmic) { return logarithmic ? std::pow(10.0, value) : value; }

Span inside(double low, double high, Span limits, bool logarithmic) {
    const double least = stretch(limits.low, logarithmic), most = stretch(limits.high, logarithmic);
    const double length = std::min(high - low, most - least);
    low = std::clamp(low, least, most - length);
    return {unstretch(low, logarithmic), unstretch(low + length, logarithmic)};
}

}  // namespace

float Scale::place(double value) const {
    const double low = stretch(span.low, logarithmic), high = stretch(span.high, logarithmic);
    const double share = high > low ? (stretch(value, logarithmic) - low) / (high - low) : 0.5;
    return from + static_cast<float>(std::clamp(share, -50.0, 50.0)) * (to - from);
}

double Scale::value(float at) const {
    const double low = stretch(span.low, logarithmic), high = stretch(span.high, logarithmic);
    const double share = to != from ? static_cast<double>((at - from) / (to - from)) : 0.5;
    return unstretch(low + share * (high - low), logarithmic);
}

std::vector<Tick> third_octave_ticks(const Scale& scale, float label_room) {
    std::vector<Tick> ticks;
    const float band = std::abs(scale.place(midband_hz(18)) - scale.place(midband_hz(17)));
    // Every band, every octave, or every decade gets its label.
    const std::size_t every = band >= label_room ? 1 : 3.0F * band >= label_room ? 3 : 10;
    for (std::size_t b = 0; b < band_count; ++b) {
        const double hz = midband_hz(b);
        if (hz < scale.span.low * 0.99 || hz > scale.span.high * 1.01) continue;  // a nominal limit holds its exact midband
        const std::size_t from_1k = b > 17 ? b - 17 : 17 - b;
        const bool decade = from_1k % 10 == 0;
        const bool labelled = every == 10 ? decade : from_1k % every == 0;
        ticks.push_back({hz, labelled ? report::short_hz(nominal_hz[b]) : "", decade});
    }
    return ticks;
}

std::vector<Tick> linear_ticks(const Scale& scale, float label_room) {
    std::vector<Tick> ticks;
    const double room = std::max(1.0, static_cast<double>(std::abs(scale.to - scale.from) / std::max(label_room, 1.0F)));
    if (!(scale.span.length() > 0.0) || !std::isfinite(scale.span.length())) return ticks;
    const double rough = scale.span.length() / room;
    const double power = std::pow(10.0, std::floor(std::log10(rough)));
    double step = 10.0 * power;
    for (const double factor : {1.0, 2.0, 5.0})
        if (factor * power >= rough * 0.999) {
            step = factor * power;
            break;
        }
    const int decimals = std::clamp(static_cast<int>(std::ceil(-std::log10(step) - 1e-9)), 0, 6);
    for (double at = std::ceil(scale.span.low / step - 1e-9); at * step <= scale.span.high * (1.0 + 1e-12) + 1e-12; at += 1.0)
        ticks.push_back({at * step, report::fixed(at * step, decimals), at == 0.0});
    return ticks;
}

std::vector<Tick> degree_ticks(const Scale& scale, float label_room) {
    std::vector<Tick> ticks;
    const double room = std::max(1.0, static_cast<double>(std::abs(scale.to - scale.from) / std::max(label_room, 1.0F)));
    double step = 180.0;
    for (const double coarse : {90.0, 45.0, 30.0, 15.0})
        if (scale.span.length() / coarse <= room) step = coarse;
    for (double at = std::ceil(scale.span.low / step - 1e-9) * step; at <= scale.span.high + 1e-9; at += step)
        ticks.push_back({at, report::fixed(at, 0), at == 0.0});
    return ticks;
}

std::vector<std::vector<Point>> thinned(std::span<const double> x, std::span<const double> y, const Scale& across,
                                        const Scale& up) {
    std::vector<std::vector<Point>> lines;
    const std::size_t count = std::min(x.size(), y.size());
    bool open = false;
    float column = 0.0F;
    Point lowest, highest, last;
    // A pixel column is drawn from where the curve enters through its extremes to where it leaves.
    const auto close_column = [&] {
        auto& line = lines.back();
        if (lowest != line.back() && lowest != last) line.push_back(lowest);
        if (highest != line.back() && highest != last) line.push_back(highest);
        if (last != line.back()) line.push_back(last);
    };
    for (std::size_t i = 0; i < count; ++i) {
        if (!std::isfinite(x[i]) || !std::isfinite(y[i])) {
            if (open) close_column();
            open = false;
            continue;
        }
        const Point point{across.place(x[i]), up.place(y[i])};
        if (!open) {
            lines.emplace_back().push_back(point);
            open = true;
            column = std::floor(point.x);
            lowest = highest = last = point;
        } else if (std::floor(point.x) != column) {
            close_column();
            lines.back().push_back(point);
            column = std::floor(point.x);
            lowest = highest = last = point;
        } else {
            if (point.y < lowest.y) lowest = point;
            if (point.y > highest.y) highest = point;
            last = point;
        }
    }
    if (open) close_column();
    return lines;
}

std::optional<double> value_at(std::span<const double> x, std::span<const double> y, double at, bool log_x) {
    const std::size_t count = std::min(x.size(), y.size());
    if (count == 0 || at < x[0] || at > x[count - 1]) return std::nullopt;
    const auto next = static_cast<std::size_t>(std::upper_bound(x.begin(), x.begin() + static_cast<std::ptrdiff_t>(count), at) - x.begin());
    const std::size_t b = std::min(next, count - 1), a = b == 0 ? 0 : b - 1;
    const double low = stretch(x[a], log_x), high = stretch(x[b], log_x);
    const double share = high > low ? (stretch(at, log_x) - low) / (high - low) : 0.0;
    const double value = y[a] + share * (y[b] - y[a]);
    if (!std::isfinite(value)) return std::nullopt;
    return value;
}

Span zoomed(Span span, double factor, double fixed, bool logarithmic, Span limits) {
    const double centre = stretch(fixed, logarithmic);
    const double low = stretch(span.low, logarithmic), high = stretch(span.high, logarithmic);
    const double least = 0.002 * (stretch(limits.high, logarithmic) - stretch(limits.low, logarithmic));
    if ((high - low) * factor < least) return span;
    return inside(centre + (low - centre) * factor, centre + (high - centre) * factor, limits, logarithmic);
}

Span panned(Span span, double by_share, bool logarithmic, Span limits) {
    const double low = stretch(span.low, logarithmic), high = stretch(span.high, logarithmic);
    const double by = by_share * (high - low);
    return inside(low + by, high + by, limits, logarithmic);
}

Span comfortable(std::span<const double> values, double step, double least) {
    double low = HUGE_VAL, high = -HUGE_VAL;
    for (const double value : values)
        if (std::isfinite(value)) {
            low = std::min(low, value);
            high = std::max(high, value);
        }
    if (low > high) low = high = 0.0;
    if (high - low < least) {
        const double middle = 0.5 * (low + high);
        low = middle - 0.5 * least;
        high = middle + 0.5 * least;
    }
    return {std::floor(low / step) * step, std::ceil(high / step) * step};
}

}  // namespace proofwalk::app
