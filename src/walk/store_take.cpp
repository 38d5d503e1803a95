#include "walk/store_take.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <span>

#include "log/impulse_rounding.hpp"
#include "units/side_by_side.hpp"
#include "walk/bands.hpp"
#include "walk/judged.hpp"

namespace proofwalk::walk {
namespace {

Fault about(const capture::Recording& recording, std::string place, std::string reason, std::string remedy) {
    std::string where = "take " + recording.sheet.label;
    if (!place.empty()) where += ", " + place;
    return {FaultKind::input, recording.source.string(), std::move(where), std::move(reason), std::move(remedy)};
}

std::optional<Fault> fits_plan(const plan::Plan& plan, const capture::Recording& recording) {
    const auto circuits = plan.circuits();
    const auto known = [&](const std::string& id) { return std::ranges::find(circuits, id) != circuits.end(); };
    for (const auto& circuit : recording.sheet.sounding)
        if (!known(circuit))
            return about(recording, "", fmt::format("circuit \"{}\" is not in the plan", circuit),
                         "name one of the plan's circuits, see: proofwalk plan show PLAN");
    for (const auto& start : recording.sheet.starts)
        if (!known(start.circuit))
            return about(recording, "", fmt::format("circuit \"{}\" is not in the plan", start.circuit),
                         "name one of the plan's circuits, see: proofwalk plan show PLAN");
    for (const auto& mic : recording.sheet.mics)
        if (!mic.position.empty() && plan.position(mic.position) == nullptr)
            return about(recording, fmt::format("channel {}", mic.channel),
                         fmt::format("position \"{}\" is not in the plan", mic.position),
                         "name one of the plan's positions, see: proofwalk plan show PLAN");
    return std::nullopt;
}

// The newest silence of this mic at this position; another position of the same mic serves too, the room being one.
BandLevels silence_of(const std::vector<log::TakeRecord>& takes, const capture::MicChannel& channel) {
    BandLevels level;
    for (const auto& take : takes)
        for (const auto& silence : take.silence)
            if (silence.mic == channel.mic) level = silence.level_dbfs;
    for (const auto& take : takes)
        for (const auto& silence : take.silence)
            if (silence.mic == channel.mic && silence.position == channel.position) level = silence.level_dbfs;
    return level;
}

std::span<const float> channel_samples(const capture::Recording& recording, int channel) {
    return recording.channels[static_cast<std::size_t>(channel - 1)];
}

signal::Samples samples_of(const capture::Recording& recording, const std::vector<capture::Mic>& mics,
                           const std::vector<log::TakeRecord>& earlier) {
    signal::Samples samples;
    samples.rate_hz = recording.rate_hz;
    samples.kind = recording.sheet.kind;
    samples.device_lost_samples = recording.lost_samples;
    samples.played = recording.played;
    if (recording.sheet.reference) samples.reference = channel_samples(recording, *recording.sheet.reference);
    for (const auto& start : recording.sheet.starts) samples.starts_s.push_back(start.at_s);
    for (const auto& channel : recording.sheet.mics) {
        signal::MicTrack track;
        track.samples = channel_samples(recording, channel.channel);
        const auto mic = std::ranges::find(mics, channel.mic, &capture::Mic::id);
        if (mic != mics.end()) {
            track.response = mic->response;
            track.pascal_per_fs = mic->pascal_per_fs;
            track.latency_s = mic->latency_s;
        }
        if (!track.pascal_per_fs) track.pascal_per_fs = calibration_of(earlier, channel.mic);
        samples.mics.push_back(std::move(track));
        samples.silence_dbfs.push_back(silence_of(earlier, channel));
    }
    return samples;
}

std::vector<std::string> circuits_heard(const capture::TakeSheet& sheet) {
    std::vector<std::string> circuits;
    for (const auto& start : sheet.starts) circuits.push_back(start.circuit);
    if (circuits.empty()) circuits.push_back(join_circuits(sheet.sounding));
    return circuits;
}

bool plays_a_signal(signal::TakeKind kind) {
    return kind == signal::TakeKind::sweep || kind == signal::TakeKind::noise || kind == signal::TakeKind::loopback ||
           kind == signal::TakeKind::match;
}

// A calibrator on each mic named: the factor from samples to pascals.
std::optional<Fault> add_calibrations(const capture::Recording& recording, log::TakeRecord& record) {
    if (!recording.sheet.calibrator_db)
        return about(recording, "", "a calibrator take without level_db", "state the calibrator's level, 94 or 114 dB");
    for (const auto& channel : recording.sheet.mics) {
        const auto factor = signal::pascal_per_fs_from_calibrator(channel_samples(recording, channel.channel),
                                                                  recording.rate_hz, *recording.sheet.calibrator_db);
        if (!factor)
            return about(recording, fmt::format("channel {}", channel.channel), factor.error().reason, factor.error().remedy);
        record.calibrations.push_back({channel.mic, *factor, *recording.sheet.calibrator_db});
    }
    return std::nullopt;
}

// Overlapped sweeps come out one circuit after another; each mic is read in the bands of its circuit.
std::optional<Fault> add_evidence(const Show& show, const capture::Recording& recording,
                                  const std::vector<capture::Mic>& mics, const std::vector<log::TakeRecord>& earlier,
                                  log::TakeRecord& record) {
    const auto circuits = circuits_heard(recording.sheet);
    const acoustics::Air air = record.air.value_or(air_of(show.plan.plan, earlier));
    const signal::Samples samples = samples_of(recording, mics, earlier);
    auto measured = signal::measure(samples, bands_of(show.plan.plan, circuits.front(), "", air));
    if (!measured) {
        Fault fault = measured.error();
        fault.file = recording.source.string();
        fault.place = "take " + recording.sheet.label + (fault.place.empty() ? "" : ", " + fault.place);
        return fault;
    }
    const std::size_t mics_heard = recording.sheet.mics.size();
    record.evidence.resize(measured->size() * mics_heard);
    side_by_side(record.evidence.size(), [&](std::size_t n) {
        const std::size_t c = n / mics_heard, m = n % mics_heard;
        const auto& channel = recording.sheet.mics[m];
        log::EvidenceRecord& heard = record.evidence[n];
        heard = {circuits[c], channel.mic, channel.position, std::move((*measured)[c][m]), {}};
        log::round_impulse(heard.evidence);  // before it is read: the log holds exactly what was read
        heard.reading = signal::read(heard.evidence, bands_of(show.plan.plan, heard.circuit, heard.position, air));
    });
    return std::nullopt;
}

}  // namespace

std::optional<double> calibration_of(const std::vector<log::TakeRecord>& takes, const std::string& mic) {
    for (auto take = takes.rbegin(); take != takes.rend(); ++take)
        for (const auto& calibration : take->calibrations)
            if (calibration.mic == mic) return calibration.pascal_per_fs;
    return std::nullopt;
}

acoustics::Air air_of(const plan::Plan& plan, const std::vector<log::TakeRecord>& takes) {
    for (auto take = takes.rbegin(); take != takes.rend(); ++take)
        if (take->air) return *take->air;
    return plan.air;
}

Result<StoredTake> store_take(Show& show, const capture::Recording& recording, const std::vector<capture::Mic>& mics,
                              const std::optional<acoustics::Air>& air, const log::Origin& origin, bool judge_ahead) {
    if (auto fault = fits_plan(show.plan.plan, recording)) return std::unexpected(*fault);
    const auto same = show.log.take_of_recording(recording.sha256);
    if (!same) return std::unexpected(same.error());
    if (*same) return StoredTake{(*same)->label, (*same)->sha256, (*same)->number, true, **same, {}, false, false};
    const auto earlier = show.log.takes_to_measure_by();
    if (!earlier) return std::unexpected(earlier.error());
    log::Log::Recording raw = show.log.store_ahead(recording.sha256, recording.rate_hz, recording.channels);

    log::TakeRecord record;
    record.sha256 = recording.sha256;
    record.label = recording.sheet.label;
    record.kind = recording.sheet.kind;
    record.sounding = recording.sheet.sounding;
    record.air = air;
    record.rate_hz = recording.rate_hz;
    record.seconds =
        recording.channels.empty() ? 0.0 : static_cast<double>(recording.channels.front().size()) / recording.rate_hz;
    record.plan_revision = show.revision;
    record.origin = origin;
    if (recording.sheet.time) record.origin.when = *recording.sheet.time;
    if (recording.sheet.kind == signal::TakeKind::silence)
        for (const auto& channel : recording.sheet.mics)
            record.silence.push_back(
                {channel.mic, channel.position,
                 signal::band_levels_dbfs(channel_samples(recording, channel.channel), recording.rate_hz)});
    if (recording.sheet.kind == signal::TakeKind::calibrator)
        if (auto fault = add_calibrations(recording, record)) return std::unexpected(*fault);
    if (plays_a_signal(recording.sheet.kind))
        if (auto fault = add_evidence(show, recording, mics, *earlier, record)) return std::unexpected(*fault);

    auto ahead = judge_ahead ? walk::judge_ahead(show, record) : nullptr;
    auto added = show.log.add_take(record, std::move(raw));
    if (!added) return std::unexpected(added.error());
    came_in(show, std::move(ahead), *added);
    record.number = added->number;
    Faults faults = recording.channel_faults;
    if (recording.ended_early) faults.push_back(*recording.ended_early);
    return StoredTake{record.label,      record.sha256,     added->number,          added->already_there,
                      std::move(record), std::move(faults), recording.lost_samples, recording.ended_early.has_value()};
}

}  // namespace proofwalk::walk
