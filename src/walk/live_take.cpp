#include "walk/live_take.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "walk/judged.hpp"

namespace proofwalk::walk {
namespace {

constexpr double highest_level_dbfs = -3.0;  // leaves room for a loopback's gain; louder is never needed

std::optional<Fault> refusal(const LiveTake& take, const capture::DeviceInfo& device) {
    const auto refuse = [&](std::string reason, std::string remedy) {
        return Fault{FaultKind::input, "", "take", std::move(reason), std::move(remedy)};
    };
    if (take.armed_by.find_first_not_of(' ') == std::string::npos)
        return refuse("sound plays only when a person has armed it", "read the caution, then give --armed \"NAME\"");
    if (take.drive.level_dbfs > highest_level_dbfs)
        return refuse(fmt::format("{} dBFS is louder than the ceiling of {} dBFS", take.drive.level_dbfs, highest_level_dbfs),
                      "turn the level down");
    if (take.output < 1 || take.output > device.outputs)
        return refuse(fmt::format("output {} does not exist: {} has {}", take.output, device.name, device.outputs),
                      "see: proofwalk devices");
    std::vector<int> inputs = {take.reference};
    for (const auto& mic : take.mics) inputs.push_back(mic.channel);
    for (const int input : inputs)
        if (input < 1 || input > device.inputs)
            return refuse(fmt::format("input {} does not exist: {} has {}", input, device.name, device.inputs),
                          "see: proofwalk devices");
    std::ranges::sort(inputs);
    if (std::ranges::adjacent_find(inputs) != inputs.end())
        return refuse("two of reference and mics are on one input", "give each its own channel");
    return std::nullopt;
}

}  // namespace

std::string sound_caution() {
    return "Caution: a loud test signal will play. Clear the area near the boxes, protect ears, start low. "
           "Exposure adds up over the walk. Local rules and licensed practice decide.";
}

std::string rigging_caution() {
    return "Caution: only competent riggers change what hangs, with the area below clear. "
           "Local codes and licensed practice decide; this advice replaces neither.";
}

Result<StoredTake> take_stored(Show& show, capture::Device& device, const LiveTake& take,
                               const std::function<void(const capture::Progress&)>& progress,
                               const std::atomic<bool>& stop) {
    const capture::DeviceInfo info = device.info();
    if (auto fault = refusal(take, info)) return std::unexpected(*fault);
    auto driven = drive_signal(show.plan.plan, take.circuit, take.drive);
    if (!driven) return std::unexpected(driven.error());

    capture::PlayRequest request;
    request.sheet.label = fmt::format("{}-{}", take.circuit.empty() ? capture::word(take.drive.kind) : take.circuit,
                                      to_text(now()));
    request.sheet.kind = take.drive.kind;
    if (!take.circuit.empty() && take.drive.kind != signal::TakeKind::silence) request.sheet.sounding = {take.circuit};
    request.sheet.reference = take.reference;
    request.sheet.mics = take.mics;
    request.rate_hz = take.drive.rate_hz;
    request.inputs = take.reference;
    for (const auto& mic : take.mics) request.inputs = std::max(request.inputs, mic.channel);
    request.seconds = driven->whole_s;
    request.played = driven->samples;
    if (take.drive.kind != signal::TakeKind::silence)
        request.outputs.push_back({take.output, std::move(driven->samples)});

    auto recording = device.run(request, progress, stop);
    if (!recording) return std::unexpected(recording.error());
    return store_take(show, *recording, take.known_mics, std::nullopt, origin(take.armed_by, info.name));
}

Result<StoredTake> take_live(Show& show, capture::Device& device, const LiveTake& take,
                             const std::function<void(const capture::Progress&)>& progress,
                             const std::atomic<bool>& stop) {
    auto stored = take_stored(show, device, take, progress, stop);
    if (!stored) return stored;
    if (auto judgement = judged(show, origin(take.armed_by, device.info().name)); !judgement)
        return std::unexpected(judgement.error());
    return stored;
}

}  // namespace proofwalk::walk
