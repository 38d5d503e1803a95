// Shows to draw: empty, half walked and finished from the small invented room, and awkward ones made up here.
#pragma once

#include <gtest/gtest.h>

#include <atomic>

#include "app/records.hpp"
#include "place.hpp"
#include "units/sha256.hpp"
#include "plan/write.hpp"
#include "walk/next.hpp"
#include "walk/rehearse.hpp"

namespace proofwalk::app {

inline Result<Records> gathered(const walk::Show& show) { return gather(show, {}, walk::shortest_rounds(show.plan.plan, 8)); }

// Walked so many steps in the simulated room; all of them when `steps` is large.
inline Records walked(const Place& place, const std::string& name, std::size_t steps, const std::vector<std::string>& faults = {}) {
    const auto plan = place.copy(PROOFWALK_SOURCE_DIR "/fixtures/small/plan.toml", name + ".toml");
    auto show = walk::open_show(plan, place / (name + ".db"));
    EXPECT_TRUE(show.has_value());
    rehearsal::Settings room;
    for (const auto& text : faults) room.faults.push_back(*rehearsal::fault_from_text(text, show->plan.plan));
    auto source = walk::TakeSource::rehearsal(show->plan.plan, room);
    EXPECT_TRUE(source.has_value());
    walk::Setup setup;
    setup.armed_by = "R. Walker";
    setup.drive.length_s = 1.0;
    const std::atomic<bool> stop{false};
    auto records = gathered(*show);
    for (std::size_t i = 0; i < std::min(steps, records->path.steps.size()); ++i) {
        const auto stored = walk::take_step(*show, *source, records->path.steps[i], setup, [](const auto&) {}, stop);
        EXPECT_TRUE(stored.has_value()) << (stored ? "" : sentence(stored.error()));
    }
    EXPECT_TRUE(walk::judged(*show, walk::origin("R. Walker")).has_value());
    records = gathered(*show);
    EXPECT_TRUE(records.has_value());
    return std::move(*records);
}

// A plan in a row of boxes, each with its own position, and a tally in which every verdict occurs.
inline Records made_up(std::size_t boxes, const std::string& prefix, const std::string& words) {
    Records records;
    plan::Plan& plan = records.page.plan;
    plan.name = words;
    plan::Model model;
    model.id = prefix + "kind";
    model.coverage_h_deg = 90.0;
    model.coverage_v_deg = 60.0;
    model.aim_band_hz = {2000.0, 8000.0};
    model.range_hz = {60.0, 18000.0};
    model.size_m = {0.4, 0.7, 0.4};
    model.pattern_loss = acoustics::beam_directivity({.coverage_h_deg = 90.0, .coverage_v_deg = 60.0, .aim_low_hz = 2000.0, .width_m = 0.4, .height_m = 0.7});
    if (boxes > 0) plan.models.push_back(model);
    plan.areas.push_back({prefix + "floor", {3.0, 0.0, 1.2}, {20.0, 0.0, 1.2}, 14.0, 18.0});
    for (std::size_t i = 0; i < boxes; ++i) {
        plan::Box box;
        box.id = prefix + std::to_string(i + 1);
        box.model = model.id;
        box.at = {0.0, 0.3 * static_cast<double>(i) - 8.0, 4.0};
        box.tilt_deg = -10.0;
        box.circuit = box.id;
        box.patch = words;
        plan.boxes.push_back(box);
        plan.positions.push_back({prefix + "p" + std::to_string(i + 1), {10.0, box.at.y, 1.2}, {}, {{plan::Role::on_axis, {box.id}}}});
    }
    records.planned = plan::checks(plan);
    records.page.tally.plan_name = plan.name;
    int turn = 0;
    for (const auto& planned : records.planned) {
        verify::CheckResult check;
        check.kind = planned.kind;
        check.subject = planned.subject;
        check.verdict = static_cast<verify::Verdict>(turn++ % 5);
        if (check.verdict != verify::Verdict::open) {
            check.value = -1.25;
            check.uncertainty = 0.6;
            check.unit = "dB";
            check.tolerance = 1.5;
            check.says = words;
            check.advice = words;
            check.budget = {{words, 0.3}, {"noise", 0.1}};
        }
        records.page.tally.checks.push_back(std::move(check));
    }
    records.page.sign_offs.push_back({words, words, "2026-05-02T15:04:05Z", std::string(64, 'a'), {"level:" + prefix + "1"}, true, words});
    records.page.history.push_back({"2026-05-02T15:04:05Z", words, words});
    records.path = walk::path_of(plan, walk::rounds_in_plan_order(plan, 8), {}, {}, records.page.tally.checks, {});
    records.log_file = "made-up.db";
    records.lay_out();
    records.plan_text = plan::write(plan);
    records.page.plan_sha256 = sha256(records.plan_text);
    return records;
}

}  // namespace proofwalk::app
