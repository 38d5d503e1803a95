#include "acoustics/delay_chain.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "acoustics/root.hpp"
#include "acoustics/triangle.hpp"
#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

constexpr double audible_db = 10.0;
constexpr double scan_m = 0.05;
constexpr double nearest_setback_m = 0.1;

std::unexpected<Fault> impossible(std::string reason, std::string remedy) {
    return std::unexpected(Fault{FaultKind::input, "", "", std::move(reason), std::move(remedy)});
}

// A box on the middle line as the ears along it hear it.
struct Source {
    double at_m = 0.0, height_m = 0.0, tilt_deg = 0.0, coverage_deg = 60.0, level_1m_db = 0.0, delay_ms = 0.0;

    [[nodiscard]] double path_m(double place_m) const { return std::hypot(place_m - at_m, height_m); }
    [[nodiscard]] double level_db(double place_m, double air_db_per_m) const {
        const double off = (degrees(std::atan2(-height_m, place_m - at_m)) - tilt_deg) / (0.5 * coverage_deg), path = path_m(place_m);
        return level_1m_db + std::max(-6.0 * off * off, -30.0) - amplitude_db(path) - air_db_per_m * path;
    }
};

Source main_of(const ChainWish& wish) {
    return {0.0, wish.main_height_m, wish.main_tilt_deg, wish.main_coverage_v_deg, wish.main_level_1m_db, 0.0};
}

std::optional<Fault> bad_wish(const ChainWish& wish) {
    const auto fault = [](std::string reason, std::string remedy) { return Fault{FaultKind::input, "", "", std::move(reason), std::move(remedy)}; };
    if (!(wish.box_height_m > 0.0)) return fault("the delay speakers hang below the ears", "hang them higher");
    if (!(wish.last_row_m > wish.first_row_m && wish.first_row_m > 0.0)) return fault("the last row is not behind the first", "exchange them");
    double before = wish.first_row_m;
    for (const double join : wish.joins_m) {
        if (!(join > before && join < wish.last_row_m))
            return fault(fmt::format("a join at {:g} m lies outside its part of the room", join), fmt::format("give rising places between {:g} and {:g} m", before, wish.last_row_m));
        before = join;
    }
    return std::nullopt;
}

// How far before the join the box hangs so that its zone wants just its coverage; the wanted angle shrinks with distance.
double setback_m(const ChainWish& wish, double zone_m) {
    const auto spare = [&](double setback) {
        const Throw near = throw_to(wish.box_height_m, setback), far = throw_to(wish.box_height_m, setback + zone_m);
        const End front{-near.depression_deg, amplitude_db(near.path_m) + wish.air_db_per_m * near.path_m};
        const End back{-far.depression_deg, amplitude_db(far.path_m) + wish.air_db_per_m * far.path_m};
        return wish.box_coverage_v_deg - wanted_coverage_deg(front, back);
    };
    if (spare(nearest_setback_m) >= 0.0) return nearest_setback_m;  // wide enough from right above the join
    return find_root(spare, nearest_setback_m, 1e4).value_or(1e4);
}

void describe_overlap(const Source& before, const Source& box, const ChainWish& wish, ChainBox& out) {
    const auto difference = [&](double place) { return std::abs(box.level_db(place, wish.air_db_per_m) - before.level_db(place, wish.air_db_per_m)); };
    const auto late = [&](double place) {
        return box.delay_ms - before.delay_ms + 1000.0 * (box.path_m(place) - before.path_m(place)) / wish.speed_m_per_s;
    };
    out.overlap_from_m = out.overlap_to_m = out.join_m;
    while (out.overlap_from_m - scan_m >= wish.first_row_m && difference(out.overlap_from_m - scan_m) <= audible_db) out.overlap_from_m -= scan_m;
    while (out.overlap_to_m + scan_m <= wish.last_row_m && difference(out.overlap_to_m + scan_m) <= audible_db) out.overlap_to_m += scan_m;
    out.late_at_from_ms = late(out.overlap_from_m);
    out.late_at_to_ms = late(out.overlap_to_m);
}

}  // namespace

Result<std::vector<ChainBox>> delay_chain(const ChainWish& wish) {
    if (const auto bad = bad_wish(wish)) return std::unexpected(*bad);
    std::vector<ChainBox> chain;
    Source before = main_of(wish);
    for (std::size_t i = 0; i < wish.joins_m.size(); ++i) {
        ChainBox box;
        box.join_m = wish.joins_m[i];
        box.end_m = i + 1 < wish.joins_m.size() ? wish.joins_m[i + 1] : wish.last_row_m;
        const double setback = setback_m(wish, box.end_m - box.join_m);
        box.at_m = box.join_m - setback;
        if (box.at_m <= before.at_m)
            return impossible(fmt::format("a box of {:g} degrees at {:g} m above the ears would have to hang {:.1f} m before its join to cover {:g} to {:g} m",
                                          wish.box_coverage_v_deg, wish.box_height_m, setback, box.join_m, box.end_m),
                              "use a wider box, hang it higher or put one more into the chain");
        const Row front{wish.box_height_m, setback}, back{wish.box_height_m, box.end_m - box.at_m};
        // A box wider than its zone would be aimed past the end, at the wall behind: the end of the zone is far enough.
        const TiltLimits limits{-90.0, -throw_to(back.height_m, back.distance_m).depression_deg};
        const auto aim = vertical_aim(front, back, wish.box_coverage_v_deg, wish.air_db_per_m, limits);
        if (!aim) return std::unexpected(aim.error());
        box.tilt_deg = aim->tilt_deg;
        Source now{box.at_m, wish.box_height_m, box.tilt_deg, wish.box_coverage_v_deg, wish.box_level_1m_db, 0.0};
        box.join_level_db = before.level_db(box.join_m, wish.air_db_per_m);
        box.gain_db = box.join_level_db - now.level_db(box.join_m, wish.air_db_per_m);
        now.level_1m_db += box.gain_db;
        box.delay_ms = delay_for_ms(before.path_m(box.join_m), before.delay_ms, now.path_m(box.join_m), wish.late_ms, wish.speed_m_per_s);
        now.delay_ms = box.delay_ms;
        box.quietest_db = aim->quietest_db + now.level_1m_db;
        box.loudest_db = aim->loudest_db + now.level_1m_db;
        describe_overlap(before, now, wish, box);
        chain.push_back(box);
        before = now;
    }
    return chain;
}

Result<std::vector<double>> even_joins(const ChainWish& wish, std::size_t boxes, double fall_db) {
    if (boxes == 0) return impossible("a chain of no boxes", "give one or more");
    const Source main = main_of(wish);
    double loudest = -1e9, loudest_m = wish.first_row_m;
    for (double place = wish.first_row_m; place <= wish.last_row_m; place += scan_m)
        if (const double level = main.level_db(place, wish.air_db_per_m); level > loudest) {
            loudest = level;
            loudest_m = place;
        }
    const auto first = first_root([&](double place) { return main.level_db(place, wish.air_db_per_m) - (loudest - fall_db); }, loudest_m, wish.last_row_m, scan_m);
    if (!first)
        return impossible(fmt::format("the main has fallen by {:.1f} dB at the last row, less than {:g} dB", loudest - main.level_db(wish.last_row_m, wish.air_db_per_m), fall_db),
                          "no delay speaker is needed for that, or ask for a smaller fall");
    std::vector<double> joins;
    for (std::size_t i = 0; i < boxes; ++i) joins.push_back(*first + (wish.last_row_m - *first) * static_cast<double>(i) / static_cast<double>(boxes));
    return joins;
}

double delay_for_ms(double distance_1_m, double delay_1_ms, double distance_2_m, double late_ms, double speed_m_per_s) {
    return delay_1_ms + 1000.0 * (distance_1_m - distance_2_m) / speed_m_per_s + late_ms;
}

}  // namespace proofwalk::acoustics
