#include "walk/judged.hpp"

#include <algorithm>
#include <future>
#include <limits>
#include <utility>

#include "walk/bands.hpp"
#include "walk/gear.hpp"
#include "walk/heard_curves.hpp"
#include "walk/mic_match.hpp"
#include "walk/store_take.hpp"

namespace proofwalk::walk {
namespace {

// A change of a box, pair, circuit, array or position touches these circuits; of a position: all.
bool touches(const plan::Plan& plan, const std::string& subject, const std::string& circuit) {
    for (const std::string& part : split_circuits(subject)) {
        if (part == circuit) return true;
        if (const plan::Box* box = plan.box(part); box != nullptr && box->circuit == circuit) return true;
        for (const plan::Array& array : plan.arrays)
            if (array.id == part)
                for (const std::string& id : array.boxes)
                    if (const plan::Box* box = plan.box(id); box != nullptr && box->circuit == circuit) return true;
    }
    return false;
}

bool retired_at(const plan::Plan& plan, const std::vector<log::ChangeRecord>& changes, const log::TakeRecord& take,
                const std::string& circuit, const std::string& position) {
    return retired(plan, changes, take, circuit) || std::ranges::any_of(changes, [&](const log::ChangeRecord& change) {
               return take.number <= change.after_take && change.subject == position;
           });
}

// The newest skip of a check stands until somebody takes it up again or a newer take lets the check be judged.
Result<std::vector<verify::Skip>> standing(const Show& show, const std::vector<log::SkipRecord>& skips) {
    std::vector<verify::Skip> standing;
    if (skips.empty()) return standing;
    for (const plan::PlannedCheck& check : plan::checks(show.plan.plan)) {
        const auto newest = std::find_if(skips.rbegin(), skips.rend(), [&](const log::SkipRecord& skip) {
            return plan::word(check.kind) == skip.check && check.subject == skip.subject;
        });
        if (newest == skips.rend() || newest->taken_up) continue;
        const auto heard = show.log.heard_after(newest->after_take, check.circuits, check.positions);
        if (!heard) return std::unexpected(heard.error());
        if (!*heard) standing.push_back({newest->check, newest->subject, newest->origin.who, newest->why, newest->origin.when});
    }
    return standing;
}

}  // namespace

Result<Evidence> load_evidence(const Show& show, bool with_impulses) {
    Evidence evidence;
    auto takes = show.log.takes(with_impulses);
    if (!takes) return std::unexpected(takes.error());
    auto changes = show.log.changes();
    if (!changes) return std::unexpected(changes.error());
    auto skips = show.log.skips();
    if (!skips) return std::unexpected(skips.error());
    auto hand = show.log.hand_readings();
    if (!hand) return std::unexpected(hand.error());
    auto gear = show.log.gear();
    if (!gear) return std::unexpected(gear.error());
    return Evidence{std::move(*takes), std::move(*changes), std::move(*skips), std::move(*hand), std::move(*gear)};
}

bool retired(const plan::Plan& plan, const std::vector<log::ChangeRecord>& changes, const log::TakeRecord& take,
             const std::string& circuit) {
    const auto parts = split_circuits(circuit);
    return std::ranges::any_of(changes, [&](const log::ChangeRecord& change) {
        return take.number <= change.after_take &&
               std::ranges::any_of(parts, [&](const auto& part) { return touches(plan, change.subject, part); });
    });
}

verify::Input input_of(const Show& show, const Evidence& evidence) {
    verify::Input input;
    input.plan = show.plan.plan;
    input.hand = evidence.hand;
    input.gear_fault = gear_fault(evidence.gear);
    const MicMatch match = mic_match(input.plan, evidence.takes);
    for (const auto& take : evidence.takes) {
        if (take.air) input.air = take.air;
        for (const auto& heard : take.evidence)
            if (!retired_at(input.plan, evidence.changes, take, heard.circuit, heard.position))
                input.readings.push_back({take.label, heard.circuit, heard.mic, heard.position, matched(match, input.plan, heard)});
    }
    for (const auto& [mic, deviation] : match) input.mics_matched.push_back(mic);
    return input;
}

struct JudgingAhead {
    log::Basis basis;  // of the log without the take, until it has come in
    std::future<verify::Judgement> judgement;
};

std::shared_ptr<JudgingAhead> judge_ahead(const Show& show, const log::TakeRecord& coming) {
    const auto basis = show.log.newest_basis();
    auto evidence = load_evidence(show);
    if (!basis || !evidence) return nullptr;  // what is wrong is told by the storing
    log::TakeRecord take;
    take.number = std::numeric_limits<std::int64_t>::max();  // after every change
    take.label = coming.label;
    take.kind = coming.kind;
    take.air = coming.air;
    for (const auto& heard : coming.evidence) take.evidence.push_back({heard.circuit, heard.mic, heard.position, {}, heard.reading});
    evidence->takes.push_back(std::move(take));
    return std::make_shared<JudgingAhead>(*basis, std::async(std::launch::async, verify::judge, input_of(show, *evidence)));
}

void came_in(Show& show, std::shared_ptr<JudgingAhead> ahead, const log::Log::Added& take) {
    show.ahead.reset();
    if (!ahead || take.already_there || take.take_before != ahead->basis.last_take) return;
    ahead->basis.last_take = take.number;
    show.ahead = std::move(ahead);
}

Result<verify::Judgement> judged(Show& show, const log::Origin& origin) {
    auto basis = show.log.newest_basis();
    if (!basis) return std::unexpected(basis.error());
    auto stored = show.log.newest_judgement();
    if (!stored) return std::unexpected(stored.error());
    if (*stored && (*stored)->basis == *basis) return std::move((*stored)->judgement);
    const auto ahead = std::exchange(show.ahead, nullptr);
    verify::Judgement judgement;
    if (ahead && ahead->basis == *basis) {
        judgement = ahead->judgement.get();
    } else {
        auto evidence = load_evidence(show);
        if (!evidence) return std::unexpected(evidence.error());
        judgement = verify::judge(input_of(show, *evidence));
    }
    if (auto added = show.log.add_judgement(judgement, *basis, origin); !added) return std::unexpected(added.error());
    return judgement;
}

Result<verify::Tally> tally(const Show& show) {
    verify::Tally tally;
    tally.plan_name = show.plan.plan.name;
    tally.plan_sha256 = show.plan.sha256;
    tally.plan_revision = show.revision;
    auto basis = show.log.newest_basis();
    if (!basis) return std::unexpected(basis.error());
    auto stored = show.log.newest_judgement();
    if (!stored) return std::unexpected(stored.error());
    auto skips = show.log.skips();
    if (!skips) return std::unexpected(skips.error());
    auto left_out = standing(show, *skips);
    if (!left_out) return std::unexpected(left_out.error());
    verify::Judgement judgement;
    if (*stored && (*stored)->basis == *basis) {
        judgement = std::move((*stored)->judgement);
    } else {
        auto evidence = load_evidence(show);
        if (!evidence) return std::unexpected(evidence.error());
        judgement = verify::judge(input_of(show, *evidence));
    }
    tally.checks = verify::with_skips(std::move(judgement.checks), *left_out);
    tally.fits = std::move(judgement.fits);
    tally.drive_latency_ms = judgement.drive_latency_ms;
    return tally;
}

Result<std::vector<report::ReadingRow>> readings(const Show& show) {
    auto evidence = load_evidence(show, false);
    if (!evidence) return std::unexpected(evidence.error());
    const plan::Plan& plan = show.plan.plan;
    const MicMatch match = mic_match(plan, evidence->takes);
    const acoustics::Air air = air_of(plan, evidence->takes);
    std::vector<report::ReadingRow> rows;
    for (const auto& take : evidence->takes)
        for (const auto& heard : take.evidence) {
            report::ReadingRow row;
            row.taken = {take.label, heard.circuit, heard.mic, heard.position, matched(match, plan, heard)};
            row.retired = retired_at(plan, evidence->changes, take, heard.circuit, heard.position);
            const auto circuits = split_circuits(heard.circuit);
            const auto boxes = circuits.empty() ? std::vector<const plan::Box*>{} : plan.boxes_of(circuits.front());
            const plan::Position* position = plan.position(heard.position);
            if (!boxes.empty() && position != nullptr) {
                Vec3 middle;
                for (const plan::Box* box : boxes) middle = middle + (1.0 / static_cast<double>(boxes.size())) * box->at;
                row.distance_m = distance(middle, position->at);
                row.surfaces = surfaces_of(plan, *boxes.front(), heard.position, row.taken.reading, air);
            }
            rows.push_back(std::move(row));
        }
    return rows;
}

}  // namespace proofwalk::walk
