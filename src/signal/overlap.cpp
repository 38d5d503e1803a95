#include "signal/overlap.hpp"

#include <algorithm>
#include <cmath>
#include <string>

namespace proofwalk::signal {

namespace {

struct Span {
    double from, to;
};

std::unexpected<Fault> refused(std::string reason, std::string remedy) {
    return std::unexpected(Fault{FaultKind::input, {}, "overlapped sweeps", std::move(reason), std::move(remedy)});
}

bool meet(Span a, Span b) { return a.from < b.to - 1e-9 && b.from < a.to - 1e-9; }

}  // namespace

double harmonic_lead_s(double length_s, double start_hz, double stop_hz, int order) {
    return length_s / std::log(stop_hz / start_hz) * std::log(static_cast<double>(order));
}

Result<OverlapSchedule> overlapped_starts(const OverlapSettings& settings) {
    if (settings.circuits < 1 || settings.circuits > 64) return refused("the number of circuits is not between 1 and 64", "split the circuits over several takes");
    if (!(settings.start_hz > 0.0 && settings.stop_hz > settings.start_hz)) return refused("the band is empty", "give a lower and an upper limit");
    if (!(settings.length_s > 0.0 && settings.decay_s > 0.0 && settings.harmonic_decay_s >= 0.0 && settings.arrival_spread_s >= 0.0))
        return refused("a length or decay is not positive", "give the sweep's length and the room's decay in seconds");
    if (settings.harmonics < 1 || settings.harmonics > 10) return refused("the harmonic order is not between 1 and 10", "keep the third harmonic apart");

    const double free_s = settings.decay_s + settings.arrival_spread_s;
    const auto linear = [&](double start) { return Span{start, start + free_s}; };
    std::vector<double> leads;
    for (int order = 2; order <= settings.harmonics; ++order) leads.push_back(harmonic_lead_s(settings.length_s, settings.start_hz, settings.stop_hz, order));
    const auto harmonic = [&](double start, double lead) {
        return Span{start - lead, start - lead + std::min(settings.harmonic_decay_s, free_s) + settings.arrival_spread_s};
    };

    OverlapSchedule schedule;
    schedule.starts_s.push_back(0.0);
    // What a start must stay clear of is piecewise: the candidates are the ends of what it would meet.
    while (static_cast<int>(schedule.starts_s.size()) < settings.circuits) {
        double start = schedule.starts_s.back();
        for (bool moved = true; moved;) {
            moved = false;
            for (const double other : schedule.starts_s) {
                const auto clear = [&](Span mine, Span theirs) {
                    if (!meet(mine, theirs)) return;
                    start += theirs.to - mine.from;
                    moved = true;
                };
                clear(linear(start), linear(other));
                for (const double lead : leads) {
                    clear(harmonic(start, lead), linear(other));
                    clear(linear(start), harmonic(other, lead));
                }
            }
        }
        schedule.starts_s.push_back(start);
    }
    schedule.total_s = schedule.starts_s.back() + settings.length_s + free_s;
    schedule.one_after_another_s = settings.circuits * (settings.length_s + free_s);
    if (schedule.total_s > 600.0) return refused("the take would last more than ten minutes", "shorten the sweep or split the circuits over several takes");
    return schedule;
}

}  // namespace proofwalk::signal
