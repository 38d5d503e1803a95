#include <gtest/gtest.h>

#include <chrono>
#include <iostream>
#include <limits>

#include "report/data_tables.hpp"
#include "walked_show.hpp"

namespace proofwalk::report {
namespace {

// Sixty boxes on a hundred positions, each box with its curve, its checks and five readings.
Show sixty_boxes() {
    Show show = walked_show();
    const Show seed = show;
    const auto boxes = seed.plan.boxes;
    show.plan.boxes.clear();
    show.curves.clear();
    show.readings.clear();
    show.tally.checks.clear();
    show.tally.fits.clear();
    for (int n = 0; n < 60; ++n) {
        plan::Box box = boxes[static_cast<std::size_t>(n) % boxes.size()];
        const std::string original = box.id;
        box.id = "box-" + std::to_string(n + 1);
        box.circuit = box.id;
        box.at.y += 0.3 * (n / 12);
        show.plan.boxes.push_back(box);
        BoxCurves curves = invented_curves(box.id, "p" + std::to_string(n + 1), 0.02 + 0.001 * n, 0.37 * n);
        show.curves.push_back(curves);
        for (auto check : seed.tally.checks)
            if (check.subject == original || check.kind == plan::CheckKind::sounding) {
                if (check.kind == plan::CheckKind::sounding && check.subject != original) continue;
                check.subject = box.id;
                show.tally.checks.push_back(std::move(check));
            }
        for (auto fit : seed.tally.fits)
            if (fit.box == original) {
                fit.box = box.id;
                show.tally.fits.push_back(std::move(fit));
            }
        for (int mic = 1; mic <= 5; ++mic) {
            ReadingRow row = seed.readings.front();
            row.taken.take = "t" + std::to_string(n + 1);
            row.taken.circuit = box.id;
            row.taken.mic = "m" + std::to_string(mic);
            show.readings.push_back(std::move(row));
        }
    }
    for (int n = 0; n < 100; ++n) {
        plan::Position position = seed.plan.positions[static_cast<std::size_t>(n) % seed.plan.positions.size()];
        position.id = "q" + std::to_string(n + 1);
        position.at.y += 0.9 * (n / 23);
        position.serves = {{plan::Role::on_axis, {"box-" + std::to_string(n % 60 + 1)}}};
        show.plan.positions.push_back(position);
    }
    show.plan.positions.erase(show.plan.positions.begin(), show.plan.positions.begin() + static_cast<std::ptrdiff_t>(seed.plan.positions.size()));
    for (auto& array : show.plan.arrays) array.boxes = {"box-1", "box-2", "box-3"};
    return show;
}

TEST(LargeShow, FitsIntoFiveMegabytes) {
    const Show show = sixty_boxes();
    const auto begin = std::chrono::steady_clock::now();
    const std::string html = report_html(show);
    const auto took = std::chrono::steady_clock::now() - begin;
    std::cout << "60 boxes: " << static_cast<double>(html.size()) / 1e6 << " MB in "
              << std::chrono::duration<double, std::milli>(took).count() << " ms\n";
    EXPECT_LE(html.size(), 5'000'000u);
    for (const auto& box : show.plan.boxes) EXPECT_NE(html.find("<h2>Box " + box.id + "</h2>"), std::string::npos);
    EXPECT_TRUE(write_report(show, std::filesystem::path(PROOFWALK_BINARY_DIR) / "report-pages" / "large"));
}

TEST(DataTables, AreWholeAndNamed) {
    const Show show = walked_show();
    const auto tables = data_tables(show);
    ASSERT_EQ(tables.size(), 12u);
    for (const auto& table : tables)
        for (const auto& row : table.rows) ASSERT_EQ(row.size(), table.columns.size()) << table.name;
    EXPECT_EQ(tables[0].rows.size(), show.tally.checks.size());
    EXPECT_EQ(tables[1].rows.size(), show.plan.boxes.size());
    EXPECT_EQ(tables[3].rows.size(), show.readings.size());
}

TEST(DataTables, HoldNoFigureThatIsNotANumber) {
    Show show = walked_show();
    show.tally.checks[3].value = std::numeric_limits<double>::quiet_NaN();
    show.curves[0].measured.db[3] = std::numeric_limits<double>::infinity();
    for (const auto& table : data_tables(show)) {
        const std::string text = plan::csv(table);
        EXPECT_EQ(text.find(",nan"), std::string::npos) << table.name;
        EXPECT_EQ(text.find(",inf"), std::string::npos) << table.name;
    }
}

}  // namespace
}  // namespace proofwalk::report
