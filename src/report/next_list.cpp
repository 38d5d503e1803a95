#include "report/next_list.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "report/json.hpp"
#include "report/text_table.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::string minutes_text(double seconds) {
    const auto whole = static_cast<long>(std::lround(std::max(0.0, seconds)));
    return fmt::format("{}:{:02}", whole / 60, whole % 60);
}

// What happens before the first take of a leg: "p1 to p7, p2 to p9", or where mics are put at all.
std::string carrying(const NextLeg& leg) {
    if (leg.carries.empty()) return fmt::format("mics stay at {}", fmt::join(leg.positions, ", "));
    std::vector<std::string> moves;
    for (const auto& [from, to] : leg.carries) moves.push_back(from == "start" ? fmt::format("one to {}", to) : fmt::format("{} to {}", from, to));
    return fmt::format("carry {}", fmt::join(moves, ", "));
}

// "M1, M2+M3": what is joined by a plus sounds in one take.
std::string takes_of(const NextLeg& leg) {
    std::vector<std::string> takes;
    for (const std::string& circuit : leg.circuits) {
        const auto set = std::ranges::find_if(leg.together, [&](const auto& circuits) { return std::ranges::find(circuits, circuit) != circuits.end(); });
        if (set == leg.together.end())
            takes.push_back(circuit);
        else if (circuit == set->front())
            takes.push_back(fmt::format("{}", fmt::join(*set, "+")));
    }
    return fmt::format("{}", fmt::join(takes, ", "));
}

std::size_t count_of_takes(const NextLeg& leg) {
    std::size_t count = leg.circuits.size();
    for (const auto& set : leg.together) count -= set.size() - 1;
    return count;
}

std::string record_command(const NextList& list, const std::string& subject) {
    const bool quoted = list.log.find(' ') != std::string::npos;
    return fmt::format("proofwalk change {0}{1}{0} {2} --who NAME --what TEXT", quoted ? "'" : "", list.log, subject);
}

// What to do once each, however many checks ask for it.
std::string corrections_text(const NextList& list, const TextStyle& style) {
    if (list.corrections.empty()) return {};
    std::string text = "First put right what failed and record it, or leave it out with a reason (proofwalk skip). The walk below takes it\n"
                       "again where that costs least; the time for putting it right is not counted.\n\n";
    TextTable table({Column{.title = "put right"}, Column{.title = "failed", .most = 22}, Column{.title = "what was found and what to do", .takes_rest = true}});
    for (const NextCorrection& correction : list.corrections) {
        for (std::size_t index = 0; index < correction.failed.size(); ++index) {
            const NextCorrection::Failed& failed = correction.failed[index];
            table.add({{index == 0 ? correction.subject : ""}, {fmt::format("{} {}", failed.check, failed.subject)}, {with_real_signs(failed.says)}});
            if (index == 0 && !failed.advice.empty()) table.add({{}, {}, {"> " + sentence_case(failed.advice)}});
        }
    }
    const std::string subject = list.corrections.size() == 1 ? list.corrections.front().subject : "WHICH";
    return text + table.text(style) + fmt::format("\nRecord {}with: {}\n\n", list.corrections.size() == 1 ? "it " : "each ", record_command(list, subject));
}

}  // namespace

std::string next_json(const NextList& list) {
    Json legs = Json::array();
    for (const NextLeg& leg : list.legs) {
        Json carries = Json::array(), settles = Json::array();
        for (const auto& [from, to] : leg.carries) carries.push_back({{"from", from}, {"to", to}});
        for (const auto& [check, subject] : leg.settles) settles.push_back({{"check", check}, {"subject", subject}});
        legs.push_back({{"positions", leg.positions}, {"circuits", leg.circuits}, {"carries", carries}, {"walk_s", number(leg.walk_s)},
                        {"place_s", number(leg.place_s)}, {"take_s", number(leg.take_s)}, {"settles", settles}, {"together", leg.together}});
    }
    Json corrections = Json::array();
    for (const NextCorrection& correction : list.corrections) {
        Json failed = Json::array();
        for (const auto& check : correction.failed)
            failed.push_back({{"check", check.check}, {"subject", check.subject}, {"says", check.says}, {"advice", check.advice}});
        corrections.push_back({{"subject", correction.subject}, {"circuits", correction.circuits}, {"failed", failed},
                               {"record", record_command(list, correction.subject)}});
    }
    Json unproven = Json::array();
    for (const NextUnproven& check : list.unproven)
        unproven.push_back({{"check", check.check}, {"subject", check.subject}, {"why", check.why}, {"likelihood", number(check.likelihood)},
                            {"people", number(check.people)}});
    return dumped({{"format", "proofwalk.next/1"},
                   {"plan", {{"name", list.plan_name}, {"sha256", list.plan_sha256}}},
                   {"minutes", list.minutes > 0.0 ? number(list.minutes) : Json(nullptr)},
                   {"seconds", number(list.seconds)},
                   {"shortest", list.shortest},
                   {"risk_removed", number(list.risk_removed)},
                   {"risk", list.risk},
                   {"corrections", corrections},
                   {"legs", legs},
                   {"unproven", unproven},
                   {"notes", list.notes}});
}

std::string next_text(const NextList& list, const TextStyle& style) {
    std::size_t takes = 0;
    for (const NextLeg& leg : list.legs) takes += count_of_takes(leg);
    std::string text = fmt::format("{}\n\n", list.plan_name) + corrections_text(list, style);
    if (list.legs.empty())
        text += list.unproven.empty() && list.corrections.empty() ? "Nothing is left to take.\n" : "No take can be made that settles anything.\n";
    else
        text += fmt::format("{} {} in {} {}, about {} min{}{}\n\n", takes, takes == 1 ? "take" : "takes", list.legs.size(),
                            list.legs.size() == 1 ? "round" : "rounds", minutes_text(list.seconds),
                            list.minutes > 0.0 ? fmt::format(" of {}", minutes_text(60.0 * list.minutes)) : "",
                            list.shortest ? " (no shorter walk settles them all)" : "");
    TextTable rounds({Column{.title = "round", .align = Align::right}, Column{.title = "mics", .most = 44}, Column{.title = "unmute one after another", .takes_rest = true},
                      Column{.title = "min", .align = Align::right}, Column{.title = "settles", .align = Align::right}});
    double done_s = 0.0;
    for (std::size_t index = 0; index < list.legs.size(); ++index) {
        const NextLeg& leg = list.legs[index];
        done_s += leg.walk_s + leg.place_s + leg.take_s;
        rounds.add({{fmt::format("{}", index + 1)}, {carrying(leg)}, {takes_of(leg)}, {minutes_text(done_s)},
                    {fmt::format("{}", leg.settles.size())}});
    }
    if (!rounds.empty()) text += rounds.text(style);
    if (!list.unproven.empty()) {
        text += fmt::format("\nStays unproven ({:.0f} % of the risk is taken away): {}\n", 100.0 * list.risk_removed, list.risk);
        TextTable open({Column{.title = "check"}, Column{.title = "subject"}, Column{.title = "why", .takes_rest = true},
                        Column{.title = "fault likely", .align = Align::right}, Column{.title = "heard by", .align = Align::right}});
        for (const NextUnproven& check : list.unproven)
            open.add({{check.check}, {check.subject}, {check.why}, {fmt::format("{:.0f} %", 100.0 * check.likelihood)}, {fmt::format("{:.0f} %", 100.0 * check.people)}});
        text += open.text(style);
    }
    for (const std::string& note : list.notes) text += fmt::format("\n{}\n", note);
    return text;
}

}  // namespace proofwalk::report
