// Differences, sheets, what is heard together, and rigs carried to another venue.
#include <chrono>
#include <cmath>
#include <complex>
#include <fstream>
#include <numbers>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "plan/area.hpp"
#include "plan/carry.hpp"
#include "plan/diff.hpp"
#include "plan/example.hpp"
#include "plan/heard.hpp"
#include "plan/sheets.hpp"
#include "plan/write.hpp"
#include "units/convert.hpp"

namespace proofwalk::plan {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

TEST(Differences, AreToldInWords) {
    const Plan before = plan_from(example_text);
    Plan after = before;
    EXPECT_THAT(differences(before, after), IsEmpty());
    after.boxes[0].tilt_deg = -16.0;
    after.boxes[0].pan_deg = -5.0;
    after.boxes[1].at.y = -6.5;
    after.boxes[1].delay_ms = 3.0;
    after.boxes[2].inverted = true;
    after.rules.aim_deg = 3.0;
    after.positions.pop_back();
    after.arrays[0].kind = ArrayKind::delay;
    std::vector<std::string> lines;
    for (const Difference& one : differences(before, after)) lines.push_back(one.section + " " + one.subject + ": " + one.words);
    EXPECT_THAT(lines, ElementsAre("rules : aim tolerance changed by +1.00 deg, from 2.00 to 3.00 deg",
                                   "box M1: turned to its left by 3.00 deg, from -8.00 to -5.00 deg",
                                   "box M1: tilted down by 4.00 deg, from -12.00 to -16.00 deg",
                                   "box M2: moved 0.50 m to house left",
                                   "box M2: delay changed by +1.00 ms, from 2.00 to 3.00 ms",
                                   "box F1: polarity is now inverted",
                                   "array mains: kind changed from uncoupled to delay",
                                   "position p4: is not in the plan any more"));
}

TEST(CheckChanges, ReopenWhatRestsOnTheChange) {
    const Plan before = plan_from(example_text);
    Plan after = before;
    EXPECT_THAT(check_changes(before, after), IsEmpty());
    after.boxes[4].patch = "another cable";  // paper only
    EXPECT_THAT(check_changes(before, after), IsEmpty());
    after.boxes[0].tilt_deg = -16.0;
    std::vector<std::string> reopened;
    for (const CheckChange& change : check_changes(before, after)) {
        EXPECT_EQ(change.kind, CheckChange::Kind::reopened);
        EXPECT_THAT(change.why, HasSubstr("M1: tilted down by 4.00 deg"));
        reopened.push_back(std::string(word(change.check)) + " " + change.subject);
    }
    EXPECT_THAT(reopened, Contains("aim-h M1"));
    EXPECT_THAT(reopened, Contains("crossover S+M1"));
    EXPECT_THAT(reopened, Contains("level M2"));  // its sibling
    EXPECT_THAT(reopened, testing::Not(Contains("polarity M2")));
    EXPECT_THAT(reopened, testing::Not(Contains("arrival S")));

    Plan moved = before;
    moved.positions[1].at.x += 1.0;  // p2, on the axis of M2
    for (const CheckChange& change : check_changes(before, moved)) EXPECT_THAT(change.subject, HasSubstr("M2"));
    EXPECT_THAT(check_changes(before, moved), Not(IsEmpty()));

    Plan fewer = before;
    fewer.arrays.erase(fewer.arrays.begin());
    for (const CheckChange& change : check_changes(before, fewer)) EXPECT_EQ(change.kind, CheckChange::Kind::dropped);
    for (const CheckChange& change : check_changes(fewer, before)) EXPECT_EQ(change.kind, CheckChange::Kind::added);
    EXPECT_EQ(check_changes(before, fewer).size(), 3u);
}

TEST(TargetChanges, SayWhatIsHeardDifferently) {
    const Plan before = plan_from(example_text);
    Plan after = before;
    after.boxes[1].delay_ms = 5.0;
    const auto changes = target_changes(before, after);
    ASSERT_EQ(changes.size(), 2u);  // p2 and p3 serve M2
    EXPECT_EQ(changes[0].box, "M2");
    EXPECT_NEAR(changes[0].arrival_ms, 3.0, 1e-9);
    EXPECT_EQ(changes[0].aim_band_db, 0.0);
}

TEST(Sheets, HoldEveryBoxAndPositionAndTheirCautions) {
    const Plan plan = plan_from(example_text);
    const Sheet rigging = rigging_sheet(plan, LengthUnit::metres), mics = mic_sheet(plan, LengthUnit::feet, stage_corners(plan)), patch = patch_sheet(plan);
    EXPECT_EQ(rigging.rows.size(), plan.boxes.size());
    EXPECT_THAT(rigging.notes[0], HasSubstr("competent riggers"));
    EXPECT_THAT(rigging.rows[0], ElementsAre("M1", "wide", "0.00 m", "6.00 m house right", "4.84 m", "4.50 m", "8.0 right", "12.0 down", "", "not given"));
    EXPECT_EQ(mics.rows.size(), plan.positions.size());
    EXPECT_EQ(mics.rows[2][0], "p3");
    EXPECT_EQ(mics.rows[2][7], "crossover M1+M2, right-edge M1");
    EXPECT_EQ(patch.rows.size(), plan.boxes.size());
    for (const Sheet& sheet : {rigging, mics, patch})
        for (const auto& row : sheet.rows) EXPECT_EQ(row.size(), sheet.columns.size());
    const std::string text = csv(mics);
    EXPECT_THAT(text, HasSubstr("\"crossover M1+M2, right-edge M1\""));
    EXPECT_THAT(text, HasSubstr("\"33' 5 1/2\"\"\""));  // 10.2 m
    EXPECT_EQ(std::count(text.begin(), text.end(), '\n'), 5);
}

TEST(Tapes, LeadBackToThePlace) {
    const Plan plan = plan_from(example_text);
    const TapePoints tapes = stage_corners(plan);
    std::mt19937 random(8);
    std::uniform_real_distribution<double> x(0.1, 60.0), y(-30.0, 30.0);
    for (int i = 0; i < 1000; ++i) {
        const Vec3 place{x(random), y(random), 0.0};
        const auto found = from_tapes(tapes, std::hypot(place.x - tapes.a.x, place.y - tapes.a.y), std::hypot(place.x - tapes.b.x, place.y - tapes.b.y));
        ASSERT_TRUE(found);
        EXPECT_LT(distance(*found, place), 1e-6);
    }
    EXPECT_FALSE(from_tapes(tapes, 1.0, 2.0));  // 16 m apart
}

TEST(Heard, LoudestFirstAndFloorBounceByImage) {
    const Plan plan = plan_from(example_text);
    const auto heard = heard_at(plan, *plan.position("p1"), plan.air);
    ASSERT_GE(heard.size(), 2u);
    EXPECT_EQ(heard[0].aim_band_db, 0.0);
    EXPECT_EQ(heard[0].arrival_ms, 0.0);
    for (std::size_t i = 1; i < heard.size(); ++i) EXPECT_LE(heard[i].aim_band_db, heard[i - 1].aim_band_db);
    const Box& box = *plan.box("M1");
    const Position& place = *plan.position("p1");
    const double direct = distance(box.at, place.at), bounce = distance(box.at, {place.at.x, place.at.y, -place.at.z});
    EXPECT_NEAR(floor_bounce_s(box, place, plan.air, 1.2), (bounce - direct) / acoustics::speed_of_sound(plan.air).value, 1e-12);
}

TEST(Heard, ReflectionsFromTheFloorAreNamed) {
    Plan plan = plan_from(example_text);
    const Box& box = *plan.box("M1");
    const Position& place = *plan.position("p1");
    const double bounce_s = floor_bounce_s(box, place, plan.air);
    Plan bare = plan;
    bare.areas.clear();
    const auto surfaces = [&](const Plan& of, std::vector<double> after_s) { return likely_surfaces(of, box, place, plan.air, after_s); };
    using Names = std::vector<std::string>;
    EXPECT_EQ(surfaces(bare, {bounce_s}), Names{"floor"});
    EXPECT_EQ(surfaces(bare, {1.05 * bounce_s, bounce_s, 3.0 * bounce_s + 3e-3}), (Names{"", "floor", ""}));
    EXPECT_EQ(surfaces(bare, {}), Names{});
    // A raked area: the image in its plane, checked against a search of the shortest way by a point of it.
    plan.areas = {{"stalls", {place.at.x - 6.0, place.at.y, place.at.z - 1.0}, {place.at.x + 6.0, place.at.y, place.at.z + 1.0}, 12.0, 16.0}};
    const Area& area = plan.areas.front();
    double shortest = 1e9;
    for (int along = 0; along <= 1200; ++along)
        for (int aside = -100; aside <= 100; ++aside) {
            const Vec3 at = area.near + (along / 1200.0) * (area.far - area.near) + Vec3{0.0, 0.02 * aside, -1.2};
            shortest = std::min(shortest, distance(box.at, at) + distance(at, place.at));
        }
    const double raked_s = (shortest - distance(box.at, place.at)) / acoustics::speed_of_sound(plan.air).value;
    EXPECT_EQ(surfaces(plan, {3.0 * raked_s + 3e-3, raked_s}), (Names{"", "stalls"}));
    plan.areas.front().near.y += 40.0;  // beside that floor nothing is reflected
    plan.areas.front().far.y += 40.0;
    EXPECT_EQ(surfaces(plan, {raked_s}), Names{""});
}

TEST(Together, AgreesWithDirectComplexSummation) {
    Plan plan = plan_from(example_text);
    double worst = 0.0;
    for (const bool inverted : {false, true}) {
        plan.boxes[1].inverted = inverted;
        for (const Position& position : plan.positions) {
            const Together sum = together(plan, plan.boxes[0], plan.boxes[1], position, plan.air);
            const Target a = target(plan, plan.boxes[0], position, plan.air), b = target(plan, plan.boxes[1], position, plan.air);
            for (std::size_t band = 0; band < band_count; ++band) {
                if (!sum.coherent_db.has(band)) continue;
                double power = 0.0;
                constexpr int lines = 20000;
                for (int i = 0; i < lines; ++i) {
                    const double f = lower_edge_hz(band) + (upper_edge_hz(band) - lower_edge_hz(band)) * (i + 0.5) / lines;
                    power += std::norm(amplitude_of_db(a.shape_db[band]) + (inverted ? -1.0 : 1.0) * std::polar(amplitude_of_db(b.shape_db[band]), -2.0 * std::numbers::pi * f * (b.arrival_s - a.arrival_s))) / lines;
                }
                worst = std::max(worst, std::abs(sum.coherent_db[band] - power_db(power)));
            }
        }
    }
    EXPECT_LT(worst, 0.01);
    std::printf("two boxes together: worst %.1e dB\n", worst);
}

TEST(Carry, KeepsTheRigAndAimsItAnew) {
    const Plan rig = plan_from(example_text);
    Plan venue = rig;
    venue.name = "Another Hall";
    venue.areas[0].near = {4.0, 0.0, 1.2};
    venue.areas[0].far = {31.0, 0.0, 2.0};
    venue.areas[0].near_width_m = 24.0;
    venue.areas[0].far_width_m = 28.0;
    const Carried carried = carry(rig, venue);
    const Plan& plan = carried.plan;
    EXPECT_EQ(plan.name, "Another Hall");
    ASSERT_EQ(plan.boxes.size(), rig.boxes.size());
    EXPECT_NEAR(plan.boxes[0].at.y, 9.0, 1e-9);
    EXPECT_GT(plan.boxes[0].tilt_deg, rig.boxes[0].tilt_deg);  // deeper and raked: less tilt
    // The axis lands on the same share of the audience, to the tenth of a degree that the aim is rounded to.
    const auto old_landing = landing(rig.areas[0], rig.boxes[0].at, acoustics::axes(rig.boxes[0].pan_deg, rig.boxes[0].tilt_deg).forward);
    const auto new_landing = landing(plan.areas[0], plan.boxes[0].at, acoustics::axes(plan.boxes[0].pan_deg, plan.boxes[0].tilt_deg).forward);
    ASSERT_TRUE(old_landing && new_landing);
    EXPECT_NEAR(old_landing->along, new_landing->along, 0.02);
    EXPECT_NEAR(old_landing->across, new_landing->across, 0.02);
    const auto again = read(write(plan), "carried.toml", ".");
    ASSERT_TRUE(again);
    EXPECT_FALSE(plan.positions.empty());
    // Into the same venue nothing moves.
    const Carried home = carry(rig, rig);
    for (std::size_t i = 0; i < rig.boxes.size(); ++i) {
        EXPECT_LT(distance(home.plan.boxes[i].at, rig.boxes[i].at), 1e-9);
        if (rig.model_of(rig.boxes[i]).pattern == Pattern::beam && i < 2) { EXPECT_NEAR(home.plan.boxes[i].tilt_deg, rig.boxes[i].tilt_deg, 0.051); }
    }
}

TEST(Carry, RetimesADelayChain) {
    const std::filesystem::path file = PROOFWALK_SOURCE_DIR "/../shared/cases/delay-speaker-late/plan.toml";
    if (!std::filesystem::exists(file)) GTEST_SKIP() << "no shared cases beside the source";
    const Plan rig = load(file)->plan;
    Plan venue = rig;
    venue.areas[0].far.x = 70.0;
    const Plan plan = carry(rig, venue).plan;
    const auto apart = [](const Plan& in, Vec3 at) {
        Position there{"x", at, {}, {}};
        return 1000.0 * (target(in, in.boxes[1], there, in.air).arrival_s - target(in, in.boxes[0], there, in.air).arrival_s);
    };
    const Vec3 old_place = rig.crossover_of("M", "R1")->at;
    const Vec3 new_place = point_on(venue.areas[0], on_area(rig.areas[0], old_place));
    EXPECT_NEAR(apart(plan, new_place), apart(rig, old_place), 0.02);
    EXPECT_GT(plan.box("R1")->delay_ms, rig.box("R1")->delay_ms);
}

TEST(Venue, NeedsAreasAndNoBoxes) {
    const std::filesystem::path file = std::filesystem::path(testing::TempDir()) / "proofwalk_venue.toml";
    std::ofstream(file) << "format = \"proofwalk.plan/1\"\nname = \"Venue\"\n[[area]]\nid = \"floor\"\nnear = [3, 0, 1.2]\nfar = [20, 0, 1.2]\nnear_width_m = 10\nfar_width_m = 12\n";
    EXPECT_TRUE(load_venue(file));
    EXPECT_FALSE(load(file));
    std::ofstream(file) << "format = \"proofwalk.plan/1\"\nname = \"Venue\"\n";
    const auto bare = load_venue(file);
    ASSERT_FALSE(bare);
    EXPECT_THAT(bare.error()[0].reason, HasSubstr("no [[area]]"));
    std::filesystem::remove(file);
}

TEST(Targets, SixtyBoxesAndAHundredPositionsAreOnePerPair) {
    Plan plan = plan_from(example_text);
    const Box box = plan.boxes[0];
    const Position position = plan.positions[0];
    for (int i = 0; i < 55; ++i) plan.boxes.push_back(box), plan.boxes.back().id = "B" + std::to_string(i);
    for (int i = 0; i < 96; ++i) plan.positions.push_back(position), plan.positions.back().id = "q" + std::to_string(i);
    const auto start = std::chrono::steady_clock::now();
    const auto all = targets(plan, plan.air);
    std::printf("%zu targets in %.3f s\n", all.size(), std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
    EXPECT_EQ(all.size(), 6000u);  // the time is reported, not asserted
}

}  // namespace
}  // namespace proofwalk::plan
