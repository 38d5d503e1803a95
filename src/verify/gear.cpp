#include "verify/gear.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "units/convert.hpp"

namespace proofwalk::verify {
namespace {

GearCheck started(std::string check, std::string subject, std::string unit, double limit) {
    GearCheck result;
    result.check = std::move(check);
    result.subject = std::move(subject);
    result.unit = std::move(unit);
    result.limit = limit;
    return result;
}

// A figure of the chain has no stated uncertainty of its own here: it is far below the limits it is held against.
void hold(GearCheck& result, double value, std::string good, std::string bad, std::string advice) {
    result.value = value;
    const bool inside = std::isfinite(value) && std::abs(value) <= *result.limit;
    result.verdict = inside ? Verdict::pass : Verdict::fail;
    result.says = inside ? std::move(good) : std::move(bad);
    if (!inside) result.advice = std::move(advice);
}

void loopback_checks(const GearInput& input, const GearLimits& limits, std::vector<GearCheck>& checks) {
    GearCheck flat = started("loopback", "level", "dB", limits.flat_db);
    GearCheck phase = started("loopback", "phase", "deg", limits.flat_deg);
    GearCheck noise = started("loopback", "noise", "dB", limits.loopback_above_noise_db);
    GearCheck latency = started("latency", "loopback", "samples", 1.0);
    if (input.loopbacks.empty()) {
        for (GearCheck* check : {&flat, &phase, &noise, &latency}) {
            check->says = "not measured: no loopback take";
            check->advice = "wire an output to an input and take with --kind loopback";
        }
    } else {
        const signal::ChainFigures& newest = input.loopbacks.back();
        hold(flat, newest.flatness_db, fmt::format("flat within {:.3f} dB", newest.flatness_db),
             fmt::format("{:.2f} dB off flat", newest.flatness_db), "look for a filter, a limiter or a wrong input in the loop");
        hold(phase, newest.flatness_deg, fmt::format("straight within {:.2f} deg", newest.flatness_deg),
             fmt::format("{:.1f} deg off a straight line", newest.flatness_deg), "look for a filter or processing in the loop");
        noise.value = newest.signal_to_noise_db;
        noise.verdict = newest.signal_to_noise_db >= limits.loopback_above_noise_db ? Verdict::pass : Verdict::fail;
        noise.says = fmt::format("the loop stands {:.0f} dB above its noise", newest.signal_to_noise_db);
        if (noise.verdict == Verdict::fail) noise.advice = "raise the loop's level, or look for hum and a bad cable";
        if (const auto spread = signal::latency_spread(input.loopbacks)) {
            const double samples = spread->range_s * input.rate_hz;
            hold(latency, samples, fmt::format("stable within {:.2f} samples over {} takes", samples, spread->takes),
                 fmt::format("moves by {:.1f} samples between takes", samples),
                 "use one device for playing and capturing, and larger buffers");
        } else {
            latency.says = "one loopback take can't show that the latency is stable";
            latency.advice = "take the loopback once more";
        }
    }
    checks.insert(checks.end(), {flat, phase, noise, latency});
}

void match_checks(const GearInput& input, const GearLimits& limits, std::vector<GearCheck>& checks) {
    if (input.match.empty()) {
        GearCheck open = started("mic-match", "all mics", "dB", limits.match_db);
        open.says = "not measured: no match take";
        open.advice = "put all mics at one spot and take with --kind match";
        checks.push_back(open);
        return;
    }
    int sum = 0;
    for (const auto& mic : input.match) sum += mic.polarity.value_or(0);
    const int common = sum >= 0 ? 1 : -1;
    for (const auto& mic : input.match) {
        GearCheck level = started("mic-match", mic.mic, "dB", limits.match_db);
        if (!mic.deviation.usable || !mic.deviation.aim_band_db) {
            level.verdict = Verdict::fail;
            level.says = "heard nothing certain, or stands out by more than 10 dB";
            level.advice = "check capsule, cable and gain of " + mic.mic;
        } else {
            const double value = mic.deviation.aim_band_db->value;
            hold(level, value, fmt::format("{:+.2f} dB against the others, taken off its readings", value),
                 fmt::format("{:+.1f} dB against the others", value), "check its gain and its windscreen, then match again");
        }
        checks.push_back(level);
        GearCheck polarity = started("mic-polarity", mic.mic, "", 0.0);
        polarity.limit.reset();
        if (!mic.polarity) {
            polarity.verdict = Verdict::unsure;
            polarity.says = "can't be told from this take";
        } else {
            polarity.value = *mic.polarity;
            polarity.verdict = *mic.polarity == common ? Verdict::pass : Verdict::fail;
            polarity.says = *mic.polarity == common ? "as the others" : "inverted against the others";
            if (polarity.verdict == Verdict::fail) polarity.advice = "change the cable or the polarity switch of " + mic.mic;
        }
        checks.push_back(polarity);
    }
}

void sensitivity_checks(const GearInput& input, const GearLimits& limits, std::vector<GearCheck>& checks) {
    std::map<std::string, std::vector<double>> factors;
    for (const auto& calibration : input.calibrations) factors[calibration.mic].push_back(calibration.pascal_per_fs);
    for (const auto& [mic, values] : factors) {
        GearCheck check = started("sensitivity", mic, "dB", limits.calibrator_drift_db);
        const double drift_db = amplitude_db(values.back() / values.front());
        if (values.size() < 2) {
            check.verdict = Verdict::pass;
            check.value = 0.0;
            check.says = fmt::format("{:.3g} pascals at full scale; calibrate again at the end to see its drift", values.back());
        } else {
            hold(check, drift_db, fmt::format("{:.3g} pascals at full scale, drifted {:+.2f} dB", values.back(), drift_db),
                 fmt::format("drifted {:+.2f} dB between calibrations", drift_db), "find what changed its gain, then calibrate again");
        }
        checks.push_back(check);
    }
}

void certificate_checks(const GearInput& input, std::vector<GearCheck>& checks) {
    for (const auto& certificate : input.certificates) {
        GearCheck check = started("certificate", certificate.subject, "", 0.0);
        check.limit.reset();
        // Dates as year-month-day compare as text.
        check.verdict = input.today <= certificate.until ? Verdict::pass : Verdict::fail;
        check.says = (check.verdict == Verdict::pass ? "valid until " : "ran out on ") + certificate.until;
        if (check.verdict == Verdict::fail) check.advice = "use another, or have it calibrated";
        checks.push_back(check);
    }
}

}  // namespace

std::vector<GearCheck> judge_gear(const GearInput& input, const GearLimits& limits) {
    std::vector<GearCheck> checks;
    loopback_checks(input, limits, checks);
    match_checks(input, limits, checks);
    sensitivity_checks(input, limits, checks);
    certificate_checks(input, checks);
    return checks;
}

std::optional<std::string> gear_fault(const std::vector<GearCheck>& checks) {
    const auto failed = std::ranges::find(checks, Verdict::fail, &GearCheck::verdict);
    if (failed == checks.end()) return std::nullopt;
    return fmt::format("{} of {} {}", failed->check, failed->subject, failed->says);
}

}  // namespace proofwalk::verify
