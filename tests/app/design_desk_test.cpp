// The design desk by hand: what a person presses and types, on the sheet itself, without a window.
#include <GLFW/glfw3.h>

#include "shows.hpp"
#include "table.hpp"

namespace proofwalk::app {
namespace {

// The small room's plan as an unwalked show on the desk.
std::shared_ptr<const Records> small_records(const Place& place) {
    const auto plan = place.small_plan();
    auto show = walk::open_show(plan, place / "small.db");
    EXPECT_TRUE(show.has_value());
    auto records = gather(*show, {}, walk::rounds_in_plan_order(show->plan.plan, 8));
    EXPECT_TRUE(records.has_value());
    return std::make_shared<const Records>(std::move(*records));
}

class DesignDesk : public testing::Test {
protected:
    DesignDesk() {
        table.app().desk().show(small_records(place));
        table.app().state().sheet = Sheet::design;
        table.settle();
    }
    Draft& draft() { return *table.app().state().draft; }
    State& state() { return table.app().state(); }
    void type(const std::string& id, const std::string& text) {
        table.press(id);
        table.key(GLFW_KEY_A, modifier_control);
        for (const char c : text) {
            const int key = c == ' ' ? GLFW_KEY_SPACE : std::toupper(static_cast<unsigned char>(c));
            table.input().key(key, 0, true, false);
            table.input().character(static_cast<unsigned>(c));
            table.input().key(key, 0, false, false);
        }
        table.settle();
    }
    void expect_no_fault() {
        for (const auto& notice : table.app().desk().notices()) EXPECT_FALSE(notice.fault) << notice.text;
    }

    Place place;
    Table table;
};

TEST_F(DesignDesk, BoxesAreAddedCopiedNamedAndTakenOut) {
    const std::string first = draft().text();
    const std::size_t boxes = draft().plan().boxes.size();
    table.press("add-box");
    ASSERT_EQ(draft().plan().boxes.size(), boxes + 1);
    const std::string added = state().box;
    ASSERT_NE(draft().plan().box(added), nullptr);
    table.press("design-y:more");
    type("design-id", "SIDE");
    table.key(GLFW_KEY_ENTER);
    ASSERT_NE(draft().plan().box("SIDE"), nullptr);
    EXPECT_EQ(state().box, "SIDE");
    EXPECT_EQ(draft().plan().box(added), nullptr);
    type("design-patch", "out 9 > amp C1");
    table.key(GLFW_KEY_ENTER);
    EXPECT_EQ(draft().plan().box("SIDE")->patch, "out 9 > amp C1");
    table.press("design-inverted");
    EXPECT_TRUE(draft().plan().box("SIDE")->inverted);
    table.press("design-model:fill");
    EXPECT_EQ(draft().plan().box("SIDE")->model, "fill");
    table.key(GLFW_KEY_ESCAPE);
    table.key(GLFW_KEY_D, modifier_control);
    EXPECT_EQ(draft().plan().boxes.size(), boxes + 2);
    table.key(GLFW_KEY_DELETE);
    table.press("remove");
    expect_no_fault();
    EXPECT_LE(draft().plan().boxes.size(), boxes);
    while (draft().can_undo()) table.key(GLFW_KEY_Z, modifier_control);
    EXPECT_EQ(draft().text(), first) << "every step goes back";
}

TEST_F(DesignDesk, ANameThatIsTakenIsRefusedWithItsReason) {
    state().box = "CA";
    table.settle();
    type("design-id", "CB");
    table.key(GLFW_KEY_ENTER);
    EXPECT_NE(draft().plan().box("CA"), nullptr);
    ASSERT_FALSE(table.app().desk().notices().empty());
    EXPECT_TRUE(table.app().desk().notices().front().fault);
    EXPECT_FALSE(draft().changed());
}

TEST_F(DesignDesk, PositionsGetTheirRolesByTicks) {
    state().box = "CA";
    table.press("add-position");
    const std::string id = state().position;
    ASSERT_NE(draft().plan().position(id), nullptr);
    EXPECT_TRUE(draft().plan().position(id)->serves.empty());
    table.press("role-0");
    table.press("role-2");
    ASSERT_EQ(draft().plan().position(id)->serves.size(), 2U);
    EXPECT_EQ(draft().plan().position(id)->serves.front().role, plan::Role::on_axis);
    EXPECT_EQ(draft().plan().position(id)->serves.front().boxes, (std::vector<std::string>{"CA"}));
    table.press("role-0");
    EXPECT_EQ(draft().plan().position(id)->serves.size(), 1U);
    table.press("role-box-after");
    table.press("role-5");  // the pair's crossover
    EXPECT_EQ(draft().plan().position(id)->serves.back().role, plan::Role::crossover);
    table.press("remove");
    EXPECT_EQ(draft().plan().position(id), nullptr);
    expect_no_fault();
}

TEST_F(DesignDesk, AnEstimateIsTakenOverInOneStep) {
    state().box = "CA";
    table.settle();
    const double before = draft().plan().box("CA")->tilt_deg;
    table.key(GLFW_KEY_A);
    ASSERT_EQ(state().slip, Slip::estimate);
    for (const char* question : {"horizontal aim", "splay", "spacing", "delay", "vertical aim"}) {
        table.press(std::string{"estimate-question:"} + question);
        table.check_drawing();
        EXPECT_GT(table.corners(), 200) << question;
    }
    table.press("take-over");
    EXPECT_EQ(state().slip, Slip::none);
    EXPECT_NE(draft().plan().box("CA")->tilt_deg, before);
    table.key(GLFW_KEY_Z, modifier_control);
    EXPECT_EQ(draft().plan().box("CA")->tilt_deg, before);
    EXPECT_FALSE(draft().changed());
    expect_no_fault();
}

TEST_F(DesignDesk, MicsArePlacedInOneStep) {
    const std::string first = draft().text();
    table.key(GLFW_KEY_M);
    ASSERT_EQ(state().slip, Slip::place_mics);
    table.press("place-anew");
    EXPECT_TRUE(draft().changed());
    EXPECT_FALSE(draft().plan().positions.empty());
    EXPECT_NE(draft().plan().serving(plan::Role::on_axis, "CA"), nullptr);
    table.key(GLFW_KEY_Z, modifier_control);
    EXPECT_EQ(draft().text(), first);
}

TEST(EmptyDesk, APlanWithoutAnythingGrowsItsFirstBox) {
    Table table;
    auto records = std::make_shared<Records>(made_up(0, "", "From nothing (invented)"));
    table.app().desk().show(records);
    table.app().state().sheet = Sheet::design;
    table.settle();
    table.press("add-box");
    Draft& draft = *table.app().state().draft;
    ASSERT_EQ(draft.plan().boxes.size(), 1U) << draft.text();
    table.press("add-position");
    ASSERT_EQ(draft.plan().positions.size(), 1U);
    table.press("role-0");
    EXPECT_NE(draft.plan().serving(plan::Role::on_axis, draft.plan().boxes.front().id), nullptr);
    for (const Slip slip : {Slip::estimate, Slip::place_mics}) {
        table.app().state().slip = slip;
        table.app().state().slip_is_new = true;
        table.settle();
        table.check_drawing();
        table.key(GLFW_KEY_ESCAPE);
    }
}

}  // namespace
}  // namespace proofwalk::app
