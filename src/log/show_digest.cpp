#include "log/show_digest.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "log/open_log.hpp"
#include "log/store_error.hpp"

namespace proofwalk::log {
namespace {

using Key = std::pair<std::string, std::string>;  // subject, check

template <class Value>
Value value_or_throw(Result<Value> result) {
    if (!result) throw StoreError{std::move(result.error())};
    return std::move(*result);
}

// The skips that still stand: the newest of a check, not taken up, with no newer take among those it was judged from.
std::map<Key, SkipRecord> standing_skips(const Log& log, const std::vector<verify::CheckResult>& checks,
                                         const std::map<std::string, std::int64_t>& take_numbers) {
    std::map<Key, SkipRecord> newest;
    for (SkipRecord& skip : value_or_throw(log.skips())) {
        Key key{skip.subject, skip.check};
        newest[key] = std::move(skip);
    }
    std::erase_if(newest, [&](const auto& entry) {
        const SkipRecord& skip = entry.second;
        if (skip.taken_up) return true;
        return std::ranges::any_of(checks, [&](const verify::CheckResult& check) {
            return check.subject == skip.subject && plan::word(check.kind) == skip.check &&
                   std::ranges::any_of(check.takes, [&](const std::string& label) {
                       const auto take = take_numbers.find(label);
                       return take != take_numbers.end() && take->second > skip.after_take;
                   });
        });
    });
    return newest;
}

void count(verify::Counts& counts, verify::Verdict verdict) {
    switch (verdict) {
        case verify::Verdict::pass: ++counts.pass; break;
        case verify::Verdict::fail: ++counts.fail; break;
        case verify::Verdict::unsure: ++counts.unsure; break;
        case verify::Verdict::open: ++counts.open; break;
        case verify::Verdict::skipped: ++counts.skipped; break;
    }
}

void read_verdicts(const Log& log, const std::vector<TakeTime>& takes, ShowDigest& digest) {
    const auto newest = value_or_throw(log.newest_judgement());
    if (newest) digest.checks = newest->judgement.checks;
    std::map<std::string, std::int64_t> take_numbers;
    for (const TakeTime& take : takes) take_numbers[take.label] = take.number;
    const auto skips = standing_skips(log, digest.checks, take_numbers);
    for (const auto& [key, skip] : skips)
        digest.left_out.push_back(
            {0, LeftOutHow::skipped, skip.check, skip.subject, skip.origin.who, skip.why, skip.origin.when});
    for (const verify::CheckResult& check : digest.checks) {
        const std::string word{plan::word(check.kind)};
        const bool skipped = skips.contains({check.subject, word});
        count(digest.show.counts, skipped ? verify::Verdict::skipped : check.verdict);
        if (!skipped && check.verdict == verify::Verdict::open)
            digest.left_out.push_back({0, LeftOutHow::never_measured, word, check.subject, "", check.says, newest->origin.when});
    }
    digest.show.signatures = value_or_throw(log.sign_offs());
    digest.show.sign_offs = static_cast<int>(digest.show.signatures.size());
    for (const SignOff& sign_off : digest.show.signatures) {
        for (const Exception& exception : sign_off.exceptions)
            digest.left_out.push_back({0, LeftOutHow::signed_as_exception, exception.check, exception.subject,
                                       sign_off.origin.who, sign_off.role, sign_off.origin.when});
    }
}

void read_times(std::vector<TakeTime> takes, ReviewedShow& show) {
    show.takes = static_cast<int>(takes.size());
    show.rehearsed = std::ranges::any_of(takes, [](const TakeTime& take) { return take.device == "rehearsal"; });
    WalkTimes times = walk_times(std::move(takes));
    show.first_take = times.first_take;
    show.last_take = times.last_take;
    show.walk_s = times.walk_s;
    show.pauses_s = times.pauses_s;
    show.circuits = std::move(times.circuits);
}

}  // namespace

WalkTimes walk_times(std::vector<TakeTime> takes) {
    WalkTimes times;
    if (takes.empty()) return times;
    std::ranges::stable_sort(takes, {}, [](const TakeTime& take) { return take.when.utc_s; });
    times.first_take = takes.front().when;
    times.last_take = takes.back().when;
    std::map<std::string, CircuitTime> circuits;
    std::set<std::string> seen;
    for (std::size_t place = 0; place < takes.size(); ++place) {
        const TakeTime& take = takes[place];
        const double gap_s = place == 0 ? 0.0 : static_cast<double>(take.when.utc_s - takes[place - 1].when.utc_s);
        (gap_s > pause_s ? times.pauses_s : times.walk_s) += gap_s;
        CircuitTime& circuit = circuits[take.circuit];
        circuit.circuit = take.circuit;
        ++circuit.takes;
        if (!seen.insert(take.circuit + "\n" + take.places).second) ++circuit.retakes;
        if (gap_s <= pause_s) circuit.seconds += gap_s;
    }
    for (auto& [name, circuit] : circuits) times.circuits.push_back(std::move(circuit));
    std::ranges::stable_sort(times.circuits, std::ranges::greater{}, &CircuitTime::seconds);
    return times;
}

Result<ShowDigest> digest_of(const std::filesystem::path& file) {
    return as_result([&] {
        const Log log = value_or_throw(Log::open(file, Mode::read));
        ShowDigest digest;
        digest.show.file = file;
        const auto plans = value_or_throw(log.plans());
        digest.show.plan_revisions = static_cast<int>(plans.size());
        if (!plans.empty()) {
            digest.show.plan_name = plans.back().name;
            digest.show.plan_sha256 = plans.back().sha256;
        }
        digest.show.people = value_or_throw(log.people());
        digest.show.changes = static_cast<int>(value_or_throw(log.changes()).size());
        for (const Note& note : value_or_throw(log.notes())) digest.show.incidents += note.incident ? 1 : 0;
        std::vector<TakeTime> takes = value_or_throw(log.take_times());
        read_verdicts(log, takes, digest);
        read_times(std::move(takes), digest.show);
        for (auto& key : value_or_throw(log.ever_failed())) digest.failed.insert(std::move(key));
        return digest;
    });
}

}  // namespace proofwalk::log
