// Speed of sound and absorption of air against values from outside (air_values.csv names the source of each row).
#include "acoustics/air.hpp"

#include <cmath>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "units/bands.hpp"

namespace proofwalk::acoustics {
namespace {

struct Row {
    std::string quantity, how, source;
    Air air;
    double nominal_hz = 0.0, value = 0.0, tolerance = 0.0;
};

std::vector<Row> rows(const std::string& quantity) {
    std::ifstream file(PROOFWALK_SOURCE_DIR "/tests/acoustics/air_values.csv");
    std::vector<Row> found;
    std::string line;
    std::getline(file, line);
    while (std::getline(file, line)) {
        std::vector<std::string> cells;
        std::istringstream stream(line);
        for (std::string cell; std::getline(stream, cell, ';');) cells.push_back(cell);
        if (cells.size() != 9 || cells[0] != quantity) continue;
        found.push_back({cells[0], cells[7], cells[8],
                         {std::stod(cells[1]), std::stod(cells[2]), std::stod(cells[3])},
                         std::stod(cells[4]), std::stod(cells[5]), std::stod(cells[6])});
    }
    return found;
}

// The standard's tables hold for exact midbands; the label names the nearest of them.
double exact_midband_hz(double label_hz) { return 1000.0 * std::pow(10.0, std::round(10.0 * std::log10(label_hz / 1000.0)) / 10.0); }

TEST(SpeedOfSound, AgreesWithOutsideValues) {
    const auto all = rows("speed");
    ASSERT_GE(all.size(), 14u);
    for (const Row& row : all)
        EXPECT_NEAR(speed_of_sound(row.air).value, row.value, row.tolerance) << row.air.temperature_c << " C, " << row.source;
}

TEST(Absorption, AgreesWithOutsideValuesToTheirPrintedPrecision) {
    const auto all = rows("absorption");
    ASSERT_GE(all.size(), 75u);
    for (const Row& row : all) {
        const double computed = 1000.0 * absorption_db_per_m(row.air, exact_midband_hz(row.nominal_hz));
        EXPECT_NEAR(computed, row.value, row.tolerance) << row.air.temperature_c << " C " << row.air.humidity_pct << " % "
                                                        << row.nominal_hz << " Hz, " << row.source;
    }
}

TEST(SpeedOfSound, IsCarriedOnWithoutAStep) {
    for (const double edge_c : {0.0, 30.0})
        for (const double humidity : {0.0, 50.0, 100.0}) {
            const double below = speed_of_sound({edge_c - 1e-6, humidity, 101.325}).value;
            const double above = speed_of_sound({edge_c + 1e-6, humidity, 101.325}).value;
            EXPECT_NEAR(below, above, 1e-4) << edge_c << " C " << humidity << " %";
        }
    for (const double edge_kpa : {75.0, 102.0})
        EXPECT_NEAR(speed_of_sound({20.0, 50.0, edge_kpa - 1e-6}).value, speed_of_sound({20.0, 50.0, edge_kpa + 1e-6}).value, 1e-4);
}

TEST(SpeedOfSound, FollowsTheIsoFormOutsideItsRange) {
    // ISO 9613-1 eq. A.5 says sqrt(T); dry air keeps its ratio exactly.
    const double at_30 = speed_of_sound({30.0, 0.0, 101.325}).value;
    EXPECT_NEAR(speed_of_sound({45.0, 0.0, 101.325}).value, at_30 * std::sqrt(318.15 / 303.15), 1e-9);
    const double at_0 = speed_of_sound({0.0, 0.0, 101.325}).value;
    EXPECT_NEAR(speed_of_sound({-15.0, 0.0, 101.325}).value, at_0 * std::sqrt(258.15 / 273.15), 1e-9);
}

TEST(SpeedOfSound, ItsUncertaintyGrowsOutsideTheRange) {
    const double inside = speed_of_sound({20.0, 50.0, 101.325}).u;
    EXPECT_GT(inside, 0.0);
    EXPECT_LT(inside, 300e-6 * 345.0);
    EXPECT_GT(speed_of_sound({40.0, 50.0, 101.325}).u, 2.0 * inside);
    EXPECT_GT(speed_of_sound({-15.0, 50.0, 101.325}).u, 2.0 * inside);
    EXPECT_GT(speed_of_sound({20.0, 50.0, 60.0}).u, inside);
}

TEST(SpeedOfSound, TemperatureSensitivityIsTheSlope) {
    // dc/dT = c / 2T; the polynomial's own slope agrees within the humidity part.
    const Air air{20.0, 0.0, 101.325};
    const double slope = (speed_of_sound({20.5, 0.0, 101.325}).value - speed_of_sound({19.5, 0.0, 101.325}).value);
    EXPECT_NEAR(speed_u_from_temperature(air, 1.0), slope, 0.01);
    EXPECT_DOUBLE_EQ(speed_u_from_temperature(air, 2.0), 2.0 * speed_u_from_temperature(air, 1.0));
}

}  // namespace
}  // namespace proofwalk::acoustics
