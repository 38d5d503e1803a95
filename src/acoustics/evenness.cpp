#include "acoustics/evenness.hpp"

#include <algorithm>
#include <cmath>

#include "acoustics/splay.hpp"
#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

constexpr double most_ripple_db = 40.0;  // beyond it nothing is left to hear
constexpr double combed_db = 6.0;

PlaceHeard heard_at(const PairWish& wish, double aimed_in_deg, Vec3 place) {
    const auto level = [&](double side, double& path_m) {
        const Bearing seen = bearing({{0.0, side * wish.half_spacing_m, wish.height_m}, -side * aimed_in_deg, wish.tilt_deg}, place);
        path_m = seen.distance_m;
        return wish.box->loss_db(seen.h_deg, seen.v_deg, wish.aim_low_hz, wish.aim_high_hz) - amplitude_db(path_m) - wish.air_db_per_m * path_m;
    };
    double left_m = 0.0, right_m = 0.0;
    const double left = level(1.0, left_m), right = level(-1.0, right_m);
    PlaceHeard heard;
    heard.at = place;
    heard.difference_db = left - right;
    heard.apart_ms = 1000.0 * (right_m - left_m) / wish.speed_m_per_s;
    const TwoSources sum = two_sources(heard.difference_db);
    heard.level_db = std::max(left, right) + sum.power_db;
    heard.ripple_db = std::min(sum.ripple_db, most_ripple_db);
    return heard;
}

AimedIn table_row(const PairWish& wish, double aimed_in_deg, std::size_t rows, std::size_t columns) {
    AimedIn result;
    result.aimed_in_deg = aimed_in_deg;
    result.rows = rows;
    result.columns = columns;
    result.quietest_db = 1e9;
    result.loudest_db = -1e9;
    double sum = 0.0, sum2 = 0.0;
    for (std::size_t row = 0; row < rows; ++row) {
        const double along = static_cast<double>(row) / static_cast<double>(rows - 1);
        const double width = wish.near_width_m + along * (wish.far_width_m - wish.near_width_m);
        for (std::size_t column = 0; column < columns; ++column) {
            const double across = static_cast<double>(column) / static_cast<double>(columns - 1) - 0.5;
            const PlaceHeard heard = heard_at(wish, aimed_in_deg, {wish.near_m + along * (wish.far_m - wish.near_m), across * width, wish.ear_m});
            sum += heard.level_db;
            sum2 += heard.level_db * heard.level_db;
            result.quietest_db = std::min(result.quietest_db, heard.level_db);
            result.loudest_db = std::max(result.loudest_db, heard.level_db);
            result.mean_ripple_db += heard.ripple_db;
            result.combed_share += heard.ripple_db > combed_db ? 1.0 : 0.0;
            result.places.push_back(heard);
        }
    }
    const double count = static_cast<double>(rows * columns);
    result.mean_db = sum / count;
    result.spread_db = std::sqrt(std::max(sum2 / count - result.mean_db * result.mean_db, 0.0));
    result.mean_ripple_db /= count;
    result.combed_share /= count;
    return result;
}

}  // namespace

Result<std::vector<AimedIn>> aim_in_table(const PairWish& wish, const std::vector<double>& aimed_in_deg, std::size_t rows, std::size_t columns) {
    const auto impossible = [](std::string reason, std::string remedy) {
        return std::unexpected(Fault{FaultKind::input, "", "", std::move(reason), std::move(remedy)});
    };
    if (wish.box == nullptr) return impossible("no pattern is given for the boxes", "give a model");
    if (!(wish.near_m > 0.0)) return impossible("the near row lies behind or under the boxes", "give an audience ahead of them");
    if (!(wish.far_m > wish.near_m) || !(wish.near_width_m > 0.0) || !(wish.far_width_m > 0.0)) return impossible("the audience has no depth or no width", "give near and far rows that differ");
    if (rows < 2 || columns < 2) return impossible("too few places to compare", "ask for two rows and columns or more");
    std::vector<AimedIn> table;
    for (const double angle : aimed_in_deg) table.push_back(table_row(wish, angle, rows, columns));
    return table;
}

}  // namespace proofwalk::acoustics
