// One set of recorded takes of a simulated venue, measured from its recordings, and what its truth says of a tally.
#pragma once

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "capture/takes_file.hpp"
#include "plan/read.hpp"
#include "plan/targets.hpp"
#include "signal/measure.hpp"
#include "verify/judge.hpp"

namespace proofwalk::verify {

inline signal::Bands bands_of(const plan::Plan& plan, const std::string& circuit, const std::string& position) {
    const plan::Box& box = *plan.boxes_of(circuit).front();
    const plan::Model& model = plan.model_of(box);
    signal::Bands bands{model.aim_band_hz.low_hz, model.aim_band_hz.high_hz, model.range_hz.low_hz, model.range_hz.high_hz, {}};
    if (const plan::Position* place = plan.position(position))
        bands.expected_arrival_s = plan::target(plan, box, *place, plan.air).arrival_s;
    return bands;
}

// Every take of the set through the whole measuring path; nothing when the set is not there.
inline std::optional<Input> measured_set(const std::filesystem::path& folder) {
    const auto plan = plan::load(folder / "plan.toml");
    const auto takes = capture::load_takes(folder / "takes.toml");
    if (!plan || !takes) return std::nullopt;
    Input input;
    input.plan = plan->plan;
    for (const auto& entry : takes->takes) {
        if (entry.sheet.sounding.size() != 1) continue;
        const auto recording = capture::record_of(*takes, entry);
        if (!recording) continue;
        signal::Samples samples;
        samples.rate_hz = recording->rate_hz;
        samples.kind = recording->sheet.kind;
        samples.reference = recording->channels[static_cast<std::size_t>(*recording->sheet.reference - 1)];
        for (const auto& mic : recording->sheet.mics)
            samples.mics.push_back({recording->channels[static_cast<std::size_t>(mic.channel - 1)], {}, {}, 0.0});
        const std::string circuit = recording->sheet.sounding.front();
        const auto evidence = signal::measure(samples, bands_of(input.plan, circuit, {}));
        if (!evidence) continue;
        for (std::size_t m = 0; m < samples.mics.size(); ++m) {
            const auto& mic = recording->sheet.mics[m];
            input.readings.push_back({recording->sheet.label, circuit, mic.mic, mic.position,
                                      signal::read((*evidence)[0][m], bands_of(input.plan, circuit, mic.position))});
        }
    }
    return input;
}

struct Score {
    int false_pass = 0, false_fail = 0, caught = 0, missed = 0, good = 0, good_passed = 0, settled = 0, unsettled = 0;
    std::vector<std::string> remarks;
};

// Classes as the sets define them: in (a fail is wrong), out (a pass is wrong), dead (only a pass is wrong).
inline Score score(const Judgement& judgement, const std::filesystem::path& truth_file) {
    std::ifstream stream(truth_file);
    const auto truth = nlohmann::json::parse(stream);
    Score score;
    for (const auto& expected : truth.at("checks")) {
        const std::string check = expected.at("check"), subject = expected.at("subject"), kind = expected.at("class");
        const auto found = std::ranges::find_if(judgement.checks, [&](const CheckResult& result) {
            return plan::word(result.kind) == check && result.subject == subject;
        });
        if (found == judgement.checks.end()) continue;
        const bool counted = (kind == "in" || kind == "out") && expected.at("needs_met").get<bool>();
        const bool settled = found->verdict == Verdict::pass || found->verdict == Verdict::fail;
        if (counted) ++(settled ? score.settled : score.unsettled);
        const auto remark = [&](const char* what) {
            score.remarks.push_back(std::string(what) + ": " + check + " " + subject + ": " + std::string(word(found->verdict)) +
                                    " " + (found->value ? std::to_string(*found->value) : "-") + " +-" +
                                    (found->uncertainty ? std::to_string(*found->uncertainty) : "-") + ", true " +
                                    expected.at("value").dump() + ": " + found->says);
        };
        if (kind == "in" && counted) {
            ++score.good;
            if (found->verdict == Verdict::pass) ++score.good_passed;
            if (found->verdict == Verdict::fail) {
                ++score.false_fail;
                remark("FALSE FAIL");
            }
        }
        if ((kind == "out" || kind == "dead") && found->verdict == Verdict::pass) {
            ++score.false_pass;
            remark("FALSE PASS");
        }
        if (kind == "out" && counted) ++(found->verdict == Verdict::fail ? score.caught : score.missed);
        if (counted && !settled) remark("unsettled");
    }
    return score;
}

}  // namespace proofwalk::verify
