#include "walk/look_back.hpp"

#include <algorithm>
#include <iterator>
#include <set>

#include "walk/judged.hpp"

namespace proofwalk::walk {
namespace {

Checked<PastShow> read_show(const std::filesystem::path& file) {
    auto show = open_show(file, log::Mode::read);
    if (!show) return std::unexpected(show.error());
    auto current = tally(*show);
    if (!current) return std::unexpected(Faults{current.error()});
    auto evidence = load_evidence(*show);
    if (!evidence) return std::unexpected(Faults{evidence.error()});
    auto sign_offs = show->log.sign_offs();
    if (!sign_offs) return std::unexpected(Faults{sign_offs.error()});

    PastShow past;
    past.log_file = file;
    past.plan_name = show->plan.plan.name;
    past.plan_sha256 = show->plan.sha256;
    past.counts = current->counts();
    past.skips = std::move(evidence->skips);
    past.sign_offs = std::move(*sign_offs);
    past.takes = evidence->takes.size();
    past.fits = std::move(current->fits);
    past.checks = std::move(current->checks);
    std::set<std::pair<std::string, std::string>> heard;
    for (const auto& take : evidence->takes) {
        if (!past.when) past.when = take.origin.when;
        past.rehearsed = past.rehearsed || take.origin.device == "rehearsal";
        bool again = false;
        for (const auto& entry : take.evidence) again = !heard.emplace(entry.circuit, entry.position).second || again;
        past.repeats += again ? 1 : 0;
    }
    return past;
}

std::vector<Drift> drifts_of(const std::vector<PastShow>& shows) {
    std::vector<Drift> drifts;
    for (std::size_t s = 0; s < shows.size(); ++s)
        for (const auto& check : shows[s].checks) {
            if (!check.value || !check.uncertainty || check.unit.empty()) continue;
            auto drift = std::ranges::find_if(drifts, [&](const Drift& known) {
                return known.kind == check.kind && known.subject == check.subject;
            });
            if (drift == drifts.end()) drift = drifts.insert(drifts.end(), {check.kind, check.subject, check.unit, {}});
            drift->points.push_back({s, {*check.value, *check.uncertainty}, check.verdict});
        }
    std::erase_if(drifts, [](const Drift& drift) { return drift.points.size() < 2; });
    return drifts;
}

}  // namespace

LookBack look_back(const std::vector<std::filesystem::path>& logs) {
    LookBack result;
    for (const auto& file : logs) {
        auto past = read_show(file);
        if (past)
            result.shows.push_back(std::move(*past));
        else
            std::ranges::copy(past.error(), std::back_inserter(result.faults));
    }
    std::ranges::stable_sort(result.shows, {}, [](const PastShow& show) { return show.when ? show.when->utc_s : 0; });
    result.drifts = drifts_of(result.shows);
    return result;
}

}  // namespace proofwalk::walk
