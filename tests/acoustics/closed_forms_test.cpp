// The closed forms of the design desk against numeric solutions of the equations they come from, over random cases, and
// against worked values of an independent derivation.
#include <cmath>
#include <complex>
#include <numbers>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "acoustics/aim.hpp"
#include "acoustics/root.hpp"
#include "acoustics/splay.hpp"
#include "acoustics/triangle.hpp"
#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

using testing::HasSubstr;
constexpr int cases = 10'000;

struct Random {
    std::mt19937_64 engine{20260502};
    double operator()(double low, double high) { return std::uniform_real_distribution<double>(low, high)(engine); }
};

TEST(Triangle, SolvesEveryKindOfThreePieces) {
    Random random;
    double worst_angle = 0.0, worst_side = 0.0;
    for (int i = 0; i < cases; ++i) {
        // A triangle from three points, so its pieces are known without any law of sines or cosines.
        const std::complex<double> p[3] = {{random(-30, 30), random(-30, 30)}, {random(-30, 30), random(-30, 30)}, {random(-30, 30), random(-30, 30)}};
        Triangle truth;
        double area = std::abs(std::imag(std::conj(p[1] - p[0]) * (p[2] - p[0])));
        for (std::size_t k = 0; k < 3; ++k) {
            truth.side[k] = std::abs(p[(k + 1) % 3] - p[(k + 2) % 3]);
            truth.angle_deg[k] = degrees(std::abs(std::arg((p[(k + 1) % 3] - p[k]) / (p[(k + 2) % 3] - p[k]))));
        }
        if (area < 20.0) continue;  // a sliver: its pieces do not fix it in double precision
        const std::size_t a = static_cast<std::size_t>(i) % 3, b = (a + 1) % 3, c = (a + 2) % 3;
        const TriangleKnown kinds[] = {
            {{truth.side[0], truth.side[1], truth.side[2]}, {}}, [&] { TriangleKnown k; k.side[a] = truth.side[a]; k.side[b] = truth.side[b]; k.angle_deg[c] = truth.angle_deg[c]; return k; }(),
            [&] { TriangleKnown k; k.side[a] = truth.side[a]; k.angle_deg[b] = truth.angle_deg[b]; k.angle_deg[c] = truth.angle_deg[c]; return k; }(),
            [&] { TriangleKnown k; k.side[a] = truth.side[a]; k.angle_deg[a] = truth.angle_deg[a]; k.angle_deg[c] = truth.angle_deg[c]; return k; }(),
            [&] { TriangleKnown k; k.side[a] = truth.side[a]; k.side[b] = truth.side[b]; k.angle_deg[a] = truth.angle_deg[a]; return k; }()};
        for (const TriangleKnown& known : kinds) {
            const auto found = solve_triangle(known);
            ASSERT_TRUE(found) << found.error().reason;
            double nearest = 1e9, side_error = 0.0;
            for (const Triangle& one : *found) {
                double error = 0.0, side = 0.0;
                for (std::size_t k = 0; k < 3; ++k) {
                    error = std::max(error, std::abs(one.angle_deg[k] - truth.angle_deg[k]));
                    side = std::max(side, std::abs(one.side[k] - truth.side[k]));
                }
                if (error < nearest) {
                    nearest = error;
                    side_error = side;
                }
            }
            // Near a right angle the side-side-angle case loses half the digits; it is still far within 0.01 degree.
            worst_angle = std::max(worst_angle, nearest);
            worst_side = std::max(worst_side, side_error);
        }
    }
    EXPECT_LT(worst_angle, 1e-3);
    EXPECT_LT(worst_side, 1e-3);
    std::printf("triangles: worst angle %.1e deg, worst side %.1e m\n", worst_angle, worst_side);
}

TEST(Triangle, SaysWhenTwoFit) {
    TriangleKnown known;
    known.side[0] = 6.0;
    known.side[1] = 8.0;
    known.angle_deg[0] = 40.0;
    const auto found = solve_triangle(known);
    ASSERT_TRUE(found);
    ASSERT_EQ(found->size(), 2u);
    EXPECT_NEAR((*found)[0].angle_deg[1], 58.987, 1e-3);  // asin(8 sin 40 / 6)
    EXPECT_NEAR((*found)[1].angle_deg[1], 121.013, 1e-3);
    known.angle_deg[0] = std::nullopt;
    known.angle_deg[2] = 90.0;
    const auto right = solve_triangle(known);
    ASSERT_TRUE(right);
    ASSERT_EQ(right->size(), 1u);
    EXPECT_NEAR((*right)[0].side[2], 10.0, 1e-12);
}

TEST(Triangle, RefusesTheImpossibleWithTheNearestAnswer) {
    const auto reason = [](TriangleKnown known) {
        const auto found = solve_triangle(known);
        EXPECT_FALSE(found);
        return found ? "" : sentence(found.error());
    };
    EXPECT_THAT(reason({{1.0, 2.0, 4.0}, {}}), HasSubstr("the longest possible c is just below 3"));
    EXPECT_THAT(reason({{2.0, 8.0, {}}, {40.0, {}, {}}}), HasSubstr("the shortest possible a is 5.14"));
    EXPECT_THAT(reason({{2.0, 8.0, {}}, {120.0, {}, {}}}), HasSubstr("too short"));
    EXPECT_THAT(reason({{7.9, 8.0, {}}, {120.0, {}, {}}}), HasSubstr("must be longer than 8"));
    EXPECT_THAT(reason({{}, {60.0, 60.0, 59.0}}), HasSubstr("a shape and no size"));
    EXPECT_THAT(reason({{1.0, {}, {}}, {100.0, 90.0, {}}}), HasSubstr("add up to 190"));
    EXPECT_THAT(reason({{1.0, 2.0, {}}, {}}), HasSubstr("2 pieces"));
    EXPECT_THAT(reason({{-1.0, 2.0, 2.0}, {}}), HasSubstr("no length"));
    EXPECT_THAT(reason({{3.0, 4.0, 5.0}, {std::nullopt, std::nullopt, 90.0}}), HasSubstr("leave out"));
}

TEST(VerticalAim, AgreesWithANumericSolver) {
    Random random;
    double worst = 0.0;
    for (int i = 0; i < cases; ++i) {
        const double z = random(1.0, 15.0), front = random(1.0, 20.0), back = front + random(2.0, 60.0), coverage = random(15.0, 120.0);
        const double air = random(0.0, 0.05), rise = random(-0.1, 0.2) * (back - front);
        const Row a{z, front}, b{z - rise, back};
        const auto aim = vertical_aim(a, b, coverage, air);
        if (!aim) continue;
        const auto level = [&](Row row, double tilt) {
            const double off = degrees(std::atan2(-row.height_m, row.distance_m)) - tilt, r = std::hypot(row.height_m, row.distance_m);
            return -6.0 * std::pow(off / (coverage / 2), 2) - 20.0 * std::log10(r) - air * r;
        };
        const auto numeric = find_root([&](double tilt) { return level(a, tilt) - level(b, tilt); }, -1e6, 1e6);
        ASSERT_TRUE(numeric);
        worst = std::max(worst, std::abs(*numeric - aim->tilt_wanted_deg));
        if (aim->tilt_deg != aim->tilt_wanted_deg) continue;  // wanted beyond straight up or down: held there
        EXPECT_NEAR(aim->front_db, aim->back_db, 1e-6);
    }
    EXPECT_LT(worst, 0.01);
    std::printf("vertical aim: worst %.1e deg\n", worst);
}

TEST(VerticalAim, WorkedValues) {
    // (height, front, back, coverage) -> depression, end level, spread; an independent derivation checked with brentq.
    const struct { double z, front, back, coverage, aim, level, spread; } rows[] = {
        {5, 3, 30, 60, 12.54438, -29.725, 7.71}, {6, 5, 25, 50, 17.15803, -28.331, 5.17}, {4, 4, 20, 40, 17.13348, -26.700, 6.34},
        {8, 6, 40, 30, 26.74500, -38.565, 14.26}, {5, 10, 30, 40, 1.07230, -30.717, 2.25}, {5, 3, 30, 30, 28.82306, -39.657, 19.94}};
    for (const auto& row : rows) {
        const auto aim = vertical_aim({row.z, row.front}, {row.z, row.back}, row.coverage, 0.0);
        ASSERT_TRUE(aim);
        EXPECT_NEAR(-aim->tilt_deg, row.aim, 1e-5);
        EXPECT_NEAR(aim->front_db, row.level, 1e-3);
        EXPECT_NEAR(aim->loudest_db - aim->quietest_db, row.spread, 0.01);
    }
    EXPECT_NEAR(-vertical_aim({6, 5}, {6, 40}, 40, 0.0299)->tilt_deg, 17.15341, 1e-5);
}

TEST(VerticalAim, KnownLimits) {
    // Ratio 1: half-way. Front below and back above at one distance, as on a steep rake.
    const auto equal = vertical_aim({4.0, 10.0}, {-3.9999, 10.0 + 1e-6}, 60.0, 0.0);
    ASSERT_TRUE(equal);
    EXPECT_NEAR(equal->tilt_deg, 0.0, 0.01);
    // 2:1 with the near seat on the -6 dB edge: the axis lands in the last row (6.02 against 6 dB is the rest).
    const double front = std::sqrt(25.0 - 9.0), back = std::sqrt(100.0 - 9.0);  // 5 and 10 m from a box 3 m up
    const double between = degrees(std::atan2(3.0, front) - std::atan2(3.0, back));
    const auto aim = vertical_aim({3.0, front}, {3.0, back}, 2.0 * between, 0.0);
    ASSERT_TRUE(aim);
    EXPECT_NEAR(-aim->tilt_deg, degrees(std::atan2(3.0, back)), 0.005 * between);
    EXPECT_NEAR(aim->wanted_coverage_deg, 2.0 * between, 0.01 * between);
}

TEST(VerticalAim, SaysWhatALimitedTiltCosts) {
    const auto free = vertical_aim({5, 3}, {5, 30}, 60, 0.0), held = vertical_aim({5, 3}, {5, 30}, 60, 0.0, {-5.0, 5.0});
    ASSERT_TRUE(free && held);
    EXPECT_EQ(held->tilt_deg, -5.0);
    EXPECT_NEAR(held->tilt_wanted_deg, free->tilt_deg, 1e-12);
    EXPECT_LT(held->front_db, free->front_db - 3.0);
    EXPECT_THAT(sentence(vertical_aim({5, -1}, {5, 30}, 60, 0.0).error()), HasSubstr("behind or under it"));
    EXPECT_THAT(sentence(vertical_aim({5, 9}, {5, 3}, 60, 0.0).error()), HasSubstr("exchange"));
}

TEST(VerticalAim, MeasuredPatternsAreSolvedNumerically) {
    Random random;
    double worst = 0.0;
    for (int i = 0; i < 300; ++i) {
        const double coverage = random(30.0, 90.0), front = random(3.0, 8.0), back = front + random(5.0, 20.0), z = random(2.0, 6.0);
        const auto beam = beam_directivity({.coverage_h_deg = 90, .coverage_v_deg = coverage});
        const auto closed = vertical_aim({z, front}, {z, back}, coverage, 0.01);
        const auto numeric = vertical_aim({z, front}, {z, back}, *beam, 2000, 8000, 0.01);
        ASSERT_TRUE(closed);
        if (closed->beyond_beam || closed->tilt_deg > 0.0) continue;
        ASSERT_TRUE(numeric) << numeric.error().reason;
        worst = std::max(worst, std::abs(numeric->tilt_deg - closed->tilt_deg));
    }
    EXPECT_LT(worst, 1e-6);
}

TEST(Coverage, WantedIsWhereNearSeatAndEdgeMeet) {
    Random random;
    double worst = 0.0;
    for (int i = 0; i < cases; ++i) {
        const End near{random(-80.0, -20.0), random(0.0, 20.0)}, far{near.angle_deg + random(1.0, 40.0), near.loss_db + random(0.0, 12.0)};
        const double q = far.loss_db - near.loss_db, wanted = wanted_coverage_deg(near, far);
        // Numerically: the smallest coverage whose equal-level aim puts the near end on its -6 dB edge; beyond 6 dB the one
        // that puts the axis on the far end.
        const auto f = [&](double c) {
            const double aim = equal_level_aim_deg(near, far, c);
            return q <= 6.0 ? (aim - near.angle_deg) - c / 2.0 : aim - far.angle_deg;
        };
        const double apart = far.angle_deg - near.angle_deg;
        // At the smallest coverage the near end's edge condition falls from positive to negative before c = 2 apart.
        const auto numeric = q <= 6.0 ? find_root(f, 0.2 * apart, std::nextafter(2.0 * apart, 0.0)) : find_root(f, 1e-3, 2.5 * apart);
        if (!numeric) {
            EXPECT_NEAR(q, 6.0, 1e-3);  // at the seam both roots are one
            continue;
        }
        worst = std::max(worst, std::abs(*numeric - wanted));
    }
    EXPECT_LT(worst, 0.01);
    std::printf("wanted coverage: worst %.1e deg\n", worst);
}

TEST(HorizontalAim, AgreesWithANumericSolverAndTurnsWithTheRoom) {
    Random random;
    double worst = 0.0;
    for (int i = 0; i < cases; ++i) {
        const double turn = random(-180.0, 180.0), coverage = random(40.0, 110.0), air = random(0.0, 0.03);
        const Axes room = axes(turn, 0.0);
        const Vec3 at{random(-5, 5), random(-5, 5), 4.0};
        std::vector<Vec3> corners;
        for (const Vec3 local : {Vec3{random(3, 6), random(-9, -3), 1.2}, Vec3{random(3, 6), random(3, 9), 1.2}, Vec3{random(15, 25), random(5, 12), 1.2}, Vec3{random(15, 25), random(-12, -5), 1.2}})
            corners.push_back(at + Vec3{0, 0, local.z - 4.0} + local.x * room.forward + local.y * room.left);
        const auto aim = horizontal_aim(at, corners, coverage, air);
        ASSERT_TRUE(aim);
        // Numerically: the pan at which the outermost corners (by brute force) get equal levels.
        Vec3 left{}, right{};
        double most = -1e9, least = 1e9;
        for (const Vec3 corner : corners) {
            const double h = wrapped_deg(direction(at, corner).pan_deg - turn);
            if (h > most) most = h, left = corner;
            if (h < least) least = h, right = corner;
        }
        const auto level = [&](Vec3 place, double h, double pan) {
            const double r = distance(at, place);
            return -6.0 * std::pow((h - pan) / (coverage / 2), 2) - 20.0 * std::log10(r) - air * r;
        };
        const auto numeric = find_root([&](double pan) { return level(left, most, pan) - level(right, least, pan); }, -500.0, 500.0);
        ASSERT_TRUE(numeric);
        worst = std::max(worst, std::abs(wrapped_deg(*numeric + turn - aim->pan_deg)));
    }
    EXPECT_LT(worst, 0.01);
    std::printf("horizontal aim: worst %.1e deg\n", worst);
    EXPECT_FALSE(horizontal_aim({0, 0, 4}, {{5, 5, 1}, {-5, 5, 1}, {-5, -5, 1}, {5, -5, 1}}, 90, 0.0));
}

TEST(CoverageNeed, LandsOnTheAudience) {
    const auto need = coverage_need({0, 0, 5}, {{4, -8, 1.2}, {4, 8, 1.2}, {20, 8, 1.2}, {20, -8, 1.2}}, 0.0);
    ASSERT_TRUE(need);
    EXPECT_NEAR(need->pan_deg, 0.0, 1e-9);
    EXPECT_NEAR(need->coverage_h_deg, 2.0 * degrees(std::atan2(8.0, 4.0)), 1e-9);
    const auto rows = vertical_aim({3.8, 4}, {3.8, std::hypot(20.0, 8.0)}, need->coverage_v_deg, 0.0);
    EXPECT_NEAR(rows->tilt_deg, need->tilt_deg, 1e-9);
    EXPECT_THAT(sentence(coverage_need({0, 0, 5}, {{-4, -8, 1}, {4, 8, 1}, {20, 0, 1}, {4, -20, 1}}, 0.0).error()), HasSubstr("box"));
}

TEST(SplayClosedForm, WorkedValuesAndNumericAgreement) {
    // Coverage 60/60 at q 0, 1, 3 dB; 90/60 at 3; 40/40 at 2: an independent derivation.
    EXPECT_NEAR(splay_for({60, 60, 0})->splay_deg, 60.0, 1e-9);
    EXPECT_NEAR(splay_for({60, 60, 1})->splay_deg, 57.38613, 1e-5);
    EXPECT_NEAR(splay_for({60, 60, 3})->splay_deg, 51.21320, 1e-5);
    EXPECT_NEAR(splay_for({90, 60, 3})->splay_deg, 66.21320, 1e-5);
    EXPECT_NEAR(splay_for({40, 40, 2})->splay_deg, 36.32993, 1e-5);
    EXPECT_NEAR(splay_for({60, 60, 0, 3.0})->splay_deg, 42.42641, 1e-5);
    EXPECT_FALSE(splay_for({60, 60, 6.0}));
    EXPECT_NEAR(*join_of(60, 60, 60, 3), 33.750, 1e-9);
    EXPECT_NEAR(*join_of(50, 60, 60, 3), 29.500, 1e-9);
    EXPECT_NEAR(*join_of(30, 40, 40, 2), 17.2222, 1e-4);
    EXPECT_NEAR(*join_of(70, 90, 90, 6), 49.46429, 1e-5);
    EXPECT_NEAR(*join_of(70, 90, 60, 0), 42.0, 1e-9);
    EXPECT_NEAR(*join_of(70, 90, 60, 3), 46.96836, 1e-5);
    EXPECT_FALSE(join_of(10, 90, 90, 6));
    Random random;
    double worst = 0.0;
    for (int i = 0; i < cases; ++i) {
        const double c1 = random(20, 120), c2 = random(20, 120), x = random(2, 9), q = random(0, x * 0.95);
        const auto splay = splay_for({c1, c2, q, x});
        ASSERT_TRUE(splay);
        const auto l1 = [&](double h) { return -6.0 * std::pow(h / (c1 / 2), 2); };
        const auto l2 = [&](double h) { return -q - 6.0 * std::pow(h / (c2 / 2), 2); };
        const auto h1 = find_root([&](double h) { return l1(h) + x; }, 0.0, 400.0), h2 = find_root([&](double h) { return l2(h) + x; }, 0.0, 400.0);
        worst = std::max(worst, std::abs(*h1 + *h2 - splay->splay_deg));
        const auto join = join_of(splay->splay_deg, c1, c2, q);
        ASSERT_TRUE(join);
        worst = std::max(worst, std::abs(*join - *h1));
    }
    EXPECT_LT(worst, 0.01);
    std::printf("splay and join: worst %.1e deg\n", worst);
}

TEST(SplayNumeric, AgreesWithTheClosedFormOnTheBeamModel) {
    const auto one = beam_directivity({.coverage_h_deg = 90, .coverage_v_deg = 40}), two = beam_directivity({.coverage_h_deg = 60, .coverage_v_deg = 30});
    const auto numeric = splay_for(*one, *two, false, 2000, 8000, 3.0, 6.0), closed = splay_for({90, 60, 3.0});
    ASSERT_TRUE(numeric && closed);
    EXPECT_NEAR(numeric->splay_deg, closed->splay_deg, 1e-6);
    EXPECT_NEAR(numeric->axis_1_deg, closed->axis_1_deg, 1e-6);
    EXPECT_NEAR(splay_for(*one, *two, true, 2000, 8000, 0.0, 6.0)->splay_deg, 35.0, 1e-6);
}

TEST(PanApart, GivesTheAngleInSpace) {
    Random random;
    double worst = 0.0;
    int solved = 0;
    for (int i = 0; i < cases; ++i) {
        const double t1 = random(-70, 30), t2 = random(-70, 30), splay = random(1, 100);
        const auto pan = pan_apart_deg(splay, t1, t2);
        if (!pan) continue;
        ++solved;
        worst = std::max(worst, std::abs(angle_between_deg({0.0, t1}, {*pan, t2}) - splay));
    }
    EXPECT_GT(solved, cases / 3);
    EXPECT_LT(worst, 0.01);
    EXPECT_THAT(sentence(pan_apart_deg(5, -30, 20).error()), HasSubstr("between 50.00 and"));
}

TEST(SpacingClosedForm, WorkedValuesAndDirectCheck) {
    // Spacing over depth, parallel pair: with a ruler, and with the distance to the join in the reckoning.
    const struct { double coverage, ruler, real; } rows[] = {{40, 0.72794, 0.69481}, {60, 1.15470, 1.03285}, {80, 1.67820, 1.35420},
                                                             {90, 2.00000, 1.50558}, {100, 2.38351, 1.64933}, {120, 3.46410, 1.91114}};
    for (const auto& row : rows) {
        const auto spacing = spacing_for({row.coverage, row.coverage, 0.0, 1.0});
        ASSERT_TRUE(spacing);
        EXPECT_NEAR(spacing->angle_only_m, row.ruler, 1e-5);
        EXPECT_NEAR(spacing->spacing_m, row.real, 1e-5);
    }
    EXPECT_NEAR(spacing_for({90, 90, 0, 5, 20})->angle_only_m, 7.00208, 1e-5);
    EXPECT_NEAR(spacing_for({90, 90, 0, 5, 20})->spacing_m, 5.78058, 1e-5);
    Random random;
    double worst_db = 0.0, worst_m = 0.0;
    for (int i = 0; i < cases; ++i) {
        const SpacingWish wish{random(30, 120), random(30, 120), random(0, 4), random(1, 20), random(0, 20)};
        const auto spacing = spacing_for(wish);
        if (!spacing) continue;
        // Levels at the join from places and bearings alone.
        const Pose one{{0, 0, 0}, wish.splay_deg / 2, 0}, two{{0, -spacing->spacing_m, 0}, -wish.splay_deg / 2, 0};
        const Vec3 join{wish.depth_m, -spacing->join_from_1_m, 0};
        const auto level = [&](const Pose& box, double coverage, double gain) {
            const Bearing b = bearing(box, join);
            return gain - 6.0 * std::pow(b.h_deg / (coverage / 2), 2) - 20.0 * std::log10(b.distance_m / wish.depth_m);
        };
        worst_db = std::max({worst_db, std::abs(level(one, wish.coverage_1_deg, 0) + 6.0), std::abs(level(two, wish.coverage_2_deg, -wish.quieter_db) + 6.0)});
        // And the place by a numeric search of its own on the line at that depth.
        const auto numeric = find_root([&](double y) {
            const double ahead = degrees(std::atan2(y, wish.depth_m)), h = ahead + wish.splay_deg / 2;
            return 6.0 * std::pow(h / (wish.coverage_1_deg / 2), 2) + 20.0 * std::log10(std::hypot(y, wish.depth_m) / wish.depth_m) - 6.0;
        }, -wish.depth_m * std::tan(radians(wish.splay_deg / 2)), 60.0 * wish.depth_m);
        worst_m = std::max(worst_m, std::abs(*numeric - spacing->join_from_1_m));
    }
    EXPECT_LT(worst_db, 1e-9);
    EXPECT_LT(worst_m, 1e-3);
    std::printf("spacing: worst %.1e m, %.1e dB\n", worst_m, worst_db);
}

TEST(TwoSources, ClosedFormTable) {
    // Level difference: in phase, anti-phase, incoherent, ripple (re the louder).
    const struct { double d, peak, dip, power, ripple; } rows[] = {{1, 5.535, -19.271, 2.539, 24.806}, {2, 5.078, -13.737, 2.124, 18.815},
        {3, 4.649, -10.691, 1.764, 15.340}, {4, 4.249, -8.658, 1.455, 12.907}, {6, 3.529, -6.041, 0.973, 9.570}, {10, 2.387, -3.302, 0.414, 5.688}, {12, 1.946, -2.513, 0.266, 4.459}};
    for (const auto& row : rows) {
        const TwoSources sum = two_sources(row.d);
        EXPECT_NEAR(sum.peak_db, row.peak, 6e-4);
        EXPECT_NEAR(sum.dip_db, row.dip, 6e-4);
        EXPECT_NEAR(sum.power_db, row.power, 6e-4);
        EXPECT_NEAR(sum.ripple_db, row.ripple, 6e-4);
    }
    EXPECT_NEAR(two_sources(0.0).peak_db, 6.021, 1e-3);
}

TEST(CoherentSum, AgreesWithDirectComplexSummation) {
    Random random;
    double worst = 0.0;
    for (int i = 0; i < 2000; ++i) {
        const double l1 = random(-40, 0), l2 = random(-40, 0), apart = random(-0.005, 0.005), low = random(30, 6000), high = low * random(1.1, 2.0);
        double power = 0.0;
        constexpr int lines = 4000;
        for (int k = 0; k < lines; ++k) {
            const double f = low + (high - low) * (k + 0.5) / lines;
            power += std::norm(std::pow(10.0, l1 / 20) + std::pow(10.0, l2 / 20) * std::polar(1.0, -2.0 * std::numbers::pi * f * apart)) / lines;
        }
        worst = std::max(worst, std::abs(coherent_sum_db(l1, l2, apart, low, high) - 10.0 * std::log10(power)));
    }
    EXPECT_LT(worst, 0.01);
    std::printf("coherent sum: worst %.1e dB\n", worst);
}

}  // namespace
}  // namespace proofwalk::acoustics
