#include "walk/route/doors.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace proofwalk::walk::route {
namespace {

constexpr int highest_harmonic = 3;
constexpr double spread_s = 0.15;  // arrivals over a hall, and the clock's patience
constexpr double after_s = 1.0;    // room after the last sweep
constexpr std::array<double, 6> lengths_s = {4.0, 3.0, 2.0, 1.5, 1.0, 0.5};
constexpr double sure = 2.0;       // standard uncertainties beyond which a difference is one

using verify::TakenReading;

const TakenReading* newest(const std::vector<TakenReading>& readings, const TakenReading& like) {
    const TakenReading* found = nullptr;
    for (const TakenReading& reading : readings)
        if (reading.circuit == like.circuit && reading.position == like.position) found = &reading;
    return found;
}

void add_level(const TakenReading& then, const TakenReading& now, const plan::Rules& rules, Compared& result) {
    if (!then.reading.aim_band_db || !now.reading.aim_band_db) return;
    const double change = now.reading.aim_band_db->value - then.reading.aim_band_db->value;
    const double u = std::hypot(now.reading.aim_band_db->u, then.reading.aim_band_db->u);
    if (std::abs(change) > rules.level_db && std::abs(change) > sure * u)
        result.changed.push_back({now.circuit, now.position, fmt::format("{:.1f} dB {} than when it was signed", std::abs(change), change > 0.0 ? "louder" : "quieter")});
}

void add_arrival(const TakenReading& then, const TakenReading& now, const plan::Rules& rules, Compared& result) {
    if (!then.reading.arrival_s || !now.reading.arrival_s || !then.reading.absolute || !now.reading.absolute) return;
    const double change_ms = 1000.0 * (now.reading.arrival_s->value - then.reading.arrival_s->value);
    const double u_ms = 1000.0 * std::hypot(now.reading.arrival_s->u, then.reading.arrival_s->u);
    if (std::abs(change_ms) > rules.alignment_ms && std::abs(change_ms) > sure * u_ms)
        result.changed.push_back({now.circuit, now.position, fmt::format("arrives {:.1f} ms {} than when it was signed", std::abs(change_ms), change_ms > 0.0 ? "later" : "earlier")});
}

}  // namespace

DoorsSignal doors_signal(const std::vector<std::string>& circuits, double decay_s, double low_hz, double high_hz) {
    DoorsSignal best;
    if (circuits.empty()) return best;
    for (const double length_s : lengths_s) {
        const double harmonics_s = length_s * std::log(static_cast<double>(highest_harmonic)) / std::log(high_hz / low_hz);
        best.sweep_s = length_s;
        best.gap_s = harmonics_s + decay_s + spread_s;
        best.seconds = length_s + static_cast<double>(circuits.size() - 1) * best.gap_s + after_s;
        if (best.seconds <= most_doors_s) break;
    }
    for (std::size_t index = 0; index < circuits.size(); ++index) {
        const double at_s = static_cast<double>(index) * best.gap_s;
        if (at_s + best.sweep_s + after_s <= most_doors_s)
            best.starts.emplace_back(circuits[index], at_s);
        else
            best.left_out.push_back(circuits[index]);
    }
    best.seconds = best.starts.empty() ? 0.0 : best.starts.back().second + best.sweep_s + after_s;
    return best;
}

Compared compared(const std::vector<TakenReading>& then, const std::vector<TakenReading>& now, const plan::Rules& rules) {
    Compared result;
    for (const TakenReading& reading : now) {
        if (&reading != newest(now, reading)) continue;  // an older one of the same pair
        const TakenReading* before = newest(then, reading);
        if (before == nullptr) continue;
        ++result.pairs;
        const bool was_heard = !before->reading.flags.has(Flag::no_signal), is_heard = !reading.reading.flags.has(Flag::no_signal);
        if (was_heard && !is_heard) {
            result.changed.push_back({reading.circuit, reading.position, "does not sound any more"});
            continue;
        }
        if (!was_heard || !is_heard) continue;
        if (before->reading.polarity && reading.reading.polarity && *before->reading.polarity != *reading.reading.polarity)
            result.changed.push_back({reading.circuit, reading.position, "polarity has turned since it was signed"});
        add_level(*before, reading, rules, result);
        add_arrival(*before, reading, rules, result);
    }
    for (const TakenReading& reading : then) {
        const bool again = std::ranges::find(now, reading.circuit, &TakenReading::circuit) != now.end();
        if (!again && std::ranges::find(result.not_heard_again, reading.circuit) == result.not_heard_again.end())
            result.not_heard_again.push_back(reading.circuit);
    }
    return result;
}

}  // namespace proofwalk::walk::route
