#include "walk/decisions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <ranges>

#include "units/nearest.hpp"
#include "units/sha256.hpp"
#include "walk/checklist.hpp"

namespace proofwalk::walk {
namespace {

Fault bad_input(const Show& show, std::string place, std::string reason, std::string remedy) {
    return {FaultKind::input, show.log.file().string(), std::move(place), std::move(reason), std::move(remedy)};
}

std::string did_you_mean(const std::string& word, const std::vector<std::string>& known, std::string_view kind) {
    return nearest_remedy(word, std::vector<std::string_view>(known.begin(), known.end()), kind);
}

std::optional<Fault> planned(const Show& show, const std::string& check, const std::string& subject) {
    std::vector<std::string> subjects, words;
    for (const auto& item : plan::checks(show.plan.plan)) {
        const std::string word{plan::word(item.kind)};
        if (word == check && item.subject == subject) return std::nullopt;
        if (word == check) subjects.push_back(item.subject);
        words.push_back(word);
    }
    if (subjects.empty())
        return bad_input(show, "", fmt::format("the plan asks no check \"{}\"", check), did_you_mean(check, words, "check"));
    return bad_input(show, check, fmt::format("the plan does not ask it of \"{}\"", subject),
                     did_you_mean(subject, subjects, "subject"));
}

std::optional<Fault> needed(const Show& show, const std::string& text, std::string_view what, std::string_view option) {
    if (text.find_first_not_of(" \t\n") != std::string::npos) return std::nullopt;
    return bad_input(show, "", fmt::format("{} is missing", what), fmt::format("give it with {}", option));
}

std::optional<Fault> known_subject(const Show& show, const std::string& subject) {
    const plan::Plan& plan = show.plan.plan;
    std::vector<std::string> known = plan.circuits();
    for (const auto& box : plan.boxes) known.push_back(box.id);
    for (const auto& array : plan.arrays) known.push_back(array.id);
    for (const auto& position : plan.positions) known.push_back(position.id);
    for (const auto& item : plan::checks(plan)) known.push_back(item.subject);
    if (std::ranges::find(known, subject) != known.end()) return std::nullopt;
    return bad_input(show, "", fmt::format("\"{}\" is no box, pair, circuit, array or position of the plan", subject),
                     did_you_mean(subject, known, "subject"));
}

// What a signature covers, in a form that only changes when a verdict or its figure does.
std::string digest(const plan::Plan& plan, const verify::Tally& tally, const std::vector<std::string>& scope) {
    std::string text = tally.plan_sha256;
    for (const auto& check : tally.checks | std::views::filter([&](const auto& entry) { return in_scope(plan, entry, scope); }))
        text += fmt::format("\n{} {} {} {}", plan::word(check.kind), check.subject, verify::word(check.verdict),
                            check.value ? fmt::format("{:.9g}", *check.value) : "none");
    return sha256(text);
}

std::int64_t newest_take(const Evidence& evidence) {
    return evidence.takes.empty() ? 0 : evidence.takes.back().number;
}

std::string name_of(const verify::CheckResult& check) {
    return fmt::format("{}:{}", plan::word(check.kind), check.subject);
}

constexpr SkipReason skip_reasons[] = {
    {"no-access", "no access to the place"},
    {"no-time", "no time before doors"},
    {"not-hung", "not hung or not powered yet"},
    {"not-used", "not used in this show"},
    {"noise", "too noisy to measure"},
    {"by-eye", "seen to by hand and eye instead"},
};

// Verdicts that were judged anew since, in words.
std::string judged_since(const log::SignOff& sign_off, const Show& show, const verify::Tally& tally) {
    constexpr std::size_t most_named = 4;
    std::vector<std::string> named;
    for (const auto& check : tally.checks) {
        if (!in_scope(show.plan.plan, check, sign_off.scope)) continue;
        const auto past = show.log.history(std::string{plan::word(check.kind)}, check.subject);
        if (!past) continue;
        const auto before = std::find_if(past->rbegin(), past->rend(), [&](const auto& entry) { return entry.number < sign_off.number; });
        if (before == past->rbegin() || before == past->rend()) continue;
        named.push_back(before->verdict == check.verdict
                            ? fmt::format("{} of {} has another figure", plan::word(check.kind), check.subject)
                            : fmt::format("{} of {} was {}, is {}", plan::word(check.kind), check.subject, verify::word(before->verdict),
                                          verify::word(check.verdict)));
    }
    std::string text;
    for (std::size_t at = 0; at < std::min(named.size(), most_named); ++at) text += (at == 0 ? "" : ", ") + named[at];
    return named.size() > most_named ? text + fmt::format(" and {} more", named.size() - most_named) : text;
}

}  // namespace

std::span<const SkipReason> usual_skip_reasons() { return skip_reasons; }

std::string skip_reason(const std::string& why) {
    for (const SkipReason& reason : skip_reasons)
        if (reason.word == why) return std::string{reason.says};
    return why;
}

Result<void> skip(Show& show, const std::string& check, const std::string& subject, const std::string& who,
                  const std::string& why) {
    if (auto fault = planned(show, check, subject)) return std::unexpected(*fault);
    if (auto fault = needed(show, who, "the name of who skips", "--who NAME")) return std::unexpected(*fault);
    if (auto fault = needed(show, why, "the reason", "--why TEXT")) return std::unexpected(*fault);
    auto basis = show.log.newest_basis();
    if (!basis) return std::unexpected(basis.error());
    return show.log.add_skip({check, subject, skip_reason(why), origin(who), basis->last_take, false});
}

Result<void> take_up(Show& show, const std::string& check, const std::string& subject, const std::string& who) {
    if (auto fault = planned(show, check, subject)) return std::unexpected(*fault);
    if (auto fault = needed(show, who, "the name of who takes it up again", "--who NAME")) return std::unexpected(*fault);
    const auto current = tally(show);
    if (!current) return std::unexpected(current.error());
    const bool skipped = std::ranges::any_of(current->checks, [&](const auto& entry) {
        return plan::word(entry.kind) == check && entry.subject == subject && entry.verdict == verify::Verdict::skipped;
    });
    if (!skipped) return std::unexpected(bad_input(show, check, fmt::format("no skip of it stands for \"{}\"", subject), "see: proofwalk tally LOG"));
    auto basis = show.log.newest_basis();
    if (!basis) return std::unexpected(basis.error());
    return show.log.add_skip({check, subject, "", origin(who), basis->last_take, true});
}

Result<int> change(Show& show, const std::string& subject, const std::string& who, const std::string& what) {
    if (auto fault = known_subject(show, subject)) return std::unexpected(*fault);
    if (auto fault = needed(show, who, "the name of who changed it", "--who NAME")) return std::unexpected(*fault);
    if (auto fault = needed(show, what, "what was changed", "--what TEXT")) return std::unexpected(*fault);
    auto basis = show.log.newest_basis();
    if (!basis) return std::unexpected(basis.error());
    auto added = show.log.add_change({subject, what, origin(who), basis->last_take});
    if (!added) return std::unexpected(added.error());
    auto now_judged = judged(show, origin(who));
    if (!now_judged) return std::unexpected(now_judged.error());
    return static_cast<int>(std::ranges::count(now_judged->checks, verify::Verdict::open, &verify::CheckResult::verdict));
}

Checked<log::SignOff> sign(Show& show, const Signing& signing) {
    if (auto fault = needed(show, signing.who, "the name of who signs", "--who NAME")) return std::unexpected(Faults{*fault});
    if (auto fault = needed(show, signing.role, "the role of who signs", "--role ROLE")) return std::unexpected(Faults{*fault});
    const plan::Plan& plan = show.plan.plan;
    if (auto fault = unknown_in_scope(plan, signing.scope)) {
        fault->file = show.log.file().string();
        return std::unexpected(Faults{*fault});
    }
    auto current = tally(show);
    if (!current) return std::unexpected(Faults{current.error()});
    auto basis = show.log.newest_basis();
    if (!basis) return std::unexpected(Faults{basis.error()});

    Faults faults;
    std::vector<log::Exception> exceptions;
    for (const std::string& text : signing.exceptions) {
        const auto colon = text.find(':');
        const std::string check = text.substr(0, colon);
        const std::string subject = colon == std::string::npos ? "" : text.substr(colon + 1);
        if (auto fault = planned(show, check, subject)) faults.push_back(*fault);
        exceptions.push_back({check, subject});
    }
    for (const auto& check : current->checks) {
        const std::string name = name_of(check);
        if (!in_scope(plan, check, signing.scope)) continue;
        if (check.verdict == verify::Verdict::pass || std::ranges::find(signing.exceptions, name) != signing.exceptions.end())
            continue;
        faults.push_back(bad_input(show, fmt::format("{} of {}", plan::word(check.kind), check.subject),
                                   fmt::format("is {}{}{}", verify::word(check.verdict), check.says.empty() ? "" : ": ",
                                               check.says),
                                   fmt::format("settle it, or accept it by name with --except {}", name)));
    }
    if (!faults.empty()) return std::unexpected(faults);

    log::SignOff sign_off;
    sign_off.role = signing.role;
    sign_off.origin = origin(signing.who);
    sign_off.exceptions = std::move(exceptions);
    sign_off.plan_revision = show.revision;
    sign_off.last_take = basis->last_take;
    sign_off.tally_digest = digest(plan, *current, signing.scope);
    sign_off.scope = signing.scope;
    auto added = show.log.add_sign_off(sign_off);
    if (!added) return std::unexpected(Faults{added.error()});
    return *added;
}

std::string stale_because(const log::SignOff& sign_off, const Show& show, const verify::Tally& tally,
                          const Evidence& evidence) {
    std::string because;
    const auto add = [&](const std::string& text) { because += (because.empty() ? "" : "; ") + text; };
    if (show.revision != sign_off.plan_revision)
        add(fmt::format("the plan is now revision {}, signed was {}", show.revision, sign_off.plan_revision));
    for (const auto& change : evidence.changes)
        if (change.number > sign_off.number)
            add(fmt::format("{} was changed: {}", change.subject, change.what));
    if (newest_take(evidence) > sign_off.last_take)
        add(fmt::format("{} takes were added", std::ranges::count_if(evidence.takes, [&](const auto& take) {
                            return take.number > sign_off.last_take;
                        })));
    if (digest(show.plan.plan, tally, sign_off.scope) == sign_off.tally_digest) return {};
    if (const std::string verdicts = judged_since(sign_off, show, tally); !verdicts.empty()) add(verdicts);
    return because.empty() ? "verdicts differ from those signed" : because;
}

std::string covered_by(const log::SignOff& sign_off, const std::vector<log::TakeRecord>& takes) {
    std::string scope;
    for (const std::string& subject : sign_off.scope) scope += (scope.empty() ? "" : ", ") + subject;
    const auto newest = std::ranges::find(takes, sign_off.last_take, &log::TakeRecord::number);
    return fmt::format("{}, plan revision {}, {}", scope.empty() ? "the whole plan" : scope, sign_off.plan_revision,
                       newest == takes.end() ? "no take" : fmt::format("takes up to {}", newest->label));
}

}  // namespace proofwalk::walk
