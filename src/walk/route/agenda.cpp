#include "walk/route/agenda.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <future>
#include <random>
#include <set>

#include "walk/route/game.hpp"

namespace proofwalk::walk::route {
namespace {

constexpr double no_limit_s = 1e12;
constexpr double far_too_long = 1.06;     // a sketch that takes so much more than there is can't be made to fit
constexpr double sketch_effort = 0.06;    // of rounds that are improved afterwards
// Of the improvement against the clock.
constexpr double base_trials = 200000.0;  // at effort 1 and on each thread, shared among the circuits
constexpr std::size_t least_circuits = 8;
constexpr std::size_t most_near = 12;     // nearest places that a place changes with
constexpr double hottest = 0.004, coldest = 0.0002;  // of the risk removed
constexpr double price = 0.3;             // of a second, in what a second of the whole walk removes

std::vector<std::size_t> needed_places(const Board& board) {
    std::vector<std::size_t> places;
    for (std::size_t place = 0; place < board.places().size(); ++place)
        if (board.errand().circuits[place].any() && std::ranges::find(board.standing(), place) == board.standing().end())
            places.push_back(place);
    return places;
}

// The shortest rounds through some of the places, after the ones where mics stand already.
Groups rounds_through(const Board& board, const std::vector<std::size_t>& places, double effort, bool& proven) {
    Errand part = board.errand();
    part.places.clear();
    part.circuits.clear();
    for (const std::size_t place : places) {
        part.places.push_back(board.errand().places[place]);
        part.circuits.push_back(board.errand().circuits[place]);
    }
    const Itinerary itinerary = plan_rounds(part, effort);
    proven = itinerary.proven;
    Groups groups;
    if (!board.standing().empty()) groups.push_back(board.standing());
    for (const Stop& stop : itinerary.stops) {
        groups.emplace_back();
        for (const std::size_t place : stop.places) groups.back().push_back(places[place]);
    }
    // Nothing but "does it sound?" is open: any one place will do, best where a mic stands or nearest to the start.
    const bool asked = std::ranges::any_of(board.open(), [](const OpenCheck& check) { return check.why_not.empty(); });
    if (groups.empty() && asked && !board.places().empty()) {
        std::size_t nearest = 0;
        for (std::size_t place = 1; place < board.places().size(); ++place)
            if (board.ground().distances()(board.ground().crew_node(), place) < board.ground().distances()(board.ground().crew_node(), nearest)) nearest = place;
        groups.push_back({nearest});
    }
    return groups;
}

// Exchanges turns, places between groups and places against ones left out, adds and drops places: towards more risk removed in
// the time, at first also through a little less.
class Improver {
public:
    Improver(const Board& board, double most_s, unsigned seed) : board_(board), game_(board, most_s), needed_(needed_places(board)), random_(seed) {
        near_.resize(board.places().size());
        for (const std::size_t place : needed_) {
            near_[place] = needed_;
            std::ranges::stable_sort(near_[place], {}, [&](std::size_t other) { return board.ground().distances()(place, other); });
            if (near_[place].size() > most_near) near_[place].resize(most_near);
        }
    }

    [[nodiscard]] Groups run(Groups groups, std::size_t trials) {
        const std::size_t fixed = board_.standing().empty() ? 0 : 1;  // the leg where mics stand stays first
        if (needed_.empty()) return groups;
        Game::Result now = game_.result(groups);
        double most = now.worth();
        Groups best = groups, changed;
        const double cooling = std::pow(coldest / hottest, 1.0 / static_cast<double>(std::max<std::size_t>(trials, 1)));
        double temperature = hottest * most;
        for (std::size_t trial = 0; trial < trials && groups.size() > fixed; ++trial, temperature *= cooling) {
            changed = groups;
            change(changed, fixed);
            const Game::Result then = game_.result(changed);
            // Seconds that are saved make room for more, so they count while there is time to fill them.
            const double second = price * now.risk_removed / std::max(1.0, now.seconds) * (1.0 - static_cast<double>(trial) / static_cast<double>(trials));
            const double by = then.worth() - now.worth() - second * (then.seconds - now.seconds);
            if (by < 0.0 && uniform() >= std::exp(by / temperature)) continue;
            now = then;
            std::swap(groups, changed);
            if (now.worth() > most) {
                most = now.worth();
                best = groups;
            }
        }
        return best;
    }

private:
    std::size_t below(std::size_t count) { return static_cast<std::size_t>(random_() % count); }
    double uniform() { return static_cast<double>(random_() >> 11) * 0x1.0p-53; }

    void change(Groups& groups, std::size_t fixed) {
        const std::size_t first = fixed + below(groups.size() - fixed), second = fixed + below(groups.size() - fixed);
        auto& group = groups[first];
        switch (below(12)) {
            case 0: std::swap(group, groups[second]); break;
            case 1: {
                // A whole leg to another turn.
                auto leg = std::move(group);
                groups.erase(groups.begin() + static_cast<std::ptrdiff_t>(first));
                open_leg(groups, fixed, std::move(leg));
                break;
            }
            case 2:
                if (groups.size() > fixed + 1 || group.size() > 1) drop(groups, first, below(group.size()));
                break;
            case 3:
            case 4: {
                if (first == second || groups[second].size() >= board_.ground().mics()) break;
                const std::size_t index = below(group.size());
                groups[second].push_back(group[index]);
                drop(groups, first, index);
                break;
            }
            case 5:
            case 6: {
                const std::vector<std::size_t> out = left_out(groups);
                if (out.empty()) break;
                const std::size_t place = out[below(out.size())];
                if (group.size() < board_.ground().mics())
                    group.push_back(place);
                else
                    open_leg(groups, fixed, {place});
                break;
            }
            default: {
                // A place against one near it: of another leg, or left out.
                const std::size_t index = below(group.size()), near = near_[group[index]][below(near_[group[index]].size())];
                for (std::size_t other = 0; other < groups.size(); ++other) {
                    const auto there = std::ranges::find(groups[other], near);
                    if (there == groups[other].end()) continue;
                    if (other < fixed) return;
                    std::swap(group[index], *there);
                    return;
                }
                group[index] = near;
            }
        }
    }
    void open_leg(Groups& groups, std::size_t fixed, std::vector<std::size_t> leg) {
        groups.insert(groups.begin() + static_cast<std::ptrdiff_t>(fixed + below(groups.size() - fixed + 1)), std::move(leg));
    }
    static void drop(Groups& groups, std::size_t group, std::size_t index) {
        groups[group].erase(groups[group].begin() + static_cast<std::ptrdiff_t>(index));
        if (groups[group].empty()) groups.erase(groups.begin() + static_cast<std::ptrdiff_t>(group));
    }

    [[nodiscard]] std::vector<std::size_t> left_out(const Groups& groups) const {
        std::vector<bool> visited(board_.places().size(), false);
        for (const auto& group : groups)
            for (const std::size_t place : group) visited[place] = true;
        std::vector<std::size_t> out;
        for (const std::size_t place : needed_)
            if (!visited[place]) out.push_back(place);
        return out;
    }

    const Board& board_;
    Game game_;
    std::vector<std::size_t> needed_;
    std::vector<std::vector<std::size_t>> near_;  // place
    std::mt19937_64 random_;
};

// Legs with the greatest risk a second first.
void by_risk(const Board& board, Groups& groups) {
    const std::size_t fixed = board.standing().empty() ? 0 : 1;
    const auto rate = [&](const std::vector<std::size_t>& group) {
        double risk = 0.0;
        CircuitSet circuits;
        for (const std::size_t place : group) {
            risk += board.risk_at(place);
            circuits |= board.errand().circuits[place];
        }
        return risk / (board.ground().placing_s(group.size()) + board.ground().taking_s(circuits));
    };
    std::ranges::sort(groups.begin() + static_cast<std::ptrdiff_t>(std::min(fixed, groups.size())), groups.end(), std::greater{}, rate);
}

Groups against_the_clock(const Board& board, double most_s, double effort, const Groups& whole) {
    Game game(board, most_s);
    Groups best = whole;
    double most_worth = game.result(best).worth();
    const auto consider = [&](Groups groups) {
        if (const double worth = game.result(groups).worth(); worth > most_worth) {
            most_worth = worth;
            best = std::move(groups);
        }
    };
    Groups sorted = whole;
    by_risk(board, sorted);
    consider(std::move(sorted));
    const double trials = base_trials * effort / static_cast<double>(std::max(board.circuits().size(), least_circuits));
    // Twice, on a thread each.
    const Groups begin = best;
    const auto improved = [&](unsigned seed) { return Improver(board, most_s, seed).run(begin, static_cast<std::size_t>(trials)); };
    auto other = std::async(std::launch::async, improved, 2u);
    consider(improved(1u));
    consider(other.get());
    return best;
}

// Unmuting by hand is saved where one leg ends with the circuit that the next begins with.
void chain_circuits(std::vector<Played>& legs, const Crew& crew, double& seconds) {
    for (std::size_t leg = 1; leg < legs.size(); ++leg) {
        auto& before = legs[leg - 1].circuits;
        auto& after = legs[leg].circuits;
        // The first circuit of a leg may already be held by the chain before it; the last is free to choose.
        const auto first_free = before.size() > 1 ? before.begin() + (leg > 1 ? 1 : 0) : before.begin();
        const auto shared = std::find_if(first_free, before.end(), [&](std::size_t circuit) { return std::ranges::find(after, circuit) != after.end(); });
        if (shared == before.end()) continue;
        const std::size_t circuit = *shared;
        std::rotate(shared, shared + 1, before.end());
        const auto there = std::ranges::find(after, circuit);
        std::rotate(after.begin(), there, there + 1);
        legs[leg].take_s -= crew.mute_change_s;
        seconds -= crew.mute_change_s;
    }
}

Leg named(const Board& board, const Played& played) {
    Leg leg;
    for (const std::size_t place : played.places) leg.positions.push_back(board.places()[place]);
    for (const std::size_t circuit : played.circuits) leg.circuits.push_back(board.circuits()[circuit]);
    for (const CircuitSet& set : board.errand().together) {
        std::vector<std::string> circuits;
        for (const std::size_t circuit : played.circuits)
            if (set.test(circuit)) circuits.push_back(board.circuits()[circuit]);
        if (circuits.size() > 1) leg.together.push_back(std::move(circuits));
    }
    for (const Carry& carry : played.changeover.carries) leg.carries.emplace_back(board.name_of(carry.from), board.name_of(carry.to));
    leg.walk_s = played.changeover.seconds;
    leg.place_s = played.place_s;
    leg.take_s = played.take_s;
    for (const std::size_t index : played.settles) leg.settles.push_back(board.open()[index].id);
    return leg;
}

Agenda told(const Board& board, Score score, const Crew& crew) {
    if (!crew.overlap) chain_circuits(score.legs, crew, score.seconds);
    Agenda agenda;
    agenda.seconds = score.seconds;
    for (const Played& leg : score.legs) agenda.legs.push_back(named(board, leg));
    for (std::size_t index = 0; index < board.open().size(); ++index) {
        const OpenCheck& check = board.open()[index];
        agenda.risk_before += check.stake.risk;
        if (score.seen[index] == 1.0) continue;
        agenda.risk_left += check.stake.risk * (1.0 - score.seen[index]);
        agenda.unproven.push_back({check.id, check.stake, check.why_not.empty() ? "no time" : check.why_not, score.seen[index]});
    }
    std::ranges::stable_sort(agenda.unproven, std::greater{}, [](const Unproven& unproven) { return unproven.stake.risk * (1.0 - unproven.seen); });
    return agenda;
}

}  // namespace

std::size_t Leg::takes() const {
    std::size_t count = circuits.size();
    for (const auto& set : together) count -= set.size() - 1;
    return count;
}

std::size_t Agenda::takes() const {
    std::size_t count = 0;
    for (const Leg& leg : legs) count += leg.takes();
    return count;
}

Agenda agenda(const plan::Plan& plan, const Situation& situation, double effort) {
    const Board board(plan, situation);
    const double most_s = situation.minutes ? *situation.minutes * 60.0 : no_limit_s;
    const std::vector<std::size_t> places = needed_places(board);
    bool proven = false, all = false;
    Game game(board, most_s);
    Score score;
    const auto walk = [&](const Groups& groups) {
        score = game.play(groups);
        all = std::ranges::all_of(board.open(), [&](const OpenCheck& check) {
            return !check.why_not.empty() || score.seen[static_cast<std::size_t>(&check - board.open().data())] == 1.0;
        });
    };
    // Far too little time is seen from a sketch.
    const bool sketched = situation.minutes && places.size() > exact_places;
    Groups groups = rounds_through(board, places, sketched ? sketch_effort * effort : effort, proven);
    const double whole_s = sketched ? Game(board, no_limit_s).play(groups).seconds : 0.0;
    if (sketched && whole_s < far_too_long * most_s) groups = rounds_through(board, places, effort, proven);
    walk(groups);
    if (!all) walk(against_the_clock(board, most_s, effort, groups));
    Agenda result = told(board, std::move(score), situation.crew);
    result.shortest = proven && all;
    return result;
}

Agenda box_by_box(const plan::Plan& plan, const Situation& situation) {
    const Board board(plan, situation);
    const double most_s = situation.minutes ? *situation.minutes * 60.0 : no_limit_s;
    const double per_take_s = situation.crew.take_s + situation.crew.mute_change_s;
    std::set<Pair> taken(situation.taken.begin(), situation.taken.end());
    std::vector<std::size_t> stands = board.ground().first_stands();
    std::size_t crew_at = board.ground().crew_node();
    Score score;
    score.seen.assign(board.open().size(), 0.0);
    const std::vector<CheckNeeds> all = needs_of(plan);
    const auto place_number = [&](const std::string& id) {
        return static_cast<std::size_t>(std::ranges::find(board.places(), id) - board.places().begin());
    };
    const auto settle = [&](Played& leg) {
        for (std::size_t index = 0; index < board.open().size(); ++index) {
            const OpenCheck& check = board.open()[index];
            const bool complete = check.why_not.empty() && std::ranges::all_of(all[check.number].pairs, [&](const Pair& need) {
                return std::ranges::any_of(taken, [&](const Pair& pair) { return pair.circuit == need.circuit && (need.position.empty() || pair.position == need.position); });
            });
            if (!complete || score.seen[index] == 1.0) continue;
            score.seen[index] = 1.0;
            score.risk_removed += check.stake.risk;
            leg.settles.push_back(index);
        }
    };
    for (const plan::Box& box : plan.boxes) {
        std::vector<std::size_t> wanted;
        for (const plan::Position& position : plan.positions) {
            const bool serves = std::ranges::any_of(position.serves, [&](const plan::Serve& serve) { return std::ranges::find(serve.boxes, box.id) != serve.boxes.end(); });
            if (serves && place_number(position.id) < board.places().size() && !taken.contains({box.circuit, position.id}))
                wanted.push_back(place_number(position.id));
        }
        for (std::size_t begin = 0; begin < wanted.size(); begin += stands.size()) {
            Played leg;
            leg.places.assign(wanted.begin() + static_cast<std::ptrdiff_t>(begin),
                              wanted.begin() + static_cast<std::ptrdiff_t>(std::min(wanted.size(), begin + stands.size())));
            // Stands that are in the right place already stay there.
            std::vector<std::size_t> free_stands, to_fill;
            for (const std::size_t stand : stands)
                if (std::ranges::find(leg.places, stand) == leg.places.end()) free_stands.push_back(stand);
            for (const std::size_t place : leg.places)
                if (std::ranges::find(stands, place) == stands.end()) to_fill.push_back(place);
            if (!to_fill.empty()) leg.changeover = quick_changeover(board.ground().distances(), free_stands, to_fill, crew_at);
            leg.place_s = board.ground().placing_s(to_fill.size());
            leg.take_s = per_take_s;
            leg.circuits.push_back(static_cast<std::size_t>(std::ranges::find(board.circuits(), box.circuit) - board.circuits().begin()));
            if (score.seconds + leg.changeover.seconds + leg.place_s + per_take_s > most_s) return told(board, std::move(score), situation.crew);
            score.seconds += leg.changeover.seconds + leg.place_s + per_take_s;
            for (const Carry& carry : leg.changeover.carries) *std::ranges::find(stands, carry.from) = carry.to;
            if (!leg.changeover.carries.empty()) crew_at = leg.changeover.carries.back().to;
            for (const std::size_t place : leg.places) taken.insert({box.circuit, board.places()[place]});
            settle(leg);
            score.legs.push_back(std::move(leg));
        }
    }
    return told(board, std::move(score), situation.crew);
}

std::vector<std::string> differences(const Agenda& before, const Agenda& after) {
    std::vector<std::string> lines;
    const double seconds = after.seconds - before.seconds;
    if (std::abs(seconds) >= 1.0)
        lines.push_back(fmt::format("{:.0f} s {} than before: takes {}, before {}; rounds {}, before {}", std::abs(seconds),
                                    seconds > 0.0 ? "longer" : "shorter", after.takes(), before.takes(), after.legs.size(), before.legs.size()));
    const auto positions = [](const Agenda& agenda) {
        std::set<std::string> all;
        for (const Leg& leg : agenda.legs) all.insert(leg.positions.begin(), leg.positions.end());
        return all;
    };
    const auto only_in = [](const std::set<std::string>& these, const std::set<std::string>& those) {
        std::vector<std::string> only;
        std::ranges::set_difference(these, those, std::back_inserter(only));
        return only;
    };
    if (const auto dropped = only_in(positions(before), positions(after)); !dropped.empty()) lines.push_back(fmt::format("no mic any more at {}", fmt::join(dropped, ", ")));
    if (const auto added = only_in(positions(after), positions(before)); !added.empty()) lines.push_back(fmt::format("a mic now also at {}", fmt::join(added, ", ")));
    for (const Unproven& unproven : after.unproven)
        if (std::ranges::none_of(before.unproven, [&](const Unproven& known) { return known.check == unproven.check; }))
            lines.push_back(fmt::format("{} of {} stays unproven now: {}", plan::word(unproven.check.kind), unproven.check.subject, unproven.why));
    for (const Unproven& unproven : before.unproven)
        if (std::ranges::none_of(after.unproven, [&](const Unproven& known) { return known.check == unproven.check; }))
            lines.push_back(fmt::format("{} of {} is proven on the way now", plan::word(unproven.check.kind), unproven.check.subject));
    return lines;
}

namespace {

double still_hidden(const Unproven& unproven) { return unproven.stake.likelihood * (1.0 - unproven.seen); }

}  // namespace

std::string risk_in_words(const Agenda& agenda) {
    if (agenda.unproven.empty()) return "nothing stays unproven";
    double no_fault = 1.0;
    for (const Unproven& unproven : agenda.unproven) no_fault *= 1.0 - still_hidden(unproven);
    const double fault = 1.0 - no_fault;
    const std::string chance = fault > 0.5 ? fmt::format("{:.0f} chances in 10", std::min(9.0, std::round(10.0 * fault)))
                                           : fmt::format("one chance in {:.0f}", std::round(1.0 / std::max(1e-6, fault)));
    const Unproven& worst = agenda.unproven.front();
    return fmt::format("{} {} unproven: {} that at least one of them hides a fault; the worst is {} of {}, which {:.0f} % of the audience would hear",
                       agenda.unproven.size(), agenda.unproven.size() == 1 ? "check stays" : "checks stay", chance, plan::word(worst.check.kind),
                       worst.check.subject, 100.0 * worst.stake.people);
}

}  // namespace proofwalk::walk::route
