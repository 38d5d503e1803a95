// An invented rig of two boxes, and readings made from the plan's own geometry.
#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include "acoustics/directivity.hpp"
#include "plan/targets.hpp"
#include "units/convert.hpp"
#include "verify/judge.hpp"

namespace proofwalk::verify {

using plan::CheckKind;
using plan::Role;

// Two boxes of one model over a floor, each with its axis, four edges and a common crossover. An invented rig.
inline plan::Plan pair_plan() {
    plan::Plan plan;
    plan.name = "Two boxes (invented)";
    plan.drive_latency_ms = 2.0;
    plan::Model model;
    model.id = "mid";
    model.coverage_h_deg = 60.0;
    model.coverage_v_deg = 40.0;
    model.aim_band_hz = {2000.0, 8000.0};
    model.range_hz = {60.0, 18000.0};
    model.pattern_loss = acoustics::beam_directivity({60.0, 40.0, 2000.0, 0.0, 0.0});
    plan.models = {model};
    const auto box = [](const char* id, double y, double pan) {
        plan::Box one;
        one.id = one.circuit = id;
        one.model = "mid";
        one.at = {0.0, y, 5.0};
        one.pan_deg = pan;
        one.tilt_deg = -25.0;
        return one;
    };
    plan.boxes = {box("A", 3.0, 4.0), box("B", -3.0, -4.0)};
    plan.arrays = {{"both", plan::ArrayKind::uncoupled, {"A", "B"}, std::nullopt}};
    const auto serve = [](Role role, std::vector<std::string> boxes) { return plan::Serve{role, std::move(boxes)}; };
    for (const double side : {1.0, -1.0}) {
        const std::string id = side > 0 ? "A" : "B";
        plan.positions.push_back({id + "0", {8.1, side * 3.6, 1.2}, std::nullopt, {serve(Role::on_axis, {id})}});
        plan.positions.push_back({id + "l", {7.8, side * 3.6 + 5.0, 1.2}, std::nullopt, {serve(Role::left_edge, {id})}});
        plan.positions.push_back({id + "r", {7.8, side * 3.6 - 5.0, 1.2}, std::nullopt, {serve(Role::right_edge, {id})}});
        plan.positions.push_back({id + "t", {30.0, side * 4.5, 1.2}, std::nullopt, {serve(Role::top_edge, {id})}});
        plan.positions.push_back({id + "b", {3.8, side * 3.2, 1.2}, std::nullopt, {serve(Role::bottom_edge, {id})}});
    }
    plan.positions.push_back({"x", {8.0, 0.0, 1.2}, std::nullopt, {serve(Role::crossover, {"A", "B"})}});
    return plan;
}

// What hangs differently from the plan, and which cable feeds which box.
struct Hang {
    plan::Plan really = pair_plan();
    bool crossed = false;
};

inline Input heard(const Hang& hang) {
    Input input;
    input.plan = pair_plan();
    input.plan.positions = hang.really.positions;
    for (const plan::Box& planned : input.plan.boxes) {
        const std::string feeds = !hang.crossed ? planned.id : planned.id == "A" ? "B" : "A";
        const plan::Box& box = *hang.really.box(feeds);
        for (const plan::Position& position : input.plan.positions) {
            const plan::Target target = plan::target(hang.really, box, position, hang.really.air);
            signal::Reading reading;
            reading.arrival_s = Measured{target.arrival_s, 2e-5};
            reading.polarity = box.inverted ? -1 : 1;
            reading.polarity_confidence = 0.999;
            reading.aim_band_db = Measured{target.aim_band_db, 0.1};
            reading.direct_db = reading.full_db = target.shape_db;
            for (std::size_t band = 0; band < band_count; ++band) {
                if (!target.shape_db.has(band)) continue;
                reading.direct_u_db[band] = reading.full_u_db[band] = 0.1;
                reading.noise_db[band] = target.shape_db[band] - 40.0;
            }
            reading.gate_resolves_from_hz = 600.0;
            input.readings.push_back({"t-" + planned.id, planned.circuit, "m-" + position.id, position.id, reading});
        }
    }
    return input;
}

inline const CheckResult& of(const Judgement& judgement, CheckKind kind, const std::string& subject) {
    return *std::ranges::find_if(judgement.checks, [&](const CheckResult& check) {
        return check.kind == kind && check.subject == subject;
    });
}

}  // namespace proofwalk::verify
