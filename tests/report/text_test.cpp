#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <limits>
#include <sstream>

#include "example_show.hpp"
#include "report/text_table.hpp"

namespace proofwalk::report {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    std::istringstream stream(text);
    for (std::string line; std::getline(stream, line);) lines.push_back(line);
    return lines;
}

TEST(TallyText, SaysFirstWhatToActOn) {
    EXPECT_EQ(tally_text(example_tally(), {}),
              "Example Hall, plan revision 2, ba7816bf\n"
              "\n"
              "  ◆ 1 fail   ◐ 1 unsure   ○ 2 open   ⊘ 1 skipped   ● 2 pass\n"
              "\n"
              "What failed and what to do\n"
              "          check  subject  deviation   limit  what was found\n"
              "  ◆ fail  aim-v  M1       −4.1 ±1.2°  ±2.0°  aimed 4.1° below the plan\n"
              "                                             > Tilt up 4.1°, then take again\n"
              "\n"
              "Measured, but not settled\n"
              "            check  subject  deviation     limit    what was found\n"
              "  ◐ unsure  level  M1       +1.3 ±0.4 dB  ±1.5 dB  1.3 dB louder than M2, too near the limit to\n"
              "                                                   settle\n"
              "                                                   > Take p1 again with a longer sweep\n"
              "\n"
              "Open\n"
              "          check  subjects  reason\n"
              "  ○ open  aim-h  M2, FF    no take yet\n"
              "\n"
              "Skipped on purpose, not passed\n"
              "             check      subject  deviation  what was found\n"
              "  ⊘ skipped  alignment  M1+FF    –          skipped by R. Amsel: seats are closed\n"
              "\n"
              "Passed\n"
              "          check     subject  deviation  limit  what was found\n"
              "  ● pass  sounding  M1       41 dB             sounds 41 dB above the noise\n"
              "  ● pass  polarity  M1       +1         +1     polarity as planned\n"
              "\n"
              "Where the boxes stand and point by the sound (one standard uncertainty)\n"
              "  box         pan         tilt  gain             x             y  z\n"
              "  M1   −7.6 ±0.8°  −16.1 ±0.6°     –  0.02 ±0.05 m  6.01 ±0.06 m  –\n");
}

TEST(TallyText, ColourComesOnlyWhenAskedAndNeverAlone) {
    const verify::Tally tally = example_tally();
    EXPECT_THAT(tally_text(tally, {}), Not(HasSubstr("\x1b")));
    const std::string coloured_text = tally_text(tally, {true, 100});
    EXPECT_THAT(coloured_text, HasSubstr("\x1b[1;38;5;166m◆ fail\x1b[0m"));
    // Without its colour codes it is the same text: nothing is said by colour alone.
    std::string stripped;
    for (std::size_t i = 0; i < coloured_text.size(); ++i) {
        if (coloured_text[i] == '\x1b') i = coloured_text.find('m', i);
        else stripped += coloured_text[i];
    }
    EXPECT_EQ(stripped, tally_text(tally, {}));
}

TEST(TallyText, FitsItsColumnsWhateverTheNames) {
    verify::Tally tally = example_tally();
    tally.plan_name = std::string(300, 'n');
    for (auto& check : tally.checks) {
        check.subject = "left-hang-of-the-main-array-box-01+left-hang-of-the-main-array-box-02";
        check.says = std::string(150, 'x') + " and then words, words and more words of what was found there";
    }
    tally.fits[0].outliers = {"balcony-front-row-left", "balcony-front-row-right", "balcony-last-row-middle"};
    for (const int columns : {100, 80, 72})
        for (const std::string& line : lines_of(tally_text(tally, {false, columns})))
            EXPECT_LE(columns_of(line), columns) << line;
}

TEST(TallyText, ChecksThatWaitForTheSameStandTogether) {
    verify::Tally tally;
    for (const auto kind : {plan::CheckKind::polarity, plan::CheckKind::level, plan::CheckKind::arrival}) {
        verify::CheckResult check;
        check.kind = kind;
        check.subject = "FF1";
        check.verdict = verify::Verdict::unsure;
        check.says = "patch first: FF2 sounds instead";
        tally.checks.push_back(check);
    }
    const std::string text = tally_text(tally, {});
    EXPECT_THAT(text, HasSubstr("the same for: level FF1, arrival FF1"));
    EXPECT_EQ(text.find("patch first"), text.rfind("patch first"));
}

TEST(TallyText, ShowsNoFigureThatIsNotANumber) {
    verify::Tally tally = example_tally();
    tally.checks[2].value = std::numeric_limits<double>::quiet_NaN();
    tally.checks[3].uncertainty = std::numeric_limits<double>::infinity();
    tally.fits[0].tilt_deg = std::numeric_limits<double>::quiet_NaN();
    const std::string text = tally_text(tally, {});
    EXPECT_THAT(text, Not(HasSubstr("nan")));
    EXPECT_THAT(text, Not(HasSubstr("inf")));
}

TEST(ReadingsText, AlignsFiguresOnTheirPoint) {
    ReadingRow clear;
    clear.taken = {"t01", "M1", "m1", "p1", {}};
    clear.taken.reading.arrival_s = Measured{0.0253417, 2e-5};
    clear.taken.reading.polarity = -1;
    clear.taken.reading.aim_band_db = Measured{-37.51, 0.21};
    clear.taken.reading.signal_to_noise_db = 38.4;
    ReadingRow spoilt = clear;
    spoilt.taken.mic = "m2";
    spoilt.taken.position = "p2";
    spoilt.taken.reading.arrival_s.reset();
    spoilt.taken.reading.polarity.reset();
    spoilt.taken.reading.aim_band_db = Measured{-9.512, 0.6};
    spoilt.taken.reading.flags.raise(Flag::clipped);
    spoilt.retired = true;
    EXPECT_EQ(readings_text({clear, spoilt}, {}),
              "take  circuit  mic  position  arrival, ms    pol  aim band, dB  S/N, dB  flags\n"
              "t01   M1       m1   p1        25.342 ±0.020   −1  −37.51 ±0.21       38\n"
              "t01   M1       m2   p2         –               –   −9.5 ±0.6         38  clipped, retired\n"
              "\n"
              "Each figure with one standard uncertainty.\n");
}

TEST(ReadingsText, MarksArrivalsThatCountWithinTheirTake) {
    ReadingRow row;
    row.taken = {"t01", "M1", "m1", "p1", {}};
    row.taken.reading.absolute = false;
    row.taken.reading.arrival_s = Measured{0.004, 2e-5};
    const std::string text = readings_text({row}, {});
    EXPECT_THAT(text, HasSubstr("+0.000 ±0.020"));
    EXPECT_THAT(text, HasSubstr("which has no reference"));
    EXPECT_EQ(readings_text({}, {}), "No take is logged yet.\n");
}

TEST(PlanText, ShowsWhatHangsWhatIsHeardAndWhatFollows) {
    plan::Plan plan;
    plan.name = "Example Hall";
    plan.drive_latency_ms = 1.8;
    plan::Box box;
    box.id = box.circuit = "M1";
    box.model = "wide";
    box.at = {0.0, 6.0, 4.5};
    box.pan_deg = -8.0;
    box.tilt_deg = -12.0;
    plan.boxes = {box};
    plan.positions = {{"p1", {10.0, 0.0, 1.2}, std::nullopt, {{plan::Role::on_axis, {"M1"}}}},
                      {"p2", {4.0, 0.0, 1.2}, std::nullopt, {}}};
    plan::Target target;
    target.circuit = target.box = "M1";
    target.position = "p1";
    target.bearing = {12.12, 0.2, -0.4};
    target.arrival_s = 0.0371;
    target.aim_band_db = -21.73;
    target.serves = true;
    plan::PlannedCheck check;
    check.kind = plan::CheckKind::level;
    check.subject = "M1";
    const std::string text = plan_text(plan, {target}, {check}, {});
    EXPECT_EQ(text,
              "Example Hall\n"
              "1 box on 1 circuit, 2 positions, 1 check; air 20.0 °C, 50 %, 101.3 kPa; drive latency 1.80 ms\n"
              "\n"
              "Boxes\n"
              "  box  model  circuit  x, m  y, m  z, m    pan    tilt  gain, dB  delay, ms\n"
              "  M1   wide   M1       0.00  6.00  4.50  −8.0°  −12.0°       0.0       0.00\n"
              "\n"
              "Positions\n"
              "  position   x, m  y, m  z, m  serves\n"
              "  p1        10.00  0.00  1.20  on-axis M1\n"
              "  p2         4.00  0.00  1.20  extra evidence\n"
              "\n"
              "What each position should hear of the boxes it serves\n"
              "  circuit  box  position  distance, m  left-right  up-down  arrival, ms  level, dB\n"
              "  M1       M1   p1              12.12       +0.2°    −0.4°        37.10      −21.7\n"
              "  Off-axis angles as the box sees them, + is its left and up. Level: aim band, direct, re 1 m on\n"
              "  axis at gain 0, or re the reference where the model states its level at 1 m.\n"
              "\n"
              "Checks that follow\n"
              "  check  number  subjects\n"
              "  level       1  M1\n");
    for (const std::string& line : lines_of(text)) EXPECT_LE(columns_of(line), 100) << line;
}

TEST(TextTable, KeepsWideCharactersInTheirColumns) {
    TextTable table({{"box"}, {"note", Align::left, 30, true}});
    table.add({{"Bühne"}, {"left"}});
    table.add({{"ホール"}, {"right"}});
    EXPECT_EQ(table.text({}, 0), "box     note\nBühne   left\nホール  right\n");
}

}  // namespace
}  // namespace proofwalk::report
