#include "walk/ingest.hpp"

#include "capture/takes_file.hpp"
#include "walk/judged.hpp"

namespace proofwalk::walk {
namespace {

std::optional<acoustics::Air> on_site(const plan::Plan& plan, const std::optional<capture::OnSiteAir>& air) {
    if (!air) return std::nullopt;
    return acoustics::Air{air->temperature_c.value_or(plan.air.temperature_c),
                          air->humidity_pct.value_or(plan.air.humidity_pct),
                          air->pressure_kpa.value_or(plan.air.pressure_kpa)};
}

}  // namespace

Checked<Faults> ingest(Show& show, const std::filesystem::path& takes_file, const Logged& logged) {
    auto takes = capture::load_takes(takes_file);
    if (!takes) return std::unexpected(takes.error());
    Faults faults = takes->faults;
    const auto air = on_site(show.plan.plan, takes->air);
    std::size_t done = 0;
    for (const auto& entry : takes->takes) {
        ++done;
        auto recording = capture::record_of(*takes, entry);
        if (!recording) {
            faults.push_back(recording.error());
            continue;
        }
        auto stored = store_take(show, *recording, takes->mics, air, origin("", "recorded"));
        if (!stored) {
            faults.push_back(stored.error());
            if (stored.error().kind == FaultKind::log) return std::unexpected(faults);
            continue;
        }
        faults.insert(faults.end(), stored->faults.begin(), stored->faults.end());
        logged(*stored, done, takes->takes.size());
    }
    if (auto judgement = judged(show, origin("", "recorded")); !judgement) {
        faults.push_back(judgement.error());
        return std::unexpected(faults);
    }
    return faults;
}

}  // namespace proofwalk::walk
