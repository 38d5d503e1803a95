// The walk against the clock, and the warning about the gear: what Records carry beside the log's own words.
#include <fmt/format.h>

#include <algorithm>

#include "app/records.hpp"
#include "units/utc.hpp"
#include "walk/gear.hpp"

namespace proofwalk::app {

Result<Clock> against_the_clock(const walk::Show& show, const WalkSetup& setup) {
    Clock clock;
    clock.until_utc_s = setup.until.value_or(0);
    clock.minutes = std::max(0.1, static_cast<double>(clock.until_utc_s - now().utc_s) / 60.0);
    walk::NextOptions options;
    options.minutes = clock.minutes;
    options.crew.mics = std::max(1, setup.mics);
    options.crew.take_s = setup.pace.signal_s;
    const auto next = walk::next(show, options);
    if (!next) return std::unexpected(next.error());
    clock.rounds = walk::rounds_of(next->agenda);
    clock.seconds = next->agenda.seconds;
    for (const auto& round : clock.rounds) clock.takes += round.circuits.size();
    clock.unproven = next->agenda.unproven;
    if (!clock.unproven.empty()) clock.risk = walk::route::risk_in_words(next->agenda);
    if (next->agenda.risk_before > 0.0) clock.risk_removed = 1.0 - next->agenda.risk_left / next->agenda.risk_before;
    return clock;
}

std::string gear_warning(const std::vector<log::GearRecord>& gear, std::int64_t now_utc_s) {
    if (const auto fault = walk::gear_fault(gear)) return fmt::format("Gear: {}. Passes are withheld until it is proven again", *fault);
    const bool proven = std::ranges::any_of(gear, [&](const log::GearRecord& record) {
        const std::int64_t ago = now_utc_s - record.origin.when.utc_s;
        return record.check == "loopback" && record.verdict == verify::word(verify::Verdict::pass) && ago >= 0 && ago < gear_day_s;
    });
    return proven ? std::string{} : "The gear is not proven today: prove the loopback on the gear sheet";
}

}  // namespace proofwalk::app
