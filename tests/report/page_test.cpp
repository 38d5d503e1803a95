#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <limits>
#include <regex>
#include <set>
#include <sstream>

#include "report/room_drawing.hpp"
#include "report/sheets.hpp"
#include "walked_show.hpp"

namespace proofwalk::report {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

const std::filesystem::path pages = std::filesystem::path(PROOFWALK_BINARY_DIR) / "report-pages";

std::string contents(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

// Opened and closed tags of the page, without a parser's forgiveness: every element is closed where it was opened.
std::string first_misnested(const std::string& html) {
    const std::set<std::string> empty = {"meta", "link", "br", "input", "img"};
    std::vector<std::string> open;
    const std::regex tag(R"(<(/?)([a-zA-Z][a-zA-Z0-9]*)((?:[^<>"]|"[^"]*")*?)(/?)>)");
    for (std::sregex_iterator at(html.begin(), html.end(), tag), end; at != end; ++at) {
        const std::string name = (*at)[2];
        if (empty.contains(name) || (*at)[4] == "/") continue;
        if ((*at)[1] != "/") {
            open.push_back(name);
            continue;
        }
        if (open.empty() || open.back() != name) return "</" + name + "> at " + std::to_string(at->position());
        open.pop_back();
    }
    return open.empty() ? "" : "<" + open.back() + "> never closed";
}

int count_of(const std::string& text, const std::string& part) {
    int count = 0;
    for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + part.size())) ++count;
    return count;
}

TEST(Page, IsWrittenWholeAndSelfContained) {
    const Show show = walked_show();
    const auto file = write_report(show, pages / "walked");
    ASSERT_TRUE(file) << sentence(file.error());
    EXPECT_EQ(file->filename(), "index.html");
    const std::string html = contents(*file);
    EXPECT_EQ(html, report_html(show));
    EXPECT_EQ(first_misnested(html), "");
    // Nothing is fetched from anywhere.
    const std::string without_names = std::regex_replace(html, std::regex("http://www.w3.org/2000/svg|data:image/[a-z]+;base64,[A-Za-z0-9+/=]+"), "");
    for (const char* outside : {"http:", "https:", "//", "@import", "url("}) EXPECT_THAT(without_names, Not(HasSubstr(outside)));
    EXPECT_FALSE(std::filesystem::exists(pages / "walked" / "index.html.part"));
}

TEST(Page, EverySheetHasItsTitleBlock) {
    const Show show = walked_show();
    const std::string html = report_html(show);
    EXPECT_EQ(count_of(html, "<section class=\"sheet"), count_of(html, "<dl class=\"title-block\">"));
    EXPECT_GE(count_of(html, "<section class=\"sheet"), static_cast<int>(show.plan.boxes.size()) + 4);
    EXPECT_THAT(html, HasSubstr("<dt>Walked by</dt><dd>R. Amsel, T. Fink</dd>"));
    EXPECT_THAT(html, HasSubstr("revision 2, " + show.plan_sha256.substr(0, 8)));
}

TEST(Page, EveryCheckStandsOnASheet) {
    Show show = walked_show();
    verify::CheckResult stray;
    stray.kind = plan::CheckKind::splay;
    stray.subject = "nowhere+elsewhere";
    stray.says = "a check that no array names";
    show.tally.checks.push_back(stray);
    std::string bodies;
    const Notes notes(show);
    for (const auto& box : show.plan.boxes) bodies += box_sheet(show, notes, box).body;
    bodies += array_sheet(show, notes).body;
    for (const auto& check : show.tally.checks) {
        const std::string row = "<th scope=\"row\" role=\"rowheader\">" + std::string(plan::word(check.kind)) +
                                "</th><td role=\"cell\" data-label=\"subject\">" + check.subject + "</td>";
        EXPECT_THAT(bodies, HasSubstr(row));
    }
}

TEST(Page, FailsComeWithTheirNumberAndWhatToDo) {
    const std::string html = report_html(walked_show());
    EXPECT_THAT(html, HasSubstr("<p class=\"do\">Tilt up 4.1\u00b0, then take again</p>"));
    EXPECT_LT(html.find("What failed and what to do"), html.find("Measured, but not settled"));
    EXPECT_THAT(html, HasSubstr("Skipped by R. Amsel: seats are closed"));
    EXPECT_THAT(html, HasSubstr("A skip is never a pass."));
}

TEST(Page, NamesCannotBreakOutOfTheirPlace) {
    Show show = walked_show();
    show.plan.name = "\"><script>alert(1)</script>\\";
    show.tally.checks[0].says = "<b>&'\"\x1b";
    show.walked_by = {"<img src=x>"};
    show.history = {{"now", "</section></main>", "\xff"}};
    const std::string html = report_html(show);
    EXPECT_THAT(html, Not(HasSubstr("<script>alert")));
    EXPECT_THAT(html, Not(HasSubstr("<img src=x")));
    EXPECT_EQ(first_misnested(html), "");
}

TEST(Page, ShowsNoFigureThatIsNotANumber) {
    constexpr double nan = std::numeric_limits<double>::quiet_NaN();
    Show show = walked_show();
    show.tally.checks[3].value = nan;
    show.tally.fits[0].pan_deg = nan;
    show.tally.fits[1].tilt_u_deg = std::numeric_limits<double>::infinity();
    show.curves[0].measured.db[10] = nan;
    show.curves[0].impulse_db[10] = -std::numeric_limits<double>::infinity();
    show.curves[1].arrival_s = nan;
    show.readings[0].taken.reading.arrival_s = Measured{nan, nan};
    const std::string html = report_html(show);
    EXPECT_FALSE(std::regex_search(html, std::regex(R"([\s">(-](nan|inf)[\s"<,)])")));
}

TEST(Page, StandsWithoutAnyTake) {
    Show show;
    show.plan = demo_plan().plan;
    for (const auto& planned : plan::checks(show.plan)) {
        verify::CheckResult check;
        check.kind = planned.kind;
        check.subject = planned.subject;
        check.says = "no take yet";
        show.tally.checks.push_back(check);
    }
    const std::string html = report_html(show);
    EXPECT_EQ(first_misnested(html), "");
    EXPECT_THAT(html, HasSubstr("No usable on-axis take of this box yet"));
    EXPECT_THAT(html, HasSubstr("Nobody has signed this tally yet."));
}

TEST(Page, AFolderThatCannotBeWrittenIsAFault) {
    const auto file = write_report(Show{}, "/proc/nowhere");
    ASSERT_FALSE(file);
    EXPECT_THAT(sentence(file.error()), HasSubstr("/proc/nowhere"));
}

TEST(Page, WhatWasNotedStandsWithItsBoxAndInTheReview) {
    const Show show = walked_show();
    const std::string html = report_html(show);
    const std::string& box = show.plan.boxes[1].id;
    const std::size_t sheet = html.find("<h2>Box " + box);
    ASSERT_NE(sheet, std::string::npos);
    const std::string of_box = html.substr(sheet, html.find("</section>", sheet) - sheet);
    EXPECT_THAT(of_box, HasSubstr("Went silent for ten seconds"));
    EXPECT_THAT(of_box, HasSubstr("alt=\"Photo of box " + box + ": shackle.png\""));
    EXPECT_THAT(of_box, Not(HasSubstr("seat plan.pdf")));
    EXPECT_THAT(html, HasSubstr("seat plan.pdf"));
    EXPECT_THAT(html, HasSubstr("the whole plan, plan revision 1, takes up to t08"));
    EXPECT_THAT(html, HasSubstr("2026-05-02 16:10")) << "when the evidence of a check was taken";
    const std::string review = report_html(show, Reader::review);
    EXPECT_THAT(review, HasSubstr("Went silent for ten seconds"));
    EXPECT_THAT(review, HasSubstr("planned 31 min, took 39 min"));
    for (const char* figure : {"mics carried", ">96<", ">131<", ">128<"}) EXPECT_THAT(review, HasSubstr(figure));
    EXPECT_THAT(review, HasSubstr("17.2"));
}

TEST(Page, SaysThatARehearsalIsOne) {
    Show show = walked_show();
    show.rehearsed = true;
    const std::string html = report_html(show);
    EXPECT_THAT(html, HasSubstr("no real rig was measured"));
    EXPECT_EQ(count_of(html, "(rehearsal)</dd>"), count_of(html, "<section class=\"sheet"));
}

TEST(PlanDrawing, StandsByItself) {
    const std::string svg = plan_svg(demo_plan().plan);
    std::filesystem::create_directories(pages);
    std::ofstream(pages / "plan.svg") << svg;
    EXPECT_EQ(first_misnested(svg), "");
    EXPECT_THAT(svg, HasSubstr("<style>"));
    EXPECT_THAT(svg, Not(HasSubstr("axis-fitted\" d")));
    EXPECT_THAT(svg, HasSubstr("class=\"axis-planned\" d"));
}

}  // namespace
}  // namespace proofwalk::report
