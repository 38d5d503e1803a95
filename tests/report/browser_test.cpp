#include "browser.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <regex>

#include "plan/sheets.hpp"
#include "report/desk.hpp"
#include "report/room_drawing.hpp"
#include "walked_show.hpp"

namespace proofwalk::report {
namespace {

using report_test::Browser;
using report_test::installed;
using report_test::with_probe;
using ::testing::HasSubstr;

class InBrowser : public ::testing::Test {
protected:
    void SetUp() override {
        if (!installed("chromium")) GTEST_SKIP() << "chromium is not installed: the page is not opened in a browser";
        browser = std::make_unique<Browser>();
    }
    std::unique_ptr<Browser> browser;
};

std::string crew_page() {
    const plan::Plan plan = demo_plan().plan;
    return crew_sheets_html(plan.name,
                            {plan::rigging_sheet(plan, LengthUnit::metres), plan::mic_sheet(plan, LengthUnit::metres, plan::stage_corners(plan)),
                             plan::patch_sheet(plan)},
                            plan_svg(plan), "proofwalk");
}

// Widest content against the window, and what sticks out first.
constexpr const char* measure_width = R"(
let out = "";
for (const e of document.querySelectorAll("main *")) if (!e.closest("svg") && e.getBoundingClientRect().right > innerWidth + 0.5) { out = e.tagName + " " + e.className + " " + e.textContent.slice(0, 40); break; }
parent.postMessage("width " + document.documentElement.scrollWidth + " of " + innerWidth + ", out: " + out + ".", "*");
)";

TEST_F(InBrowser, ConsoleErrorsAreSeenAtAll) {
    const auto opened = browser->open("<!DOCTYPE html><title>x</title><script>console.error('broken')</script>", 800, 600);
    ASSERT_TRUE(opened.ran);
    EXPECT_THAT(opened.console, HasSubstr("broken"));
}

TEST_F(InBrowser, PagesFitAPhoneAndSayNothingOnTheConsole) {
    Show show = walked_show();
    show.tally.checks[3].says = std::string(90, 'w') + " a word that is longer than the screen is wide";
    std::vector<std::string> pages;
    for (const std::string& html : {report_html(show), report_html(show, Reader::lead), report_html(show, Reader::review), crew_page()})
        pages.push_back(with_probe(html, measure_width));
    const auto opened = browser->open_in_frames(pages, 390, 844);
    ASSERT_TRUE(opened.ran);
    EXPECT_EQ(opened.console, "");
    const std::regex told("\\[width (\\d+) of (\\d+), out: (.*?)\\.\\]");
    std::size_t answers = 0;
    for (std::sregex_iterator at(opened.dom.begin(), opened.dom.end(), told), end; at != end; ++at, ++answers) {
        EXPECT_EQ(at->str(2), "390");
        EXPECT_LE(std::stoi(at->str(1)), 390) << at->str(3);
        EXPECT_EQ(at->str(3), "");
    }
    EXPECT_EQ(answers, pages.size());
}

TEST_F(InBrowser, TheCursorReadsValuesOffTheCurves) {
    const auto opened = browser->open(with_probe(report_html(walked_show()), R"(
const svg = document.querySelector("svg[data-log]"), box = svg.getBoundingClientRect();
svg.dispatchEvent(new PointerEvent("pointermove", {clientX: box.left + box.width * 257 / 480, clientY: box.top + 20}));
document.title = svg.querySelector(".cursor-text").textContent;
)"),
                                      1280, 900);
    std::smatch found;
    ASSERT_TRUE(std::regex_search(opened.dom, found, std::regex("<title>(\\d+) Hz: planned \u2212([0-9.]+) dB measured \u2212([0-9.]+) dB</title>")));
    // The middle of the field of 20 Hz to 20 kHz, and the curves of walked_show there.
    EXPECT_NEAR(std::stod(found[1]), 632.5, 4.0);
    EXPECT_NEAR(std::stod(found[2]), 38.08, 0.1);
    const signal::Curve curve = walked_show().curves[0].measured;
    std::size_t nearest = 0;
    for (std::size_t i = 0; i < curve.hz.size(); ++i)
        if (std::abs(curve.hz[i] - 632.5) < std::abs(curve.hz[nearest] - 632.5)) nearest = i;
    EXPECT_NEAR(-std::stod(found[3]), curve.db[nearest], 0.25);
}

std::vector<std::string> pages_of(const std::string& text) {
    std::vector<std::string> pages(1);
    for (const char c : text) {
        if (c == '\f') pages.emplace_back();
        else pages.back() += c;
    }
    return pages;
}

TEST_F(InBrowser, PrintsWholeRowsUnderTheirHeads) {
    if (!installed("pdftotext")) GTEST_SKIP() << "pdftotext is not installed: the print is not read";
    const Show show = walked_show();
    for (const std::string paper : {"A4", "Letter"}) {
        std::string html = report_html(show);
        html.insert(html.find("</head>"), "<style>@page{size:" + paper + "}</style>");
        const auto pages = pages_of(browser->printed(html));
        EXPECT_THAT(browser->printed_facts(), HasSubstr("(" + std::string(paper == "A4" ? "A4" : "letter") + ")"));
        ASSERT_GT(pages.size(), show.plan.boxes.size());
        int number = 0;
        for (const auto& position : show.plan.positions) {
            const std::regex row("(^|\\n)\\s*" + std::to_string(++number) + "\\s+" + position.id + "\\s+\\S+\\s+\\S+\\s+\\S+\\s+\\w[^\\n]*");
            int found = 0;
            for (const auto& page : pages)
                if (std::regex_search(page, row)) {
                    ++found;
                    EXPECT_TRUE(std::regex_search(page, std::regex("flag\\s+position\\s+x, m"))) << position.id << " stands without its head";
                }
            EXPECT_EQ(found, 1) << position.id << " on " << paper;
        }
        // On every page the show is named and the page counted; a box's sheet begins on a page of its own.
        std::size_t count = 0;
        for (const auto& page : pages) {
            if (page.find_first_not_of(" \n") == std::string::npos) continue;
            ++count;
            EXPECT_THAT(page, HasSubstr("plan revision 2"));
            EXPECT_THAT(page, HasSubstr("page " + std::to_string(count) + " of "));
        }
        for (const auto& box : show.plan.boxes) {
            EXPECT_TRUE(std::ranges::any_of(pages, [&](const std::string& page) { return std::regex_search(page.substr(0, 600), std::regex("Box " + box.id + "\\b")); }))
                << box.id;
        }
    }
}

// Pages as they are tested, to be looked at.
TEST(Pages, AreLeftToBeLookedAt) {
    const std::filesystem::path pages = std::filesystem::path(PROOFWALK_BINARY_DIR) / "report-pages";
    for (const auto& [name, reader] : {std::pair{"lead", Reader::lead}, std::pair{"review", Reader::review}})
        EXPECT_TRUE(write_report(walked_show(), pages / name, reader));
    const auto files = write_data(walked_show(), pages / "data");
    ASSERT_TRUE(files);
    EXPECT_EQ(files->size(), 13u);
    report_test::spill(pages / "crew.html", crew_page());
}

TEST_F(InBrowser, TheLeadsReportIsOnePage) {
    if (!installed("pdftotext")) GTEST_SKIP() << "pdftotext is not installed: the print is not read";
    Show many = walked_show();
    for (auto& check : many.tally.checks)
        if (check.verdict == verify::Verdict::pass) {
            check.verdict = verify::Verdict::fail;
            check.advice = "look at it again, there is a lot to be done here before the doors open";
        }
    for (const Show& show : {walked_show(), many}) {
        browser->printed(report_html(show, Reader::lead));
        EXPECT_TRUE(std::regex_search(browser->printed_facts(), std::regex("Pages:\\s+1\\n"))) << browser->printed_facts();
    }
}

}  // namespace
}  // namespace proofwalk::report
