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

using What = Changed::What;

std::string words_of(What what, double amount) {
    switch (what) {
        case What::silent: return "does not sound any more";
        case What::polarity: return "polarity has turned since it was signed";
        case What::louder: return fmt::format("{:.1f} dB louder than when it was signed", amount);
        case What::quieter: return fmt::format("{:.1f} dB quieter than when it was signed", amount);
        case What::later: return fmt::format("arrives {:.1f} ms later than when it was signed", amount);
        case What::earlier: return fmt::format("arrives {:.1f} ms earlier than when it was signed", amount);
    }
    return {};
}

// The amount becomes the mean of the positions that say the same.
void add(Compared& result, const TakenReading& now, What what, double amount = 0.0) {
    auto known = std::ranges::find_if(result.changed, [&](const Changed& other) { return other.circuit == now.circuit && other.what == what; });
    if (known == result.changed.end()) known = result.changed.insert(known, {now.circuit, what, {}, 0.0, {}});
    known->positions.push_back(now.position);
    known->amount += (amount - known->amount) / static_cast<double>(known->positions.size());
    known->says = words_of(what, known->amount);
}

void add_level(const TakenReading& then, const TakenReading& now, const plan::Rules& rules, Compared& result) {
    if (!then.reading.aim_band_db || !now.reading.aim_band_db) return;
    const double change = now.reading.aim_band_db->value - then.reading.aim_band_db->value;
    const double u = std::hypot(now.reading.aim_band_db->u, then.reading.aim_band_db->u);
    if (std::abs(change) > rules.level_db && std::abs(change) > sure * u) add(result, now, change > 0.0 ? What::louder : What::quieter, std::abs(change));
}

void add_arrival(const TakenReading& then, const TakenReading& now, const plan::Rules& rules, Compared& result) {
    if (!then.reading.arrival_s || !now.reading.arrival_s || !then.reading.absolute || !now.reading.absolute) return;
    const double change_ms = 1000.0 * (now.reading.arrival_s->value - then.reading.arrival_s->value);
    const double u_ms = 1000.0 * std::hypot(now.reading.arrival_s->u, then.reading.arrival_s->u);
    if (std::abs(change_ms) > rules.alignment_ms && std::abs(change_ms) > sure * u_ms)
        add(result, now, change_ms > 0.0 ? What::later : What::earlier, std::abs(change_ms));
}

}  // namespace

DoorsSignal doors_signal(const std::vector<std::vector<std::string>>& takes, double decay_s, double low_hz, double high_hz) {
    DoorsSignal best;
    std::size_t circuits = 0;
    for (const auto& take : takes) circuits += take.size();
    if (circuits == 0) return best;
    for (const double length_s : lengths_s) {
        const double harmonics_s = length_s * std::log(static_cast<double>(highest_harmonic)) / std::log(high_hz / low_hz);
        best.sweep_s = length_s;
        best.gap_s = harmonics_s + decay_s + spread_s;
        const double whole_s = static_cast<double>(takes.size()) * (length_s + after_s) + static_cast<double>(circuits - takes.size()) * best.gap_s;
        if (whole_s <= most_doors_s) break;
    }
    for (const auto& take : takes) {
        std::vector<std::pair<std::string, double>> starts;
        for (const std::string& circuit : take) {
            const double at_s = static_cast<double>(starts.size()) * best.gap_s;
            if (best.seconds + at_s + best.sweep_s + after_s <= most_doors_s)
                starts.emplace_back(circuit, at_s);
            else
                best.left_out.push_back(circuit);
        }
        if (starts.empty()) continue;
        best.seconds += starts.back().second + best.sweep_s + after_s;
        best.takes.push_back(std::move(starts));
    }
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
            add(result, reading, What::silent);
            continue;
        }
        if (!was_heard || !is_heard) continue;
        if (before->reading.polarity && reading.reading.polarity && *before->reading.polarity != *reading.reading.polarity)
            add(result, reading, What::polarity);
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
