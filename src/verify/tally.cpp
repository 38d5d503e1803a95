#include "verify/tally.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include <fmt/format.h>

namespace proofwalk::verify {
namespace {

constexpr std::array<std::pair<Verdict, std::string_view>, 5> words = {{{Verdict::pass, "pass"},
                                                                       {Verdict::fail, "fail"},
                                                                       {Verdict::unsure, "unsure"},
                                                                       {Verdict::open, "open"},
                                                                       {Verdict::skipped, "skipped"}}};

}  // namespace

std::string_view word(Verdict verdict) {
    return std::ranges::find(words, verdict, &std::pair<Verdict, std::string_view>::first)->second;
}

std::optional<Verdict> verdict_from_word(std::string_view text) {
    const auto found = std::ranges::find(words, text, &std::pair<Verdict, std::string_view>::second);
    if (found == words.end()) return std::nullopt;
    return found->first;
}

Counts Tally::counts() const {
    Counts counts;
    for (const CheckResult& check : checks) {
        switch (check.verdict) {
            case Verdict::pass: ++counts.pass; break;
            case Verdict::fail: ++counts.fail; break;
            case Verdict::unsure: ++counts.unsure; break;
            case Verdict::open: ++counts.open; break;
            case Verdict::skipped: ++counts.skipped; break;
        }
    }
    return counts;
}

std::vector<CheckResult> with_skips(std::vector<CheckResult> checks, const std::vector<Skip>& skips) {
    for (CheckResult& check : checks) {
        const auto skip = std::ranges::find_if(skips.rbegin(), skips.rend(), [&](const Skip& candidate) {
            return candidate.check == plan::word(check.kind) && candidate.subject == check.subject;
        });
        if (skip == skips.rend()) continue;
        const std::string measured = check.verdict == Verdict::open ? "not measured" : check.says;
        check.says = fmt::format("skipped by {}: {} ({}: {})", skip->who, skip->why, word(check.verdict), measured);
        check.advice.clear();
        check.verdict = Verdict::skipped;
    }
    return checks;
}

}  // namespace proofwalk::verify
