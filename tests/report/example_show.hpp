// An invented hall with two mains and a fill, walked with one box aimed low: built from code, no file, no measurement.
#pragma once

#include "report/report.hpp"

namespace proofwalk::report {

[[nodiscard]] inline verify::Tally example_tally() {
    verify::Tally tally;
    tally.plan_name = "Example Hall";
    tally.plan_sha256 = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    tally.plan_revision = 2;

    verify::CheckResult sounding;
    sounding.kind = plan::CheckKind::sounding;
    sounding.subject = "M1";
    sounding.verdict = verify::Verdict::pass;
    sounding.value = 41.26;
    sounding.unit = "dB";
    sounding.takes = {"t01"};
    sounding.positions = {"p1"};
    sounding.says = "sounds 41 dB above the noise";
    tally.checks.push_back(sounding);

    verify::CheckResult polarity;
    polarity.kind = plan::CheckKind::polarity;
    polarity.subject = "M1";
    polarity.verdict = verify::Verdict::pass;
    polarity.value = 1.0;
    polarity.target = 1.0;
    polarity.says = "polarity as planned";
    tally.checks.push_back(polarity);

    verify::CheckResult aim;
    aim.kind = plan::CheckKind::aim_v;
    aim.subject = "M1";
    aim.verdict = verify::Verdict::fail;
    aim.value = -4.1;
    aim.unit = "deg";
    aim.uncertainty = 1.18;
    aim.probability = 0.0;
    aim.target = 0.0;
    aim.tolerance = 2.0;
    aim.takes = {"t01"};
    aim.positions = {"p1", "p2", "p3"};
    aim.says = "aimed 4.1 deg below the plan";
    aim.advice = "tilt up 4.1 deg, then take again";
    aim.budget = {{"mic place", 0.4}, {"directivity", 0.45}};
    aim.predicted_u = 0.55;
    tally.checks.push_back(aim);

    verify::CheckResult level;
    level.kind = plan::CheckKind::level;
    level.subject = "M1";
    level.verdict = verify::Verdict::unsure;
    level.value = 1.31;
    level.unit = "dB";
    level.uncertainty = 0.44;
    level.probability = 0.8;
    level.tolerance = 1.5;
    level.says = "1.3 dB louder than M2, too near the limit to settle";
    level.advice = "take p1 again with a longer sweep";
    tally.checks.push_back(level);

    for (const char* subject : {"M2", "FF"}) {
        verify::CheckResult open;
        open.kind = plan::CheckKind::aim_h;
        open.subject = subject;
        open.unit = "deg";
        open.tolerance = 2.0;
        open.says = "no take yet";
        tally.checks.push_back(open);
    }

    verify::CheckResult skipped;
    skipped.kind = plan::CheckKind::alignment;
    skipped.subject = "M1+FF";
    skipped.verdict = verify::Verdict::skipped;
    skipped.unit = "ms";
    skipped.says = "skipped by R. Amsel: seats are closed";
    tally.checks.push_back(skipped);

    verify::Fit fit;
    fit.box = "M1";
    fit.pan_deg = -7.6;
    fit.pan_u_deg = 0.8;
    fit.tilt_deg = -16.1;
    fit.tilt_u_deg = 0.6;
    fit.at = {0.02, 6.01, std::nullopt};
    fit.at_u = {0.05, 0.06, std::nullopt};
    tally.fits.push_back(fit);
    return tally;
}

}  // namespace proofwalk::report
