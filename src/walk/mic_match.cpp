#include "walk/mic_match.hpp"

#include "walk/bands.hpp"

namespace proofwalk::walk {

MicMatch mic_match(const plan::Plan& plan, const std::vector<log::TakeRecord>& takes) {
    for (auto take = takes.rbegin(); take != takes.rend(); ++take) {
        if (take->kind != signal::TakeKind::match || take->evidence.empty()) continue;
        std::vector<signal::Reading> readings;
        for (const auto& heard : take->evidence) readings.push_back(heard.reading);
        const auto deviations = signal::mic_deviations(readings, bands_of(plan, take->evidence.front().circuit, "", plan.air));
        MicMatch match;
        for (std::size_t i = 0; i < deviations.size(); ++i)
            if (deviations[i].usable) match.emplace(take->evidence[i].mic, deviations[i]);
        return match;
    }
    return {};
}

signal::Reading matched(const MicMatch& match, const plan::Plan& plan, const log::EvidenceRecord& heard) {
    const auto own = match.find(heard.mic);
    if (own == match.end()) return heard.reading;
    return signal::corrected(heard.reading, own->second, bands_of(plan, heard.circuit, "", plan.air));
}

}  // namespace proofwalk::walk
