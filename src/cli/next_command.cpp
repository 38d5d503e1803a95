#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <memory>

#include "cli/commands.hpp"
#include "report/next_list.hpp"
#include "walk/likelihoods.hpp"
#include "walk/live_take.hpp"
#include "walk/next.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string log, likelihoods;
    double minutes = 0.0;
    std::vector<std::string> odds;
    walk::NextOptions next;
    bool direct = false, json = false, doors = false;
};

report::NextList list_of(const walk::Show& show, const walk::Next& next, const Options& options) {
    report::NextList list;
    list.log = options.log;
    for (const walk::Correction& correction : next.corrections) {
        report::NextCorrection line{correction.subject, correction.circuits, {}};
        for (const auto& check : correction.failed) line.failed.push_back({std::string(plan::word(check.kind)), check.subject, check.says, check.advice});
        list.corrections.push_back(std::move(line));
    }
    list.plan_name = show.plan.plan.name;
    list.plan_sha256 = show.plan.sha256;
    list.seconds = next.agenda.seconds;
    list.minutes = options.minutes;
    list.shortest = next.agenda.shortest;
    for (const auto& leg : next.agenda.legs) {
        report::NextLeg line{leg.positions, leg.circuits, leg.carries, leg.walk_s, leg.place_s, leg.take_s, {}, leg.together};
        for (const auto& check : leg.settles) line.settles.emplace_back(plan::word(check.kind), check.subject);
        list.legs.push_back(std::move(line));
    }
    for (const auto& open : next.agenda.unproven)
        list.unproven.push_back({std::string(plan::word(open.check.kind)), open.check.subject, open.why, open.stake.likelihood, open.stake.people});
    if (next.agenda.risk_before > 0.0) list.risk_removed = 1.0 - next.agenda.risk_left / next.agenda.risk_before;
    list.risk = walk::route::risk_in_words(next.agenda);
    if (!next.changed.empty()) list.notes.push_back(fmt::format("What that changes: {}", fmt::join(next.changed, "; ")));
    if (!next.cannot_settle.empty())
        list.notes.push_back(fmt::format("These takes can't settle {} of the checks: {}", next.cannot_settle.size(), fmt::join(next.cannot_settle, "; ")));
    if (!next.unsettled.empty())
        list.notes.push_back(fmt::format("Unsure with all its takes: {}", fmt::join(next.unsettled, "; ")));
    if (next.learnt_from > 0)
        list.notes.push_back(fmt::format("Times are learnt from {} steps of this walk: {:.1f} m/s, {:.0f} s a stand, {:.0f} s a take",
                                         next.learnt_from, next.crew.walk_mps, next.crew.place_s, next.crew.take_s));
    return list;
}

int before_doors(Console& console, const walk::Show& show) {
    const auto doors = walk::before_doors(show);
    if (!doors) return console.tell(doors.error());
    const auto& signal = doors->signal;
    console.out() << fmt::format("Before doors: {} {}, {:.0f} s of signal in sweeps of {} s, mics parked at {}; take with --overlap --length {}:\n",
                                 signal.takes.size(), signal.takes.size() == 1 ? "take" : "takes", signal.seconds, signal.sweep_s,
                                 doors->mics_at.empty() ? "any position" : fmt::format("{}", fmt::join(doors->mics_at, ", ")), signal.sweep_s);
    for (const auto& take : signal.takes) {
        std::vector<std::string> circuits;
        for (const auto& [circuit, at_s] : take) circuits.push_back(circuit);
        console.out() << fmt::format("  --circuit {}\n", fmt::join(circuits, ","));
    }
    if (!signal.left_out.empty()) console.out() << fmt::format("No room for {}: take them on their own\n", fmt::join(signal.left_out, ", "));
    if (!doors->signed_off) {
        console.out() << "Nothing is signed yet, so there is nothing to compare with\n";
        return status_done;
    }
    if (!doors->since_sign_off) {
        console.out() << "Nothing was taken since the sign-off\n";
        return status_done;
    }
    const auto& compared = *doors->since_sign_off;
    console.out() << fmt::format("{} readings compared with the signed walk; {}\n", compared.pairs, compared.changed.empty() ? "nothing has changed" : "what has changed:");
    for (const auto& change : compared.changed) console.out() << fmt::format("  {}: {} (at {})\n", change.circuit, change.says, fmt::join(change.positions, ", "));
    if (!compared.not_heard_again.empty()) console.out() << fmt::format("Not taken again: {}\n", fmt::join(compared.not_heard_again, ", "));
    return status_done;
}

int next(Console& console, Options options) {
    Faults faults;
    if (!options.likelihoods.empty()) {
        if (auto odds = walk::read_likelihoods(options.next.odds, options.likelihoods))
            options.next.odds = *odds;
        else
            faults = odds.error();
    }
    for (const std::string& text : options.odds)
        if (auto set = walk::route::set_odds(options.next.odds, text); !set) faults.push_back(set.error());
    if (!faults.empty()) return console.tell(faults);
    const auto show = walk::open_show(options.log, log::Mode::read);
    if (!show) return console.tell(show.error());
    if (options.doors) return before_doors(console, *show);
    if (options.minutes > 0.0) options.next.minutes = options.minutes;
    if (options.direct || options.next.crew.overlap) options.next.crew.mute_change_s = 0.0;
    const auto found = walk::next(*show, options.next);
    if (!found) return console.tell(found.error());
    const report::NextList list = list_of(*show, *found, options);
    console.out() << (options.json ? report::next_json(list) : report::next_text(list, console.style()));
    const bool to_rig = std::ranges::any_of(found->corrections, [](const walk::Correction& one) { return walk::asks_to_rig(one.failed); });
    if (to_rig && !options.json) console.note(walk::rigging_caution());
    return status_done;
}

}  // namespace

void add_next_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    walk::route::Crew& crew = options->next.crew;
    CLI::App* command = app.add_subcommand("next", "What to take next: the shortest walk that is left, or the best use of the minutes that are left");
    command->add_option("LOG", options->log, "the show's log")->required();
    command->add_option("--minutes", options->minutes, "minutes that are left; without it: as long as it takes")->check(CLI::Range(0.1, 1440.0));
    command->add_option("--mics", crew.mics, "mics on stands")->capture_default_str()->check(CLI::Range(1, 31));
    command->add_option("--people", crew.people, "people who carry stands")->capture_default_str()->check(CLI::Range(1, 8));
    command->add_option("--closed", options->next.closed, "positions where no mic can stand now");
    command->add_option("--not-ready", options->next.not_ready, "circuits that can't sound now");
    command->add_option("--odds", options->odds, "KIND=LIKELIHOOD: how likely a kind of check hides a fault, 0 to 1; corrected=LIKELIHOOD: what failed before")
        ->expected(1)
        ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
    command->add_option("--likelihoods", options->likelihoods, "a file of likelihoods, as `review --likelihoods` writes it; --odds goes over it");
    command->add_option("--mics-lost", options->next.mics_lost, "how many of the mics are dead or needed elsewhere");
    command->add_option("--take-seconds", crew.take_s, "one take, first sample to last")->capture_default_str()->check(CLI::Range(0.5, 120.0));
    command->add_flag("--direct", options->direct, "outputs are driven directly: nobody unmutes by hand");
    command->add_flag("--overlap", crew.overlap, "circuits with outputs of their own sound in one take, one sweep into the next");
    command->add_flag("--before-doors", options->doors, "all circuits in a minute with the mics where they are, and what has changed since the sign-off");
    command->add_flag("--json", options->json, "for programs");
    command->footer("Example: proofwalk next show.db --minutes 12 --mics 4");
    command->callback([=, &console, &action] { action = [=, &console] { return next(console, *options); }; });
}

}  // namespace proofwalk::cli
