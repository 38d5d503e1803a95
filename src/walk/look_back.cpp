#include "walk/look_back.hpp"

#include <algorithm>

#include "log/review.hpp"

namespace proofwalk::walk {
namespace {

PastShow past_show(const log::ReviewedShow& show) {
    PastShow past{show.file, show.plan_name, show.plan_sha256, show.first_take, show.counts, {}, show.signatures,
                  static_cast<std::size_t>(show.takes), 0, show.rehearsed};
    for (const log::CircuitTime& circuit : show.circuits) past.repeats += static_cast<std::size_t>(circuit.retakes);
    return past;
}

}  // namespace

LookBack look_back(const std::vector<std::filesystem::path>& logs) {
    log::Review review = log::review(logs);
    LookBack result;
    result.faults = std::move(review.unreadable);
    for (const log::ReviewedShow& show : review.shows) result.shows.push_back(past_show(show));
    for (const log::LeftOut& left_out : review.left_out) {
        if (left_out.how != log::LeftOutHow::skipped) continue;
        log::SkipRecord skip{left_out.check, left_out.subject, left_out.why, {}, 0, false, 0};
        skip.origin.who = left_out.who;
        skip.origin.when = left_out.when;
        result.shows[left_out.show].skips.push_back(std::move(skip));
    }
    for (const log::Drift& drift : review.drifts) {
        const auto kind = plan::check_from_word(drift.check);
        if (!kind || drift.unit.empty()) continue;
        Drift drawn{*kind, drift.subject, drift.unit, {}, drift.drifts};
        for (const log::DriftPoint& point : drift.points) drawn.points.push_back({point.show, {point.value, point.uncertainty}, point.verdict});
        result.drifts.push_back(std::move(drawn));
    }
    std::ranges::stable_partition(result.drifts, &Drift::drifts);
    return result;
}

}  // namespace proofwalk::walk
