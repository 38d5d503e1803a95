#include "walk/rehearse.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "walk/excite.hpp"
#include "walk/judged.hpp"

namespace proofwalk::walk {
namespace {

constexpr int reference_channel = 1;

std::vector<std::vector<const plan::Position*>> rounds(const plan::Plan& plan, int mics) {
    std::vector<std::vector<const plan::Position*>> groups;
    for (const plan::Position& position : plan.positions) {
        if (groups.empty() || std::ssize(groups.back()) == mics) groups.emplace_back();
        groups.back().push_back(&position);
    }
    return groups;
}

capture::TakeSheet sheet_for(const std::vector<const plan::Position*>& round, const std::string& circuit, int number) {
    capture::TakeSheet sheet;
    sheet.label = fmt::format("r{:02}", number);
    sheet.kind = circuit.empty() ? signal::TakeKind::silence : signal::TakeKind::sweep;
    if (!circuit.empty()) sheet.sounding = {circuit};
    sheet.reference = reference_channel;
    int channel = reference_channel;
    for (const plan::Position* position : round) {
        ++channel;
        sheet.mics.push_back({channel, fmt::format("m{}", channel - reference_channel), position->id});
    }
    return sheet;
}

}  // namespace

Result<std::vector<rehearsal::Hung>> rehearse(Show& show, const RehearsalOptions& options, const Logged& logged) {
    const plan::Plan& plan = show.plan.plan;
    auto room = rehearsal::make_room(plan, options.room);
    if (!room) return std::unexpected(room.error());
    const auto groups = rounds(plan, options.mics);
    const auto circuits = plan.circuits();
    const std::size_t whole = groups.size() * (circuits.size() + 1);
    const log::Origin by = origin("", "rehearsal");
    std::size_t done = 0;
    for (const auto& round : groups) {
        std::vector<std::string> takes = {""};  // a silence take first: the noise at these places
        takes.insert(takes.end(), circuits.begin(), circuits.end());
        for (const std::string& circuit : takes) {
            ++done;
            Drive drive;
            drive.kind = circuit.empty() ? signal::TakeKind::silence : signal::TakeKind::sweep;
            drive.rate_hz = options.room.rate_hz;
            drive.length_s = options.sweep_s;
            auto driven = drive_signal(plan, circuit, drive);
            if (!driven) return std::unexpected(driven.error());
            capture::PlayRequest request;
            request.sheet = sheet_for(round, circuit, static_cast<int>(done));
            request.rate_hz = drive.rate_hz;
            request.inputs = static_cast<int>(round.size()) + reference_channel;
            request.seconds = driven->whole_s;
            request.played = driven->samples;
            auto recording = (*room)->render(request);
            if (!recording) return std::unexpected(recording.error());
            auto stored = store_take(show, *recording, {}, std::nullopt, by);
            if (!stored) return std::unexpected(stored.error());
            logged(*stored, done, whole);
        }
    }
    if (auto judgement = judged(show, by); !judgement) return std::unexpected(judgement.error());
    return (*room)->hung();
}

}  // namespace proofwalk::walk
