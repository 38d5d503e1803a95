#include "acoustics/splay.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "acoustics/root.hpp"
#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

constexpr double widest_deg = 89.0;

std::unexpected<Fault> impossible(std::string reason, std::string remedy) {
    return std::unexpected(Fault{FaultKind::input, "", "", std::move(reason), std::move(remedy)});
}

std::optional<Fault> never_takes_over(double quieter_db, double loss_db) {
    if (!(quieter_db >= 0.0)) return Fault{FaultKind::input, "", "", "the second box is louder than the first", "exchange the two"};
    if (quieter_db >= loss_db)
        return Fault{FaultKind::input, "", "", fmt::format("with {:g} dB less the second box never takes over from the first at -{:g} dB", quieter_db, loss_db),
                     fmt::format("the largest level offset that can be joined there is just below {:g} dB", loss_db)};
    return std::nullopt;
}

// Both covered edges to edges, with its middle as zero.
Splay laid_out(double half_1, double half_2, double edge_1, double edge_2) {
    Splay splay;
    splay.splay_deg = half_1 + half_2;
    splay.join_from_1_deg = half_1;
    splay.covered_deg = splay.splay_deg + edge_1 + edge_2;
    splay.axis_1_deg = 0.5 * splay.covered_deg - edge_1;
    splay.axis_2_deg = splay.axis_1_deg - splay.splay_deg;
    return splay;
}

double sinc(double x) { return std::abs(x) < 1e-6 ? 1.0 - x * x / 6.0 : std::sin(x) / x; }

}  // namespace

Result<Splay> splay_for(const SplayWish& wish) {
    if (const auto bad = never_takes_over(wish.quieter_db, wish.loss_at_join_db)) return std::unexpected(*bad);
    const double half_1 = 0.5 * wish.coverage_1_deg * std::sqrt(wish.loss_at_join_db / 6.0);
    const double half_2 = 0.5 * wish.coverage_2_deg * std::sqrt((wish.loss_at_join_db - wish.quieter_db) / 6.0);
    return laid_out(half_1, half_2, 0.5 * wish.coverage_1_deg, 0.5 * wish.coverage_2_deg);
}

Result<Splay> splay_for(const Directivity& louder, const Directivity& other, bool vertical, double low_hz, double high_hz, double quieter_db,
                        double loss_at_join_db) {
    if (const auto bad = never_takes_over(quieter_db, loss_at_join_db)) return std::unexpected(*bad);
    const auto half = [&](const Directivity& box, double sign, double loss) {
        return first_root(
            [&](double off) { return (vertical ? box.loss_db(0.0, sign * off, low_hz, high_hz) : box.loss_db(sign * off, 0.0, low_hz, high_hz)) + loss; },
            0.0, vertical ? 90.0 : 180.0, 0.5);
    };
    const auto half_1 = half(louder, -1.0, loss_at_join_db), half_2 = half(other, 1.0, loss_at_join_db - quieter_db);
    const auto edge_1 = half(louder, 1.0, 6.0), edge_2 = half(other, -1.0, 6.0);
    if (!half_1 || !half_2 || !edge_1 || !edge_2)
        return impossible(fmt::format("a box never falls to -{:g} dB along this arc", loss_at_join_db), "choose a smaller loss at the join");
    return laid_out(*half_1, *half_2, *edge_1, *edge_2);
}

Result<double> join_of(double splay_deg, double coverage_1_deg, double coverage_2_deg, double quieter_db) {
    const double a = 24.0 / (coverage_1_deg * coverage_1_deg), b = 24.0 / (coverage_2_deg * coverage_2_deg);
    // (a - b) h^2 + 2 b S h - b S^2 - q = 0, by the root form that stays exact where a = b.
    const double linear = b * splay_deg, constant = b * splay_deg * splay_deg + quieter_db;
    const double under_root = linear * linear + (a - b) * constant;
    const double h = under_root < 0.0 ? -1.0 : constant / (linear + std::sqrt(under_root));
    if (!(h >= 0.0 && h <= splay_deg))
        return impossible(fmt::format("opened by {:g} degrees the quieter box never takes over between the two axes", splay_deg),
                          quieter_db > 0.0 ? fmt::format("the widest level offset for this splay is {:.2f} dB", a * splay_deg * splay_deg) : "open them further");
    return h;
}

Result<double> pan_apart_deg(double splay_deg, double tilt_1_deg, double tilt_2_deg) {
    const double t1 = radians(tilt_1_deg), t2 = radians(tilt_2_deg), both = std::cos(t1) * std::cos(t2);
    // In half angles: sin^2(S/2) = sin^2((t1-t2)/2) + cos t1 cos t2 sin^2(P/2).
    const double half = std::sin(radians(splay_deg) / 2.0), lean = std::sin(0.5 * (t1 - t2));
    const double sine2 = (half * half - lean * lean) / both;
    if (both < 1e-12 || sine2 < 0.0 || sine2 > 1.0)
        return impossible(fmt::format("no pan opens boxes tilted {:g} and {:g} degrees by {:g} degrees", tilt_1_deg, tilt_2_deg, splay_deg),
                          fmt::format("between {:.2f} and {:.2f} degrees is possible", std::abs(tilt_1_deg - tilt_2_deg),
                                      2.0 * degrees(std::asin(std::min(std::sqrt(lean * lean + both), 1.0)))));
    return 2.0 * degrees(std::asin(std::sqrt(sine2)));
}

Result<Spacing> spacing_for(const SpacingWish& wish) {
    if (const auto bad = never_takes_over(wish.quieter_db, wish.loss_at_join_db)) return std::unexpected(*bad);
    if (!(wish.depth_m > 0.0)) return impossible("the depth is not in front of the boxes", "give a depth above zero");
    const double open = 0.5 * wish.splay_deg;
    // Angle from straight ahead to the join as a box sees it, and with a ruler.
    const auto reach = [&](double coverage, double loss) {
        return first_root([&](double ahead) { const double h = ahead + open; return 24.0 * h * h / (coverage * coverage) - amplitude_db(std::cos(radians(ahead))) - loss; },
                          -open, widest_deg, 0.25);
    };
    const double losses[2] = {wish.loss_at_join_db, wish.loss_at_join_db - wish.quieter_db};
    const auto one = reach(wish.coverage_1_deg, losses[0]), two = reach(wish.coverage_2_deg, losses[1]);
    if (!one || !two) return impossible("the coverage does not end within 89 degrees of straight ahead", "choose a smaller loss at the join");
    const double ruler_1 = 0.5 * wish.coverage_1_deg * std::sqrt(losses[0] / 6.0) - open, ruler_2 = 0.5 * wish.coverage_2_deg * std::sqrt(losses[1] / 6.0) - open;
    const double join_1 = wish.depth_m * std::tan(radians(*one)), join_2 = wish.depth_m * std::tan(radians(*two));
    if (join_1 + join_2 <= 0.0)
        return impossible(fmt::format("opened outwards by {:g} degrees the two never meet", wish.splay_deg), "open them less");
    const double angle_only = ruler_1 < 90.0 && ruler_2 < 90.0 ? wish.depth_m * (std::tan(radians(ruler_1)) + std::tan(radians(ruler_2))) : -1.0;
    return Spacing{join_1 + join_2, angle_only, join_1};
}

TwoSources two_sources(double difference_db) {
    const double quieter = amplitude_of_db(-std::abs(difference_db));
    TwoSources sum;
    sum.peak_db = amplitude_db(1.0 + quieter);
    sum.dip_db = quieter < 1.0 ? amplitude_db(1.0 - quieter) : -300.0;  // two equal levels cancel: no dip is deeper
    sum.ripple_db = sum.peak_db - sum.dip_db;
    sum.power_db = power_db(1.0 + quieter * quieter);
    return sum;
}

double coherent_sum_db(double level_1_db, double level_2_db, double apart_s, double low_hz, double high_hz) {
    const double a = amplitude_of_db(level_1_db), b = amplitude_of_db(level_2_db);
    // (sin 2 pi f2 t - sin 2 pi f1 t) / (2 pi t (f2 - f1)) = cos(2 pi fm t) sinc(pi (f2 - f1) t), exact at t = 0.
    const double middle = std::numbers::pi * (low_hz + high_hz) * apart_s, half_width = std::numbers::pi * (high_hz - low_hz) * apart_s;
    const double power = a * a + b * b + 2.0 * a * b * std::cos(middle) * sinc(half_width);
    return power_db(std::max(power, 1e-30));
}

}  // namespace proofwalk::acoustics
