// The gear is proven from the window: loopback, mic match and calibrator, with the keyboard and with the pointer.
#include <GLFW/glfw3.h>

#include "shows.hpp"
#include "table.hpp"

namespace proofwalk::app {
namespace {

class Proof : public ::testing::Test {
protected:
    void SetUp() override {
        begin_rehearsal(table, place);
        table.app().state().sheet = Sheet::gear;
        table.settle();
    }
    [[nodiscard]] const Desk::Proof& proof() const {
        EXPECT_TRUE(table.app().desk().proof().has_value());
        static const Desk::Proof none;
        return table.app().desk().proof() ? *table.app().desk().proof() : none;
    }
    [[nodiscard]] const std::vector<log::GearRecord>& gear() const { return table.app().desk().records()->gear; }

    Place place;
    mutable Table table;
};

TEST_F(Proof, MicsAreMatchedByPointer) {
    table.press("match");
    ASSERT_EQ(table.app().state().slip, Slip::prove);
    EXPECT_FALSE(table.app().state().gear_take.circuit.empty());
    EXPECT_FALSE(table.app().state().gear_take.position.empty());
    while (table.app().state().gear_take.mics > 3) table.press("proof-mics:less");
    table.check_drawing();
    table.press("slip-yes");
    ASSERT_EQ(proof().checks.size(), 6U) << proof().says;  // level and polarity of each
    for (const auto& check : proof().checks) {
        EXPECT_TRUE(check.check == "mic-match" || check.check == "mic-polarity") << check.check;
        EXPECT_TRUE(check.check != "mic-match" || check.value.has_value()) << check.says;
    }
    EXPECT_EQ(table.app().state().slip, Slip::prove) << "the result stands where it was asked";
    table.check_drawing();
    EXPECT_TRUE(std::ranges::any_of(gear(), [](const auto& record) { return record.check == "mic-match" && record.subject == "m3" && record.origin.who == "R. Walker"; }));
    table.key(GLFW_KEY_ESCAPE);
    EXPECT_EQ(table.app().state().slip, Slip::none);
}

TEST_F(Proof, AMicIsCalibratedByKeyboard) {
    table.app().ui().focus("calibrator");
    table.key(GLFW_KEY_ENTER);
    ASSERT_EQ(table.app().state().slip, Slip::prove);
    ASSERT_EQ(table.app().ui().focused(), "proof-mic");
    table.key(GLFW_KEY_UP);
    table.key(GLFW_KEY_TAB);
    table.key(GLFW_KEY_RIGHT);  // 114 dB
    table.app().ui().focus("slip-yes");
    table.key(GLFW_KEY_ENTER);
    ASSERT_EQ(proof().checks.size(), 1U) << proof().says;
    EXPECT_EQ(proof().checks.front().check, "sensitivity");
    EXPECT_EQ(proof().checks.front().subject, "m2");
    EXPECT_EQ(proof().checks.front().verdict, verify::Verdict::pass);
    // The same mic with the other level gives the same sensitivity: no drift.
    table.press("proof-level:94 dB");
    table.press("slip-yes");
    ASSERT_EQ(proof().checks.size(), 1U);
    EXPECT_NE(proof().checks.front().says.find("drifted"), std::string::npos) << proof().checks.front().says;
    EXPECT_NEAR(proof().checks.front().value.value_or(9.0), 0.0, 0.02);
}

TEST_F(Proof, TheLoopbackIsProvenTwiceForItsLatency) {
    table.press("loopback");
    table.press("slip-yes");
    ASSERT_EQ(proof().checks.size(), 4U) << proof().says;
    EXPECT_EQ(proof().checks.back().verdict, verify::Verdict::open) << "one take can't show that it is stable";
    std::this_thread::sleep_for(std::chrono::milliseconds(1100));  // the simulated hiss is another with the next second's name
    table.press("slip-yes");
    EXPECT_EQ(proof().checks.back().verdict, verify::Verdict::pass) << proof().checks.back().says;
}

TEST_F(Proof, NothingIsTakenWithoutAName) {
    table.app().state().settings.who.clear();
    table.press("loopback");
    ASSERT_EQ(table.app().ui().focused(), "proof-who");
    EXPECT_FALSE(table.app().ui().places().contains("slip-yes")) << "it can't be pressed";
}

TEST_F(Proof, AFaultIsSaidOnTheSlip) {
    table.app().desk().prove({.kind = signal::TakeKind::match, .circuit = "nowhere", .position = ""}, table.app().state().settings);
    table.settle();
    EXPECT_TRUE(proof().checks.empty());
    EXPECT_NE(proof().says.find("no circuit is called \"nowhere\""), std::string::npos) << proof().says;
}

TEST_F(Proof, EscapeStopsTheTake) {
    table.app().state().settings.length_s = 30.0;
    table.press("loopback");
    const auto yes = table.app().ui().places().find("slip-yes")->second.centre();
    table.input().pointer(yes);
    table.input().button(0, true);
    table.input().button(0, false);
    while (!table.input().empty() || !table.app().desk().running()) table.frame();
    table.input().key(GLFW_KEY_ESCAPE, 0, true, false);
    table.input().key(GLFW_KEY_ESCAPE, 0, false, false);
    table.settle();
    ASSERT_EQ(table.app().state().slip, Slip::prove);
    EXPECT_TRUE(proof().checks.empty()) << "a take that was stopped proves nothing";
    EXPECT_TRUE(gear().empty());
}

}  // namespace
}  // namespace proofwalk::app
