#include "walk/gear_take.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "walk/gear.hpp"

namespace proofwalk::walk {
namespace {

// A certificate is of a mic ("m1 0417") or of a calibrator.
bool concerns(const verify::GearCheck& check, const GearTake& asked) {
    switch (asked.kind) {
        case signal::TakeKind::loopback: return check.check == "loopback" || check.check == "latency";
        case signal::TakeKind::match: return check.check == "mic-match" || check.check == "mic-polarity";
        case signal::TakeKind::calibrator: {
            const std::string mic = fmt::format("m{}", asked.mic);
            if (check.check == "certificate") return check.subject == mic || check.subject.starts_with(mic + " ") || check.subject.starts_with("calibrator");
            return check.check == "sensitivity" && check.subject == mic;
        }
        default: return false;
    }
}

}  // namespace

LiveTake live_take_of(const plan::Plan& plan, const TakeSource& source, const GearTake& asked, const Setup& setup) {
    Step step;
    if (asked.kind == signal::TakeKind::match) {
        step.circuit = asked.circuit;
        step.positions.assign(static_cast<std::size_t>(std::max(asked.mics, 0)), asked.position);
    }
    // The channels before it belong to the mics before it.
    if (asked.kind == signal::TakeKind::calibrator) step.positions.assign(static_cast<std::size_t>(std::max(asked.mic, 1)), "");
    LiveTake take = take_of(plan, source, step, setup);
    if (asked.kind == signal::TakeKind::calibrator) {
        take.mics.erase(take.mics.begin(), take.mics.end() - 1);
        take.calibrator_db = asked.calibrator_db;
    }
    take.drive.kind = asked.kind;
    return take;
}

Result<GearProof> prove_by_take(Show& show, const TakeSource& source, const GearTake& asked, const Setup& setup,
                                const std::function<void(const capture::Progress&)>& progress, const std::atomic<bool>& stop) {
    const plan::Plan& plan = show.plan.plan;
    if (asked.kind == signal::TakeKind::match) {
        const auto refuse = [](std::string reason, std::string remedy) {
            return std::unexpected(Fault{FaultKind::input, "", "match take", std::move(reason), std::move(remedy)});
        };
        if (asked.mics < 2) return refuse("one mic has no fellows to be held against", "put two mics or more at one spot");
        if (plan.boxes_of(asked.circuit).empty()) return refuse(fmt::format("no circuit is called \"{}\"", asked.circuit), "choose one of the plan");
        if (plan.position(asked.position) == nullptr) return refuse(fmt::format("no position is called \"{}\"", asked.position), "choose one of the plan, where the circuit is heard well");
    }
    auto stored = take_stored(show, source.device(), live_take_of(plan, source, asked, setup), progress, stop);
    if (!stored) return std::unexpected(stored.error());
    auto checks = prove_gear(show, {}, setup.armed_by);
    if (!checks) return std::unexpected(checks.error());
    std::erase_if(*checks, [&](const verify::GearCheck& check) { return !concerns(check, asked); });
    return GearProof{std::move(*stored), std::move(*checks)};
}

}  // namespace proofwalk::walk
