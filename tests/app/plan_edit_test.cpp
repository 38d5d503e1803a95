// Edits of a plan's text: what is touched changes, everything else stays byte for byte; the plan stays sound.
#include <gtest/gtest.h>

#include <random>

#include "app/plan_edit.hpp"

namespace proofwalk::app {
namespace {

constexpr std::string_view commented_plan = R"plan(format = "proofwalk.plan/1"   # a comment with [[box]] in it
name = "Pencil Room (invented)"

[[area]]
id = "floor"
near = [3.0, 0.0, 1.2]
far = [12.0, 0.0, 1.2]
near_width_m = 10.0
far_width_m = 10.0

[[model]]
id = "wide"
coverage_h_deg = 90.0
coverage_v_deg = 60.0
aim_band_hz = [2000.0, 8000.0]
range_hz = [60.0, 18000.0]

[[box]]
id       = "M1"      # house left
model    = "wide"
at       = [0.0, 3.0, 4.0]   # measured twice
pan_deg  = -8.0      # "towards" the middle
tilt_deg = -12.0

[[box]]
id = "M#2"
model = "wide"
at = [0.0, -3.0, 4.0]

[[position]]
id = "p1"
at = [8.0, 2.0, 1.2]
serves = [ { role = "on-axis", boxes = ["M1"] } ]
)plan";

TEST(PlanEdit, ChangesOneFigureAndNothingElse) {
    const auto text = with_value(commented_plan, PlanTable::box, "M1", "pan_deg", "-7.50");
    ASSERT_TRUE(text.has_value());
    std::string expected{commented_plan};
    expected.replace(expected.find("-8.0      #"), 4, "-7.50");
    EXPECT_EQ(*text, expected);
}

TEST(PlanEdit, AddsAKeyWhereItsTableEnds) {
    const auto text = with_value(commented_plan, PlanTable::box, "M#2", "tilt_deg", "-3.00");
    ASSERT_TRUE(text.has_value());
    EXPECT_NE(text->find("at = [0.0, -3.0, 4.0]\ntilt_deg = -3.00\n"), std::string::npos);
    EXPECT_FALSE(with_value(commented_plan, PlanTable::box, "M3", "pan_deg", "0").has_value());
    EXPECT_FALSE(with_value(commented_plan, PlanTable::position, "M1", "at", "0").has_value());
    EXPECT_EQ(with_value("[[box]]\nid = \"M1\"\nat = [ # three\n0, 1, 2]\nx = 1\n", PlanTable::box, "M1", "at", "[1, 2, 3]"), "[[box]]\nid = \"M1\"\nat = [1, 2, 3]\nx = 1\n");
}

TEST(PlanEdit, DraftGoesBackAndForth) {
    Draft draft{std::string{commented_plan}, ""};
    ASSERT_EQ(draft.plan().boxes.size(), 2U);
    ASSERT_TRUE(draft.set(PlanTable::box, "M1", "tilt_deg", -11.0, 2).has_value());
    ASSERT_TRUE(draft.set_place(PlanTable::position, "p1", {9.0, 2.5, 1.2}).has_value());
    EXPECT_DOUBLE_EQ(draft.plan().box("M1")->tilt_deg, -11.0);
    EXPECT_DOUBLE_EQ(draft.plan().position("p1")->at.y, 2.5);
    EXPECT_TRUE(draft.changed());
    draft.undo();
    draft.undo();
    EXPECT_FALSE(draft.can_undo());
    EXPECT_EQ(draft.text(), commented_plan);
    EXPECT_FALSE(draft.changed());
    draft.redo();
    EXPECT_DOUBLE_EQ(draft.plan().box("M1")->tilt_deg, -11.0);
    EXPECT_DOUBLE_EQ(draft.plan().position("p1")->at.y, 2.0);
    // What makes no sound plan is refused and nothing changes.
    const std::string before = draft.text();
    EXPECT_FALSE(draft.set_place(PlanTable::position, "p1", {90000.0, 0.0, 1.2}).has_value());
    EXPECT_EQ(draft.text(), before);
    EXPECT_TRUE(draft.can_redo());
}

constexpr std::string_view paired_plan = R"plan(format = "proofwalk.plan/1"
name = "Pair Room (invented)"

[[area]]
id = "floor"
near = [3.0, 0.0, 1.2]
far = [12.0, 0.0, 1.2]
near_width_m = 10.0
far_width_m = 10.0

[[model]]
id = "wide"
coverage_h_deg = 90.0
coverage_v_deg = 60.0
aim_band_hz = [2000.0, 8000.0]
range_hz = [60.0, 18000.0]

# the left one
[[box]]
id = "M1"
model = "wide"
at = [0.0, 3.0, 4.0]
output = 1

[[box]]
id = "M2"
model = "wide"
at = [0.0, -3.0, 4.0]

[[box]]
id = "M3"
model = "wide"
at = [0.0, -6.0, 4.0]

[[array]]  # all three
id = "row"
kind = "uncoupled"
boxes = ["M1", "M2", "M3"]  # from the left

[[array]]
id = "two"
kind = "delay"
boxes = ["M1", "M3"]

[[position]]
id = "p1"  # the middle
at = [8.0, 0.0, 1.2]
serves = [
  { role = "on-axis", boxes = ["M2"] },  # first
  # a note between
  { role = "crossover", boxes = ["M1", "M2"] },  # second
  { role = "left-edge", boxes = ["M1"] },
]

[[position]]
id = "p2"
at = [8.0, 3.0, 1.2]
serves = [ { role = "on-axis", boxes = ["M1"] }, { role = "right-edge", boxes = ["M3"] } ]
)plan";

Draft pair() { return Draft{std::string{paired_plan}, ""}; }

TEST(PlanEdit, RemovedBoxLeavesArraysAndRoles) {
    Draft draft = pair();
    ASSERT_EQ(draft.plan().boxes.size(), 3U);
    const auto done = draft.remove(PlanTable::box, "M1");
    ASSERT_TRUE(done.has_value()) << (done ? "" : sentence(done.error().front()));
    EXPECT_EQ(draft.plan().box("M1"), nullptr);
    ASSERT_EQ(draft.plan().arrays.size(), 1U);
    EXPECT_EQ(draft.plan().arrays.front().boxes, (std::vector<std::string>{"M2", "M3"}));
    ASSERT_EQ(draft.plan().position("p1")->serves.size(), 1U);
    ASSERT_EQ(draft.plan().position("p2")->serves.size(), 1U);
    EXPECT_EQ(draft.plan().position("p2")->serves.front().role, plan::Role::right_edge);
    for (const char* gone : {"the left one", "# second", "M1"}) EXPECT_EQ(draft.text().find(gone), std::string::npos) << gone;
    for (const char* stays : {"# all three", "# from the left", "# the middle", "# first", "# a note between"}) EXPECT_NE(draft.text().find(stays), std::string::npos) << stays;
    draft.undo();
    EXPECT_EQ(draft.text(), paired_plan);
}

TEST(PlanEdit, EveryBoxAndPositionCanGoAndComeBack) {
    Draft draft = pair();
    for (const char* id : {"M1", "M2"}) ASSERT_TRUE(draft.remove(PlanTable::box, id).has_value()) << id;
    for (const char* id : {"p1", "p2"}) ASSERT_TRUE(draft.remove(PlanTable::position, id).has_value()) << id;
    EXPECT_FALSE(draft.remove(PlanTable::box, "M3").has_value()) << "a plan has a box";
    ASSERT_EQ(draft.plan().boxes.size(), 1U);
    EXPECT_TRUE(draft.plan().arrays.empty());
    EXPECT_TRUE(draft.plan().positions.empty());
    const auto box = draft.add_box("wide", {0.0, 1.0, 4.0}, -10.0);
    ASSERT_TRUE(box.has_value()) << (box ? "" : sentence(box.error().front()));
    const auto position = draft.add_position({7.0, 1.0, 1.2});
    ASSERT_TRUE(position.has_value());
    ASSERT_TRUE(draft.add_serve(*position, {plan::Role::on_axis, {*box}}).has_value());
    EXPECT_NE(draft.plan().serving(plan::Role::on_axis, *box), nullptr);
    for (int i = 0; i < 8; ++i) draft.undo();
    EXPECT_EQ(draft.text(), paired_plan);
}

TEST(PlanEdit, CopyKeepsWhatTheFirstHasButItsOutput) {
    Draft draft = pair();
    const auto copy = draft.copy(PlanTable::box, "M1");
    ASSERT_TRUE(copy.has_value()) << (copy ? "" : sentence(copy.error().front()));
    EXPECT_EQ(*copy, "M4");
    const plan::Box* box = draft.plan().box("M4");
    ASSERT_NE(box, nullptr);
    EXPECT_EQ(box->circuit, "M4");
    EXPECT_FALSE(box->output.has_value());
    EXPECT_DOUBLE_EQ(box->at.y, 4.0);
    EXPECT_EQ(draft.plan().boxes.at(1).id, "M4") << "beside the first";
    const auto place = draft.copy(PlanTable::position, "p1");
    ASSERT_TRUE(place.has_value());
    EXPECT_EQ(draft.plan().position(*place)->serves.size(), 3U);
}

TEST(PlanEdit, NewNameReachesEveryList) {
    Draft draft = pair();
    ASSERT_TRUE(draft.rename(PlanTable::box, "M1", "house left").has_value());
    EXPECT_EQ(draft.plan().box("M1"), nullptr);
    EXPECT_EQ(draft.plan().arrays.front().boxes.front(), "house left");
    EXPECT_NE(draft.plan().crossover_of("house left", "M2"), nullptr);
    EXPECT_EQ(draft.plan().box("house left")->circuit, "house left");
    ASSERT_TRUE(draft.rename(PlanTable::position, "p1", "q\"1\"").has_value() || draft.plan().position("p1") != nullptr);
    const std::string before = draft.text();
    for (const char* bad : {"M2", "", "a+b"}) {
        EXPECT_FALSE(draft.rename(PlanTable::box, "house left", bad).has_value()) << bad;
        EXPECT_EQ(draft.text(), before) << "a refused name changes nothing";
    }
}

TEST(PlanEdit, RolesComeAndGo) {
    Draft draft = pair();
    ASSERT_TRUE(draft.add_serve("p1", {plan::Role::top_edge, {"M2"}}).has_value());
    ASSERT_TRUE(draft.add_serve("p2", {plan::Role::bottom_edge, {"M1"}}).has_value());
    EXPECT_EQ(draft.plan().position("p1")->serves.size(), 4U);
    EXPECT_EQ(draft.plan().position("p2")->serves.size(), 3U);
    ASSERT_TRUE(draft.remove_serve("p1", 1).has_value());
    EXPECT_EQ(draft.plan().crossover_of("M1", "M2"), nullptr);
    for (std::size_t left = 3; left > 0; --left) ASSERT_TRUE(draft.remove_serve("p2", left - 1).has_value());
    EXPECT_TRUE(draft.plan().position("p2")->serves.empty());
    ASSERT_TRUE(draft.add_serve("p2", {plan::Role::on_axis, {"M3"}}).has_value());
    EXPECT_EQ(draft.plan().position("p2")->serves.size(), 1U);
    EXPECT_FALSE(draft.add_serve("p2", {plan::Role::on_axis, {"nobody"}}).has_value());
}

TEST(PlanEdit, SeveralFiguresAreOneStepBack) {
    Draft draft = pair();
    ASSERT_TRUE(draft.set_figures({{"M1", "tilt_deg", -9.5}, {"M2", "y", -2.5}, {"M2", "z", 5.0}, {"M2", "delay_ms", 3.25}}).has_value());
    EXPECT_DOUBLE_EQ(draft.plan().box("M1")->tilt_deg, -9.5);
    EXPECT_DOUBLE_EQ(draft.plan().box("M2")->at.y, -2.5);
    EXPECT_DOUBLE_EQ(draft.plan().box("M2")->at.z, 5.0);
    draft.undo();
    EXPECT_EQ(draft.text(), paired_plan);
    EXPECT_FALSE(draft.set_figures({{"M1", "tilt_deg", -9.5}, {"nobody", "y", 1.0}}).has_value());
    EXPECT_EQ(draft.text(), paired_plan);
}

TEST(PlanEdit, PositionsInsteadOfOthers) {
    Draft draft = pair();
    std::vector<plan::Position> positions = {*draft.plan().position("p1"), {"p7", {6.0, 1.0, 1.2}, {}, {{plan::Role::on_axis, {"M3"}}}}};
    ASSERT_TRUE(draft.set_positions(positions).has_value());
    ASSERT_EQ(draft.plan().positions.size(), 2U);
    EXPECT_EQ(draft.plan().positions.at(1).id, "p7");
    EXPECT_NE(draft.text().find("# a note between"), std::string::npos) << "what stays keeps its lines";
}

TEST(PlanEdit, WordsAndSwitches) {
    Draft draft = pair();
    ASSERT_TRUE(draft.set_word(PlanTable::box, "M2", "circuit", "M1").has_value());
    EXPECT_EQ(draft.plan().boxes_of("M1").size(), 2U);
    ASSERT_TRUE(draft.set_switch(PlanTable::box, "M2", "inverted", true).has_value());
    EXPECT_TRUE(draft.plan().box("M2")->inverted);
    ASSERT_TRUE(draft.clear(PlanTable::box, "M2", "circuit").has_value());
    EXPECT_EQ(draft.plan().box("M2")->circuit, "M2");
    EXPECT_FALSE(draft.set_word(PlanTable::box, "M2", "model", "none such").has_value());
    const auto array = draft.add_array(plan::ArrayKind::coupled, "M2", "M3");
    ASSERT_TRUE(array.has_value());
    EXPECT_EQ(draft.plan().arrays.back().boxes.size(), 2U);
}

// Whatever is asked in whatever order: the plan stays sound, and undo brings back the first text.
TEST(PlanEdit, AnyRunOfEditsStaysSoundAndGoesBack) {
    std::mt19937 random{7};
    const auto any = [&](std::size_t below) { return std::uniform_int_distribution<std::size_t>{0, below - 1}(random); };
    for (int run = 0; run < 40; ++run) {
        Draft draft = pair();
        for (int edit = 0; edit < 20; ++edit) {
            const plan::Plan plan = draft.plan();
            const std::string box = plan.boxes.empty() ? "M1" : plan.boxes[any(plan.boxes.size())].id;
            const std::string position = plan.positions.empty() ? "p1" : plan.positions[any(plan.positions.size())].id;
            switch (any(8)) {
                case 0: static_cast<void>(draft.add_box("wide", {0.1 * edit, 1.0, 4.0}, -5.0)); break;
                case 1: static_cast<void>(draft.add_position({6.0, 0.1 * edit, 1.2})); break;
                case 2: static_cast<void>(draft.copy(PlanTable::box, box)); break;
                case 3: static_cast<void>(draft.copy(PlanTable::position, position)); break;
                case 4: static_cast<void>(draft.remove(PlanTable::box, box)); break;
                case 5: static_cast<void>(draft.remove(PlanTable::position, position)); break;
                case 6: static_cast<void>(draft.add_serve(position, {plan::Role::left_edge, {box}})); break;
                case 7: static_cast<void>(draft.rename(PlanTable::box, box, "N" + std::to_string(edit))); break;
            }
            ASSERT_TRUE(plan::read(draft.text(), "draft", "").has_value()) << draft.text();
        }
        while (draft.can_undo()) draft.undo();
        EXPECT_EQ(draft.text(), paired_plan);
    }
}

}  // namespace
}  // namespace proofwalk::app
