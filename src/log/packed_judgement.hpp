// Judgements as bytes: one is stored as what differs from the one before it, with a whole one now and then.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "verify/judge.hpp"

namespace proofwalk::log {

// A judgement with each of its results packed, in its order.
struct PackedJudgement {
    struct Entry {
        std::string key;  // "aim-v M1" of a check, the box of a fit
        std::vector<std::byte> bytes;
        friend bool operator==(const Entry&, const Entry&) = default;
    };
    std::vector<Entry> checks, fits;
    std::optional<Measured> drive_latency_ms;
};

[[nodiscard]] std::string key_of(const verify::CheckResult& result);
[[nodiscard]] PackedJudgement packed(const verify::Judgement& judgement);
[[nodiscard]] verify::Judgement judgement_from(const PackedJudgement& judgement);  // throws BadBytes

// What turns `base` into `target`. changed(base, target) of an empty base is the whole judgement.
[[nodiscard]] std::vector<std::byte> difference(const PackedJudgement& base, const PackedJudgement& target);
[[nodiscard]] PackedJudgement applied(const PackedJudgement& base, std::span<const std::byte> difference);  // throws BadBytes

// Places in target.checks whose results are not those of base.
[[nodiscard]] std::vector<std::size_t> changed_checks(const PackedJudgement& base, const PackedJudgement& target);

}  // namespace proofwalk::log
