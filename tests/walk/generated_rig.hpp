// Invented rigs for the tests and benchmarks of the walk: rows of boxes down a hall, each row an array, each column a
// chain of delay speakers. Seeded, so that a rig has a name.
#pragma once

#include <algorithm>
#include <cmath>
#include <random>
#include <string>

#include "acoustics/directivity.hpp"
#include "acoustics/geometry.hpp"
#include "plan/plan.hpp"
#include "units/convert.hpp"

namespace proofwalk::walk {

inline constexpr double ear_m = 1.2;

inline Vec3 meets_ear_height(const plan::Box& box) {
    const Vec3 forward = acoustics::axes(box.pan_deg, box.tilt_deg).forward;
    return box.at + ((ear_m - box.at.z) / forward.z) * forward;
}

inline plan::Plan generated_rig(unsigned seed, std::size_t rows, std::size_t columns) {
    std::mt19937_64 random(seed);
    const auto uniform = [&](double low, double high) { return low + (high - low) * static_cast<double>(random() >> 11) * 0x1.0p-53; };
    plan::Plan plan;
    plan.name = "Rig " + std::to_string(seed) + " (invented)";
    plan.drive_latency_ms = 2.0;
    plan::Model model;
    model.id = "wide";
    model.coverage_h_deg = 80.0;
    model.coverage_v_deg = 50.0;
    model.aim_band_hz = {2000.0, 8000.0};
    model.range_hz = {80.0, 18000.0};
    model.pattern_loss = acoustics::beam_directivity({80.0, 50.0, 2000.0, 0.0, 0.0});
    plan.models = {model};
    const double width_m = uniform(14.0, 24.0), pitch_m = uniform(9.0, 13.0), depth_m = pitch_m * static_cast<double>(rows);
    plan.areas = {{"floor", {3.0, 0.0, ear_m}, {depth_m, 0.0, ear_m}, width_m, width_m}};
    const auto id = [](std::size_t row, std::size_t column) { return "B" + std::to_string(row + 1) + std::string(1, static_cast<char>('a' + column)); };
    for (std::size_t row = 0; row < rows; ++row) {
        plan::Array array{"row" + std::to_string(row + 1), plan::ArrayKind::uncoupled, {}, std::nullopt};
        for (std::size_t column = 0; column < columns; ++column) {
            plan::Box box;
            box.id = box.circuit = id(row, column);
            box.model = "wide";
            box.at = {pitch_m * static_cast<double>(row) + uniform(-0.5, 0.5),
                      width_m * ((static_cast<double>(column) + 0.5) / static_cast<double>(columns) - 0.5), uniform(4.5, 6.5)};
            box.tilt_deg = -uniform(25.0, 35.0);
            box.gain_db = row == 0 ? 0.0 : -6.0;
            box.output = static_cast<int>(plan.boxes.size() + 1);
            array.boxes.push_back(box.id);
            plan.boxes.push_back(box);
        }
        plan.arrays.push_back(array);
    }
    for (std::size_t column = 0; column < columns && rows > 1; ++column) {
        plan::Array chain{"chain" + std::to_string(column + 1), plan::ArrayKind::delay, {}, std::nullopt};
        for (std::size_t row = 0; row < rows; ++row) chain.boxes.push_back(id(row, column));
        plan.arrays.push_back(chain);
    }
    const auto add = [&](Vec3 at, std::vector<plan::Serve> serves) {
        plan.positions.push_back({"p" + std::to_string(plan.positions.size() + 1), at, std::nullopt, std::move(serves)});
    };
    for (std::size_t row = 0; row < rows; ++row)
        for (std::size_t column = 0; column < columns; ++column) {
            const plan::Box& box = *plan.box(id(row, column));
            add(meets_ear_height(box), {{plan::Role::on_axis, {box.id}}});
            if (column + 1 < columns) {
                const plan::Box& neighbour = *plan.box(id(row, column + 1));
                const Vec3 middle = 0.5 * (meets_ear_height(box) + meets_ear_height(neighbour));
                add(middle, {{plan::Role::crossover, {box.id, neighbour.id}}, {plan::Role::left_edge, {box.id}}, {plan::Role::right_edge, {neighbour.id}}});
            }
            if (row + 1 < rows) {
                const plan::Box& behind = *plan.box(id(row + 1, column));
                add({behind.at.x + 3.0, box.at.y, ear_m}, {{plan::Role::crossover, {box.id, behind.id}}, {plan::Role::top_edge, {box.id}}, {plan::Role::bottom_edge, {behind.id}}});
            }
        }
    return plan;
}

}  // namespace proofwalk::walk
