#include <gtest/gtest.h>

#include <limits>
#include <nlohmann/json.hpp>

#include "example_show.hpp"

namespace proofwalk::report {
namespace {

using nlohmann::json;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double infinity = std::numeric_limits<double>::infinity();

TEST(TallyJson, CarriesTheFieldsOfItsFormat) {
    const json parsed = json::parse(tally_json(example_tally()));
    EXPECT_EQ(parsed["format"], "proofwalk.tally/1");
    EXPECT_EQ(parsed["plan"]["name"], "Example Hall");
    EXPECT_EQ(parsed["plan"]["revision"], 2);
    EXPECT_EQ(parsed["plan"]["sha256"].get<std::string>().size(), 64u);
    const json counts = {{"pass", 2}, {"fail", 1}, {"unsure", 1}, {"open", 2}, {"skipped", 1}};
    EXPECT_EQ(parsed["counts"], counts);
    ASSERT_EQ(parsed["checks"].size(), 7u);
    const json& aim = parsed["checks"][2];
    EXPECT_EQ(aim["check"], "aim-v");
    EXPECT_EQ(aim["subject"], "M1");
    EXPECT_EQ(aim["verdict"], "fail");
    EXPECT_EQ(aim["value"], -4.1);
    EXPECT_EQ(aim["unit"], "deg");
    EXPECT_EQ(aim["uncertainty"], 1.18);
    EXPECT_EQ(aim["probability"], 0.0);
    EXPECT_EQ(aim["target"], 0.0);
    EXPECT_EQ(aim["tolerance"], 2.0);
    EXPECT_EQ(aim["takes"], json({"t01"}));
    EXPECT_EQ(aim["positions"], json({"p1", "p2", "p3"}));
    EXPECT_EQ(aim["says"], "aimed 4.1 deg below the plan");
    EXPECT_EQ(aim["advice"], "tilt up 4.1 deg, then take again");
}

TEST(TallyJson, IsNullWhereThereIsNoFigure) {
    const json parsed = json::parse(tally_json(example_tally()));
    const json& open = parsed["checks"][4];
    EXPECT_EQ(open["verdict"], "open");
    for (const char* field : {"value", "uncertainty", "probability", "target", "predicted_u"})
        EXPECT_TRUE(open[field].is_null()) << field;
    EXPECT_EQ(open["takes"], json::array());
    const json& fit = parsed["fits"][0];
    EXPECT_EQ(fit["at"][0], 0.02);
    EXPECT_TRUE(fit["at"][2].is_null());
    EXPECT_TRUE(fit["at_u"][2].is_null());
    EXPECT_TRUE(fit["gain_db"].is_null());
    EXPECT_TRUE(parsed["drive_latency_ms"].is_null());
}

TEST(TallyJson, NeverCarriesWhatIsNotANumber) {
    verify::Tally tally = example_tally();
    tally.checks[2].value = nan;
    tally.checks[2].uncertainty = infinity;
    tally.checks[2].budget.push_back({"broken", -infinity});
    tally.fits[0].pan_deg = nan;
    tally.drive_latency_ms = {nan, infinity};
    const json parsed = json::parse(tally_json(tally));
    EXPECT_TRUE(parsed["checks"][2]["value"].is_null());
    EXPECT_TRUE(parsed["checks"][2]["uncertainty"].is_null());
    EXPECT_TRUE(parsed["checks"][2]["budget"][2]["u"].is_null());
    EXPECT_TRUE(parsed["fits"][0]["pan_deg"].is_null());
    EXPECT_TRUE(parsed["drive_latency_ms"].is_null());
}

TEST(TallyJson, SurvivesBytesThatAreNoText) {
    verify::Tally tally = example_tally();
    tally.plan_name = "Hall \xff";
    EXPECT_EQ(json::parse(tally_json(tally))["plan"]["name"], "Hall \ufffd");
}

TEST(TallyJson, OfNothingIsStillAWholeObject) {
    const json parsed = json::parse(tally_json(verify::Tally{}));
    EXPECT_EQ(parsed["checks"], json::array());
    EXPECT_EQ(parsed["fits"], json::array());
    EXPECT_EQ(parsed["counts"]["pass"], 0);
}

ReadingRow heard(const char* take, const char* circuit, const char* mic, double arrival_s) {
    ReadingRow row;
    row.taken = {take, circuit, mic, "p1", {}};
    row.taken.reading.arrival_s = Measured{arrival_s, 2e-5};
    row.distance_m = 8.0;
    return row;
}

TEST(ReadingsJson, CarriesTheFieldsOfItsFormat) {
    ReadingRow row = heard("t01", "M1", "m1", 0.025);
    row.taken.reading.polarity = -1;
    row.taken.reading.aim_band_db = Measured{-37.5, 0.2};
    row.taken.reading.direct_db[20] = -40.0;
    row.taken.reading.full_db[20] = -39.0;
    row.taken.reading.noise_db[20] = -90.0;
    row.taken.reading.flags.raise(Flag::clipped);
    row.taken.reading.flags.raise(Flag::no_signal);
    const json parsed = json::parse(readings_json({row}));
    EXPECT_EQ(parsed["format"], "proofwalk.readings/1");
    ASSERT_EQ(parsed["readings"].size(), 1u);
    const json& reading = parsed["readings"][0];
    EXPECT_EQ(reading["take"], "t01");
    EXPECT_EQ(reading["circuit"], "M1");
    EXPECT_EQ(reading["mic"], "m1");
    EXPECT_EQ(reading["position"], "p1");
    EXPECT_DOUBLE_EQ(reading["arrival_ms"], 25.0);
    EXPECT_DOUBLE_EQ(reading["arrival_relative_ms"], 0.0);
    EXPECT_DOUBLE_EQ(reading["arrival_u_ms"], 0.02);
    EXPECT_EQ(reading["distance_m"], 8.0);
    EXPECT_EQ(reading["polarity"], -1);
    EXPECT_EQ(reading["level_reference"], "dB re the reference channel");
    EXPECT_EQ(reading["aim_band_db"], -37.5);
    EXPECT_EQ(reading["aim_band_u_db"], 0.2);
    ASSERT_EQ(reading["bands_hz"].size(), band_count);
    EXPECT_EQ(reading["bands_hz"][20], 2000.0);
    EXPECT_EQ(reading["direct_db"][20], -40.0);
    EXPECT_EQ(reading["full_db"][20], -39.0);
    EXPECT_EQ(reading["noise_db"][20], -90.0);
    EXPECT_TRUE(reading["direct_db"][0].is_null());
    EXPECT_TRUE(reading["coherence"].is_null());
    EXPECT_EQ(reading["flags"], json({"clipped", "no-signal"}));
    EXPECT_EQ(reading["retired"], false);
}

TEST(ReadingsJson, ArrivalsWithoutAReferenceAreOnlyRelative) {
    ReadingRow first = heard("t01", "M1", "m1", 0.004);
    ReadingRow second = heard("t01", "M1", "m2", 0.0);
    ReadingRow silent = heard("t01", "M1", "m3", 0.0);
    for (ReadingRow* row : {&first, &second, &silent}) row->taken.reading.absolute = false;
    silent.taken.reading.arrival_s.reset();
    const json parsed = json::parse(readings_json({first, second, silent}))["readings"];
    EXPECT_TRUE(parsed[0]["arrival_ms"].is_null());
    EXPECT_DOUBLE_EQ(parsed[0]["arrival_relative_ms"], 4.0);
    EXPECT_DOUBLE_EQ(parsed[1]["arrival_relative_ms"], 0.0);
    EXPECT_TRUE(parsed[2]["arrival_relative_ms"].is_null());
    EXPECT_TRUE(parsed[2]["arrival_u_ms"].is_null());
    EXPECT_TRUE(parsed[2]["polarity"].is_null());
}

TEST(ReadingsJson, ArrivalsCountFromTheEarliestOfTheirOwnTake) {
    // Two takes of one label follow one another: the mic that comes again begins the second.
    const json parsed = json::parse(readings_json({heard("r01", "M1", "m1", 0.030), heard("r01", "M1", "m2", 0.020),
                                                   heard("r01", "M1", "m1", 0.050), heard("r02", "M1", "m1", 0.040)}))["readings"];
    EXPECT_NEAR(parsed[0]["arrival_relative_ms"].get<double>(), 10.0, 1e-9);
    EXPECT_NEAR(parsed[1]["arrival_relative_ms"].get<double>(), 0.0, 1e-9);
    EXPECT_NEAR(parsed[2]["arrival_relative_ms"].get<double>(), 0.0, 1e-9);
    EXPECT_NEAR(parsed[3]["arrival_relative_ms"].get<double>(), 0.0, 1e-9);
}

TEST(ReadingsJson, CalibratedLevelsSaySo) {
    ReadingRow row = heard("t01", "M1", "m1", 0.02);
    row.taken.reading.calibrated = true;
    row.taken.reading.coherence[17] = 0.98;
    const json reading = json::parse(readings_json({row}))["readings"][0];
    EXPECT_EQ(reading["level_reference"], "dB SPL");
    EXPECT_EQ(reading["coherence"][17], 0.98);
}

TEST(ReadingsJson, ReflectionsNameTheirSurfaceWhereItIsKnown) {
    ReadingRow row = heard("t01", "M1", "m1", 0.02);
    row.taken.reading.reflections = {{0.004, -7.5}, {0.011, -12.0}};
    row.surfaces = {"stalls", ""};
    const json reflections = json::parse(readings_json({row}))["readings"][0]["reflections"];
    ASSERT_EQ(reflections.size(), 2u);
    EXPECT_DOUBLE_EQ(reflections[0]["after_ms"], 4.0);
    EXPECT_EQ(reflections[0]["level_db"], -7.5);
    EXPECT_EQ(reflections[0]["surface"], "stalls");
    EXPECT_TRUE(reflections[1]["surface"].is_null());
}

TEST(PlanJson, NamesTargetsAndChecks) {
    plan::Plan plan;
    plan.name = "Example Hall";
    plan::Box box;
    box.id = box.circuit = "M1";
    box.model = "wide";
    box.at = {0.0, 6.0, 4.5};
    plan.boxes = {box};
    plan.positions = {{"p1", {10.0, 0.0, 1.2}, std::nullopt, {{plan::Role::on_axis, {"M1"}}}}};
    plan::Target target;
    target.circuit = target.box = "M1";
    target.position = "p1";
    target.arrival_s = 0.0351;
    target.aim_band_db = nan;
    target.serves = true;
    plan::PlannedCheck check;
    check.kind = plan::CheckKind::aim_v;
    check.subject = "M1";
    check.boxes = check.circuits = {"M1"};
    check.positions = {"p1"};
    const json parsed = json::parse(plan_json(plan, "ab12", {target}, {check}));
    EXPECT_EQ(parsed["plan"]["sha256"], "ab12");
    EXPECT_EQ(parsed["positions"][0]["serves"][0]["role"], "on-axis");
    EXPECT_EQ(parsed["boxes"][0]["at"], json({0.0, 6.0, 4.5}));
    EXPECT_DOUBLE_EQ(parsed["targets"][0]["arrival_ms"], 35.1);
    EXPECT_TRUE(parsed["targets"][0]["aim_band_db"].is_null());
    EXPECT_EQ(parsed["checks"][0]["check"], "aim-v");
}

}  // namespace
}  // namespace proofwalk::report
