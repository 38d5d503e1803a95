// A whole invented show for pages and drawings: the demo hall of the fixtures with figures made up from its own plan.
#pragma once

#include <cmath>
#include <filesystem>
#include <numbers>
#include <stdexcept>

#include "plan/read.hpp"
#include "report/report.hpp"
#include "units/sha256.hpp"

namespace proofwalk::report {

[[nodiscard]] inline plan::PlanFile demo_plan() {
    auto file = plan::load(std::filesystem::path(PROOFWALK_SOURCE_DIR) / "fixtures/demo/plan.toml");
    if (!file) throw std::runtime_error(sentence(file.error().front()));
    return std::move(*file);
}

// Level over frequency with a bump, a dip and a roll-off at both ends.
[[nodiscard]] inline signal::Curve invented_curve(double level_db, double phase) {
    signal::Curve curve;
    for (int i = 0; i <= 220; ++i) {
        const double hz = 30.0 * std::pow(20000.0 / 30.0, i / 220.0);
        const double octave = std::log2(hz / 1000.0);
        const double ends = -12.0 * std::log2(1.0 + std::pow(65.0 / hz, 2.0)) - 6.0 * std::log2(1.0 + std::pow(hz / 17000.0, 4.0));
        curve.hz.push_back(hz);
        curve.db.push_back(level_db + ends + 1.4 * std::sin(2.1 * octave + phase) + 0.8 * std::sin(7.0 * octave + 2.0 * phase));
        curve.u_db.push_back(0.35 + 1.6 * std::exp(-octave * octave / 18.0 - octave));
    }
    return curve;
}

[[nodiscard]] inline BoxCurves invented_curves(const std::string& box, const std::string& position, double arrival_s, double phase) {
    BoxCurves curves;
    curves.box = box;
    curves.position = position;
    curves.take = "t01";
    curves.measured = invented_curve(-38.0, phase);
    for (std::size_t band = 5; band < 30; ++band) {
        curves.planned.hz.push_back(nominal_hz[band]);
        curves.planned.db.push_back(-38.0 - 0.02 * std::pow(static_cast<double>(band) - 17.0, 2.0));
    }
    curves.arrival_s = arrival_s;
    curves.gate_end_s = arrival_s + 0.0062;
    curves.direct_from_hz = 320.0;
    curves.reflections = {{0.0071, -8.4}, {0.0125, -13.2}, {0.0228, -17.9}};
    curves.surfaces = {"stalls", "", ""};
    for (int i = 0; i < 1200; ++i) {
        const double at_s = arrival_s - 0.005 + i * 0.085 / 1200.0;
        const double after_s = at_s - arrival_s;
        double db = -58.0 + 4.0 * std::sin(i * 1.7) * std::sin(i * 0.31);
        const auto add = [&](double when_s, double level_db, double decay_db_per_ms) {
            if (after_s >= when_s) db = std::max(db, level_db - decay_db_per_ms * (after_s - when_s) * 1e3 + 2.5 * std::sin(i * 2.3));
        };
        add(0.0, 0.0, 14.0);
        for (const auto& reflection : curves.reflections) add(reflection.after_s, reflection.level_db, 9.0);
        add(0.002, -24.0, 0.32);
        curves.impulse_s.push_back(at_s);
        curves.impulse_db.push_back(db);
    }
    return curves;
}

// Every check of the plan judged somehow: the n-th of a kind decides how.
[[nodiscard]] inline verify::CheckResult invented_result(const plan::PlannedCheck& planned, std::size_t n, const plan::Rules& rules) {
    verify::CheckResult check;
    check.kind = planned.kind;
    check.subject = planned.subject;
    check.positions = planned.positions;
    check.takes = {"t" + std::to_string(n % 9 + 1)};
    check.verdict = verify::Verdict::pass;
    check.value = 0.4 * std::sin(static_cast<double>(n));
    check.says = "as planned";
    switch (planned.kind) {
        case plan::CheckKind::sounding:
            check.unit = "dB";
            check.value = 38.0 + static_cast<double>(n % 5);
            check.says = "sounds " + std::to_string(38 + n % 5) + " dB above the noise, patched as planned";
            return check;
        case plan::CheckKind::polarity:
            check.value = check.target = 1.0;
            check.says = "polarity as planned";
            return check;
        case plan::CheckKind::aim_h:
        case plan::CheckKind::aim_v:
        case plan::CheckKind::splay: check.unit = "deg"; check.tolerance = rules.aim_deg; check.uncertainty = 0.9; break;
        case plan::CheckKind::spacing: check.unit = "m"; check.tolerance = rules.spacing_m; check.uncertainty = 0.07; *check.value *= 0.1; break;
        case plan::CheckKind::arrival: check.unit = "ms"; check.tolerance = rules.arrival_ms; check.uncertainty = 0.12; break;
        case plan::CheckKind::alignment: check.unit = "ms"; check.tolerance = rules.alignment_ms; check.uncertainty = 0.11; *check.value *= 0.5; break;
        default: check.unit = "dB"; check.tolerance = rules.level_db; check.uncertainty = 0.5; break;
    }
    check.target = 0.0;
    check.probability = 0.99;
    return check;
}

[[nodiscard]] inline Show walked_show() {
    const plan::PlanFile file = demo_plan();
    Show show;
    show.plan = file.plan;
    show.plan_sha256 = file.sha256;
    show.plan_revision = 2;
    show.log_name = "show.db";
    show.tool = "proofwalk 0.1.0";
    show.made = "2026-05-02T19:20:00+02:00";
    show.air = "measured: 22.5 \u00b0C, 48 %, 101.3 kPa";
    show.walked_by = {"R. Amsel", "T. Fink"};
    show.cautions = {"Caution: a loud test signal will play. Clear the area near the boxes, protect ears, start low. Exposure adds up over "
                     "the walk. Local rules and licensed practice decide.",
                     "Caution: only competent riggers change what hangs, with the area below clear. Local codes and licensed practice "
                     "decide; this advice replaces neither."};
    show.decision_statement = "Guarded acceptance (JCGM 106): a check passes when the probability that the true value lies inside its tolerance is at "
                              "least 95 %, fails when the probability that it lies outside is at least 95 %, and is unsure between. The remaining "
                              "risk of a wrong pass or a wrong fail, at most 5 % at a limit, is shared between who hangs the rig and who signs it.";
    show.tally.plan_name = show.plan.name;
    show.tally.plan_sha256 = file.sha256;
    show.tally.plan_revision = 2;
    std::size_t n = 0;
    for (const auto& planned : plan::checks(show.plan)) {
        auto check = invented_result(planned, n, show.plan.rules);
        if (n % 29 == 17) {
            check.verdict = verify::Verdict::unsure;
            check.probability = 0.8;
            check.says = "near the limit, not settled";
            check.advice = "take " + planned.positions.front() + " again with a longer sweep";
        }
        if (n % 23 == 11) {
            check = {};
            check.kind = planned.kind;
            check.subject = planned.subject;
            check.says = "no usable take at " + planned.positions.back() + " yet";
        }
        if (n == 5) {
            check.verdict = verify::Verdict::skipped;
            check.says = "skipped by R. Amsel: seats are closed (open: not measured)";
            show.skips.push_back({std::string(plan::word(check.kind)), check.subject, "R. Amsel", "seats are closed", {1777734000, 120}});
        }
        show.tally.checks.push_back(std::move(check));
        ++n;
    }
    for (auto& check : show.tally.checks)
        if (check.kind == plan::CheckKind::aim_v && check.subject == show.plan.boxes[1].id) {
            check.verdict = verify::Verdict::fail;
            check.value = -4.13;
            check.uncertainty = 1.18;
            check.probability = 0.0;
            check.says = "aimed 4.1 deg below the plan";
            check.advice = "tilt up 4.1 deg, then take again";
        } else if (check.kind == plan::CheckKind::sounding && check.subject == show.plan.boxes[4].circuit) {
            check.verdict = verify::Verdict::fail;
            check.says = "the cable of " + show.plan.boxes[4].circuit + " feeds " + show.plan.boxes[5].circuit + " and the other way round";
            check.advice = "swap the two cables, then take both again";
        }
    double phase = 0.0;
    for (const auto& box : show.plan.boxes) {
        phase += 0.7;
        const plan::Position* on_axis = show.plan.serving(plan::Role::on_axis, box.id);
        if (on_axis == nullptr) continue;
        const double arrival_s = distance(box.at, on_axis->at) / 345.0 + 0.0018 + box.delay_ms * 1e-3;
        show.curves.push_back(invented_curves(box.id, on_axis->id, arrival_s, phase));
        ReadingRow row;
        row.taken = {"t01", box.circuit, "m1", on_axis->id, {}};
        row.taken.reading.arrival_s = Measured{arrival_s, 2.1e-5};
        row.taken.reading.polarity = 1;
        row.taken.reading.aim_band_db = Measured{-38.0 - phase, 0.24};
        row.taken.reading.signal_to_noise_db = 41.0 - phase;
        row.distance_m = distance(box.at, on_axis->at);
        show.readings.push_back(row);
        verify::Fit fit;
        fit.box = box.id;
        fit.pan_deg = box.pan_deg + 0.6 * std::sin(phase);
        fit.pan_u_deg = 0.5;
        fit.tilt_deg = box.tilt_deg + (box.id == show.plan.boxes[1].id ? -4.13 : 0.4 * std::cos(phase));
        fit.tilt_u_deg = 0.6;
        fit.at = {box.at.x + 0.03 * std::sin(3.0 * phase), box.at.y - 0.04 * std::cos(phase), std::nullopt};
        fit.at_u = {0.05, 0.06, std::nullopt};
        show.tally.fits.push_back(fit);
    }
    show.sign_offs = {{"T. Fink", "crew lead", "2026-05-02T18:55:12+02:00", sha256("signed"), {"aim-v:" + show.plan.boxes[1].id}, true,
                       "take t09 came after it", "the whole plan, plan revision 1, takes up to t08"}};
    show.takes = {{"t1", "2026-05-02T16:10:00+02:00", "sweep", show.plan.boxes[0].circuit, "R. Amsel"},
                  {"t2", "2026-05-02T16:12:30+02:00", "sweep", show.plan.boxes[1].circuit, "R. Amsel"}};
    const std::string about = "box " + show.plan.boxes[1].id;
    show.remarks = {{"2026-05-02T16:30:00+02:00", about, "photo", "shackle after the re-tilt", "T. Fink", "shackle.png", sha256("shackle"),
                     "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAgAAAAGCAAAAADbboAnAAAAKUlEQVR4nGNgENGwCUip6GHgkjNyi8prmgYTWMAAFVjFABXYwgAV2AcAnE0R0cGDacEAAAAASUVORK5CYII="},
                    {"2026-05-02T16:41:00+02:00", "position p3", "document", "", "R. Amsel", "seat plan.pdf", sha256("seats")},
                    {"2026-05-02T21:14:00+02:00", about, "incident", "went silent for ten seconds during the encore", "T. Fink"}};
    show.time = WalkTime{42.5, 16.0, {{show.plan.boxes[0].circuit, 6, 2, 17.2}, {show.plan.boxes[1].circuit, 5, 0, 14.1}, {"", 2, 0, 3.0}}, 31.0, 38.6, {{"mics carried", 8, 96.0, 131.0, 128.0}}};
    show.history = {{"2026-05-02T15:04:05+02:00", "plan revision 1", "R. Amsel"},
                    {"2026-05-02T16:10:00+02:00", "take t01 (sweep of M1)", "R. Amsel"},
                    {"2026-05-02T16:40:00+02:00", "changed M2: tilted up 4 deg", "T. Fink"}};
    return show;
}

}  // namespace proofwalk::report
