#include "walk/live_take.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <thread>

#include "capture/rescue.hpp"
#include "walk/judged.hpp"

namespace proofwalk::walk {
namespace {

constexpr double highest_level_dbfs = -3.0;  // leaves room for a loopback's gain; louder is never needed
constexpr std::string_view simulated_host = "rehearsal";
constexpr auto log_patience = std::chrono::seconds(10);
constexpr auto between_tries = std::chrono::milliseconds(250);

}  // namespace

std::string sound_caution() {
    return std::string(capture::sound_caution_text());
}

std::optional<Fault> unfit(const LiveTake& take, const capture::DeviceInfo& device) {
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
    if (take.loopback_output && (*take.loopback_output < 1 || *take.loopback_output > device.outputs))
        return refuse(fmt::format("output {} does not exist: {} has {}", *take.loopback_output, device.name, device.outputs),
                      "name the output that is wired to the reference, see: proofwalk devices");
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

SoundWatch* watch_for(const LiveTake& take, const capture::DeviceInfo& device, SoundWatch& own) {
    if (take.watch != nullptr) return take.watch;
    return device.host_system == simulated_host ? nullptr : &own;
}

std::string rigging_caution() {
    return "Caution: only competent riggers change what hangs, with the area below clear. "
           "Local codes and licensed practice decide; this advice replaces neither.";
}

bool asks_to_rig(std::span<const verify::CheckResult> checks) {
    using enum plan::CheckKind;
    return std::ranges::any_of(checks, [](const verify::CheckResult& check) {
        const bool of_the_hang = check.kind == aim_h || check.kind == aim_v || check.kind == splay || check.kind == spacing || check.kind == crossover;
        return of_the_hang && check.verdict == verify::Verdict::fail && !check.advice.empty();
    });
}

Result<PreparedPlay> prepared(const plan::Plan& plan, const LiveTake& take, const Drive& drive) {
    auto driven = drive_signal(plan, take.circuit, drive);
    if (!driven) return std::unexpected(driven.error());
    PreparedPlay play;
    play.start_s = driven->start_s;
    capture::PlayRequest& request = play.request;
    request.sheet.kind = drive.kind;
    const bool plays = drive.kind != signal::TakeKind::silence && drive.kind != signal::TakeKind::calibrator;
    if (!take.circuit.empty() && plays) request.sheet.sounding = {take.circuit};
    request.sheet.reference = take.reference;
    request.sheet.mics = take.mics;
    request.sheet.calibrator_db = take.calibrator_db;
    // With one cable from an output to an input the loopback is what is measured, against the signal as it was made.
    if (drive.kind == signal::TakeKind::loopback && take.mics.empty()) {
        request.sheet.reference.reset();
        request.sheet.mics = {{take.reference, "loopback", ""}};
    }
    request.rate_hz = drive.rate_hz;
    request.inputs = take.reference;
    for (const auto& mic : take.mics) request.inputs = std::max(request.inputs, mic.channel);
    request.seconds = driven->whole_s;
    request.played = driven->samples;
    if (!plays) return play;
    if (take.loopback_output && *take.loopback_output != take.output) request.outputs.push_back({*take.loopback_output, driven->samples});
    request.outputs.push_back({take.output, std::move(driven->samples)});
    return play;
}

Result<StoredTake> store_or_rescue(Show& show, const capture::Recording& recording, const LiveTake& take, const std::string& device,
                                   const std::atomic<bool>& stop) {
    const auto until = std::chrono::steady_clock::now() + log_patience;
    for (bool said = false;;) {
        auto stored = store_take(show, recording, take.known_mics, std::nullopt, origin(take.armed_by, device), true);
        if (stored || stored.error().kind != FaultKind::log) return stored;
        if (!said && take.say) take.say(sentence(stored.error()) + "; the take is kept in memory and tried again for 10 s");
        said = true;
        if (!stop && std::chrono::steady_clock::now() < until) {
            std::this_thread::sleep_for(between_tries);
            continue;
        }
        Fault fault = stored.error();
        const auto kept = capture::rescue(recording, take.known_mics);
        fault.remedy = kept ? fmt::format("{}; the recording is kept, take it in with: proofwalk ingest {} --log {}", fault.remedy, kept->string(),
                                          show.log.file().string())
                            : fault.remedy + "; " + sentence(kept.error());
        return std::unexpected(fault);
    }
}

namespace {

Result<double> cleared_level(Show& show, capture::Device& device, const LiveTake& take, SoundWatch& watch, const std::atomic<bool>& stop) {
    // The name was given by a person who read the caution: that is what giving it means.
    if (!watch.armed())
        if (auto armed = watch.arm(take.armed_by, true, now()); !armed) return std::unexpected(armed.error());
    auto cleared = watch.clear(show, device, take, take.say, take.ask, stop);
    if (!cleared) return std::unexpected(cleared.error());
    return cleared->level_dbfs;
}

}  // namespace

Result<StoredTake> take_stored(Show& show, capture::Device& device, const LiveTake& take,
                               const std::function<void(const capture::Progress&)>& progress,
                               const std::atomic<bool>& stop) {
    const capture::DeviceInfo info = device.info();
    if (auto fault = unfit(take, info)) return std::unexpected(*fault);
    SoundWatch own;
    SoundWatch* watch = watch_for(take, info, own);
    Drive drive = take.drive;
    if (watch != nullptr) {
        const auto level = cleared_level(show, device, take, *watch, stop);
        if (!level) {
            if (stop) watch->disarm();
            return std::unexpected(level.error());
        }
        drive.level_dbfs = *level;
    }
    auto play = prepared(show.plan.plan, take, drive);
    if (!play) return std::unexpected(play.error());
    play->request.sheet.label =
        fmt::format("{}-{}", take.circuit.empty() ? capture::word(take.drive.kind) : take.circuit, to_text(now()));
    auto recording = device.run(play->request, progress, stop);
    if (!recording) {
        if (stop && watch != nullptr) watch->disarm();
        return std::unexpected(recording.error());
    }
    auto stored = store_or_rescue(show, *recording, take, info.name, stop);
    if (watch != nullptr) watch->heard(show, take, *recording, drive.level_dbfs, play->start_s, drive.length_s);
    return stored;
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
