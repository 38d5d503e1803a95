#include "log/review.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>

#include "log/show_digest.hpp"
#include "units/side_by_side.hpp"

namespace proofwalk::log {
namespace {

// Weighted least squares of value over the number of the show. The uncertainties given are expanded to one confidence,
// and so is the slope's.
void fit_slope(Drift& drift) {
    if (drift.points.size() < 3) return;
    double weights = 0.0, mean_x = 0.0, mean_y = 0.0;
    const auto weight = [](const DriftPoint& point) { return 1.0 / (point.uncertainty * point.uncertainty); };
    for (std::size_t place = 0; place < drift.points.size(); ++place) {
        if (drift.points[place].uncertainty <= 0.0) return;
        weights += weight(drift.points[place]);
        mean_x += weight(drift.points[place]) * static_cast<double>(place);
        mean_y += weight(drift.points[place]) * drift.points[place].value;
    }
    mean_x /= weights;
    mean_y /= weights;
    double xx = 0.0, xy = 0.0;
    for (std::size_t place = 0; place < drift.points.size(); ++place) {
        const double x = static_cast<double>(place) - mean_x;
        xx += weight(drift.points[place]) * x * x;
        xy += weight(drift.points[place]) * x * (drift.points[place].value - mean_y);
    }
    drift.slope = xy / xx;
    drift.slope_u = 1.0 / std::sqrt(xx);
}

void finish(Drift& drift) {
    const DriftPoint& first = drift.points.front();
    const DriftPoint& last = drift.points.back();
    drift.change = last.value - first.value;
    if (drift.check == plan::word(plan::CheckKind::polarity)) {
        drift.drifts = std::ranges::any_of(drift.points, [&](const DriftPoint& point) { return point.value != first.value; });
        return;
    }
    drift.change_u = std::hypot(first.uncertainty, last.uncertainty);
    fit_slope(drift);
    drift.drifts = std::abs(drift.change) > drift.change_u || std::abs(drift.slope) > drift.slope_u;
}

std::vector<Drift> drifts_of(const std::vector<ShowDigest>& digests) {
    std::map<std::pair<std::string, plan::CheckKind>, Drift> drifts;
    for (std::size_t show = 0; show < digests.size(); ++show)
        for (const verify::CheckResult& check : digests[show].checks) {
            if (!check.value || check.kind == plan::CheckKind::sounding) continue;  // its figure is the noise of the hall
            Drift& drift = drifts[{check.subject, check.kind}];
            drift.subject = check.subject;
            drift.check = plan::word(check.kind);
            drift.unit = check.unit;
            drift.points.push_back({show, *check.value, check.uncertainty.value_or(0.0), check.verdict});
        }
    std::vector<Drift> list;
    for (auto& [key, drift] : drifts) {
        if (drift.points.size() < 2) continue;
        finish(drift);
        list.push_back(std::move(drift));
    }
    return list;
}

std::vector<RepeatedFault> repeated_in(const std::vector<ShowDigest>& digests) {
    std::map<std::pair<std::string, std::string>, RepeatedFault> faults;
    for (std::size_t show = 0; show < digests.size(); ++show) {
        for (const auto& [subject, check] : digests[show].failed) {
            RepeatedFault& fault = faults[{subject, check}];
            fault.subject = subject;
            fault.check = check;
            fault.shows.push_back(show);
        }
        for (const verify::CheckResult& check : digests[show].checks)
            if (check.verdict == verify::Verdict::fail)
                if (const auto found = faults.find({check.subject, std::string{plan::word(check.kind)}}); found != faults.end())
                    ++found->second.standing;
    }
    std::vector<RepeatedFault> list;
    for (auto& [key, fault] : faults)
        if (fault.shows.size() > 1) list.push_back(std::move(fault));
    std::ranges::stable_sort(list, std::ranges::greater{}, [](const RepeatedFault& fault) { return fault.shows.size(); });
    return list;
}

// Each log by one thread at a time, as many at once as the machine has cores; in the order asked for.
std::vector<Result<ShowDigest>> digests_of(const std::vector<std::filesystem::path>& logs) {
    std::vector<std::optional<Result<ShowDigest>>> digests(logs.size());
    side_by_side(logs.size(), [&](std::size_t at) { digests[at].emplace(digest_of(logs[at])); });
    std::vector<Result<ShowDigest>> list;
    for (auto& digest : digests) list.push_back(std::move(*digest));
    return list;
}

}  // namespace

Review review(const std::vector<std::filesystem::path>& logs) {
    Review review;
    std::vector<ShowDigest> digests;
    for (auto& digest : digests_of(logs)) {
        if (digest)
            digests.push_back(std::move(*digest));
        else
            review.unreadable.push_back(std::move(digest.error()));
    }
    std::ranges::stable_sort(digests, {}, [](const ShowDigest& digest) {
        return digest.show.first_take ? digest.show.first_take->utc_s : std::numeric_limits<std::int64_t>::max();
    });
    review.drifts = drifts_of(digests);
    review.repeated = repeated_in(digests);
    for (std::size_t show = 0; show < digests.size(); ++show) {
        for (LeftOut& entry : digests[show].left_out) {
            entry.show = show;
            review.left_out.push_back(std::move(entry));
        }
        review.shows.push_back(std::move(digests[show].show));
    }
    return review;
}

}  // namespace proofwalk::log
