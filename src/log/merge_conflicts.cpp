#include "log/merge_conflicts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "log/log.hpp"
#include "log/packed_reading.hpp"
#include "log/store_error.hpp"

namespace proofwalk::log {
namespace {

template <class Value>
Value value_or_throw(Result<Value> result) {
    if (!result) throw StoreError{std::move(result.error())};
    return std::move(*result);
}

// What one log says, as far as it can contradict another.
struct Said {
    std::string name;
    std::optional<PlanRevision> plan;
    std::vector<TakeRecord> takes;
    std::vector<SkipRecord> skips;
    std::vector<SignOff> sign_offs;
    std::map<std::string, verify::CheckResult> checks;  // by "aim-v M1"
};

Said said_by(const std::filesystem::path& file) {
    const Log log = value_or_throw(Log::open(file, Mode::read));
    Said said;
    said.name = file.string();
    said.plan = value_or_throw(log.newest_plan());
    said.takes = value_or_throw(log.takes(false));
    said.skips = value_or_throw(log.skips());
    said.sign_offs = value_or_throw(log.sign_offs());
    if (auto newest = value_or_throw(log.newest_judgement()))
        for (verify::CheckResult& check : newest->judgement.checks) {
            const std::string key = fmt::format("{} {}", plan::word(check.kind), check.subject);
            said.checks[key] = std::move(check);
        }
    return said;
}

bool same_readings(const TakeRecord& first, const TakeRecord& second) {
    return std::ranges::equal(first.evidence, second.evidence, [](const EvidenceRecord& one, const EvidenceRecord& other) {
        return std::tie(one.circuit, one.mic, one.position) == std::tie(other.circuit, other.mic, other.position) &&
               packed(one.reading) == packed(other.reading);
    });
}

bool measured(verify::Verdict verdict) {
    return verdict == verify::Verdict::pass || verdict == verify::Verdict::fail || verdict == verify::Verdict::unsure;
}

class Comparison {
public:
    Comparison(const Said& first, const Said& second, std::vector<Conflict>& conflicts)
        : first_(first), second_(second), conflicts_(conflicts) {}

    void run() {
        compare_plans();
        compare_takes();
        compare_verdicts();
        compare_skips(first_, second_);
        compare_skips(second_, first_);
        compare_sign_offs(first_, second_);
        compare_sign_offs(second_, first_);
    }

private:
    void compare_plans() {
        if (!first_.plan || !second_.plan || first_.plan->sha256 == second_.plan->sha256) return;
        conflicts_.push_back({"plan", first_.plan->name,
                              fmt::format("{} ends with plan {}..., {} with {}...; the one read last counts", first_.name,
                                          first_.plan->sha256.substr(0, 12), second_.name, second_.plan->sha256.substr(0, 12))});
    }

    void compare_takes() {
        std::map<std::string, const TakeRecord*> by_hash, by_label;
        for (const TakeRecord& take : first_.takes) by_hash[take.sha256] = by_label[take.label] = &take;
        std::set<std::string> labels;
        for (const TakeRecord& take : second_.takes) {
            const auto same = by_hash.find(take.sha256);
            if (same != by_hash.end() && !same_readings(*same->second, take))
                conflicts_.push_back({"take", take.label,
                                      "the same recording was read differently in the two logs (another plan or version); the "
                                      "reading stored first counts"});
            const auto labelled = by_label.find(take.label);
            if (labelled != by_label.end() && labelled->second->sha256 != take.sha256) labels.insert(take.label);
        }
        if (!labels.empty())
            conflicts_.push_back({"label", *labels.begin(),
                                  fmt::format("{} name{} of takes stand for different recordings in {} and {}; takes are "
                                              "told apart by their hash",
                                              labels.size(), labels.size() == 1 ? "" : "s", first_.name, second_.name)});
    }

    void compare_verdicts() {
        for (const auto& [key, result] : first_.checks) {
            const auto other = second_.checks.find(key);
            if (other == second_.checks.end() || result.verdict == other->second.verdict) continue;
            if (measured(result.verdict) && measured(other->second.verdict))
                conflicts_.push_back({"verdict", key,
                                      fmt::format("{} in {}, {} in {}; judged again from the takes of both",
                                                  verify::word(result.verdict), first_.name, verify::word(other->second.verdict),
                                                  second_.name)});
        }
    }

    void compare_skips(const Said& skipping, const Said& other) {
        for (const SkipRecord& skip : skipping.skips) {
            const std::string key = fmt::format("{} {}", skip.check, skip.subject);
            const auto result = other.checks.find(key);
            if (!skip.taken_up && result != other.checks.end() && measured(result->second.verdict))
                conflicts_.push_back({"skip", key,
                                      fmt::format("skipped in {} ({}), {} in {}", skipping.name, skip.why,
                                                  verify::word(result->second.verdict), other.name)});
        }
    }

    void compare_sign_offs(const Said& signing, const Said& other) {
        std::set<std::string> known;
        for (const TakeRecord& take : signing.takes) known.insert(take.sha256);
        const auto unseen = std::ranges::count_if(
            other.takes, [&](const TakeRecord& take) { return !known.contains(take.sha256); });
        for (const SignOff& sign_off : signing.sign_offs)
            if (unseen > 0)
                conflicts_.push_back({"sign-off", sign_off.origin.who,
                                      fmt::format("signed in {} without {} take{} of {}: stale until signed again", signing.name,
                                                  unseen, unseen == 1 ? "" : "s", other.name)});
    }

    const Said& first_;
    const Said& second_;
    std::vector<Conflict>& conflicts_;
};

}  // namespace

std::vector<Conflict> conflicts_between(const std::vector<std::filesystem::path>& sources) {
    std::vector<std::filesystem::path> in_order = sources;
    std::ranges::sort(in_order);
    std::vector<Said> said;
    for (const auto& file : in_order) said.push_back(said_by(file));
    std::vector<Conflict> conflicts;
    for (std::size_t first = 0; first < said.size(); ++first)
        for (std::size_t second = first + 1; second < said.size(); ++second)
            Comparison(said[first], said[second], conflicts).run();
    std::ranges::sort(conflicts, {}, [](const Conflict& conflict) { return std::tie(conflict.what, conflict.subject, conflict.says); });
    return conflicts;
}

}  // namespace proofwalk::log
