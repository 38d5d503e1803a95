#include "walk/recheck.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "walk/bands.hpp"
#include "walk/store_take.hpp"

namespace proofwalk::walk {
namespace {

// Another processor may round the last digits otherwise; a verdict's figure is never told finer than this.
constexpr double same_figure = 1e-6;

bool same(const std::optional<double>& a, const std::optional<double>& b) {
    if (a.has_value() != b.has_value()) return false;
    return !a || std::abs(*a - *b) <= same_figure * std::max(1.0, std::abs(*a));
}

std::optional<double> value_of(const std::optional<Measured>& figure) {
    return figure ? std::optional{figure->value} : std::nullopt;
}

bool same(const signal::Reading& a, const signal::Reading& b) {
    return same(value_of(a.arrival_s), value_of(b.arrival_s)) && a.polarity == b.polarity &&
           same(value_of(a.aim_band_db), value_of(b.aim_band_db)) && a.flags == b.flags;
}

std::string told(const verify::CheckResult& check) {
    return fmt::format("{} ({})", verify::word(check.verdict),
                       check.value ? fmt::format("{:.4g} {}", *check.value, check.unit) : "no figure");
}

}  // namespace

Result<Recheck> recheck(const Show& show) {
    auto evidence = load_evidence(show, true);
    if (!evidence) return std::unexpected(evidence.error());
    auto stored = show.log.newest_judgement();
    if (!stored) return std::unexpected(stored.error());
    auto basis = show.log.newest_basis();
    if (!basis) return std::unexpected(basis.error());
    Recheck result;
    const plan::Plan& plan = show.plan.plan;
    std::vector<log::TakeRecord> so_far;
    for (auto& take : evidence->takes) {
        const acoustics::Air air = take.air.value_or(air_of(plan, so_far));
        for (auto& heard : take.evidence) {
            const auto again = signal::read(heard.evidence, bands_of(plan, heard.circuit, heard.position, air));
            ++result.readings;
            if (take.plan_revision == show.revision && !same(again, heard.reading))
                result.differences.push_back(fmt::format("take {}: the reading of {} at {} is not reproduced", take.label,
                                                         heard.circuit, heard.position));
            heard.reading = again;
            heard.evidence.impulse.clear();
        }
        so_far.push_back({});
        so_far.back().air = take.air;
    }
    if (!*stored) return result;
    if (!((*stored)->basis == *basis)) {
        // Interrupted between a take and its verdicts: nothing was claimed of it yet, so nothing can differ.
        return result;
    }
    const verify::Judgement again = verify::judge(input_of(show, *evidence));
    const auto& before = (*stored)->judgement.checks;
    for (const auto& check : again.checks) {
        const auto old = std::ranges::find_if(before, [&](const verify::CheckResult& candidate) {
            return candidate.kind == check.kind && candidate.subject == check.subject;
        });
        ++result.verdicts;
        if (old == before.end())
            result.differences.push_back(
                fmt::format("{} of {}: no verdict is stored, now {}", plan::word(check.kind), check.subject, told(check)));
        else if (old->verdict != check.verdict || !same(old->value, check.value) || !same(old->probability, check.probability))
            result.differences.push_back(fmt::format("{} of {}: stored {}, now {}", plan::word(check.kind), check.subject,
                                                     told(*old), told(check)));
    }
    return result;
}

}  // namespace proofwalk::walk
