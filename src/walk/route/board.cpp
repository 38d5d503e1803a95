#include "walk/route/board.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace proofwalk::walk::route {
namespace {

bool contains(const auto& items, const auto& item) { return std::ranges::find(items, item) != items.end(); }

constexpr double worth_of_a_second = 1e-9;
constexpr std::size_t exact_stands = 6;

std::string blocked(const CheckNeeds& needs, const Situation& situation) {
    if (!needs.check.missing.empty()) return fmt::format("no position of the plan serves {}", needs.check.missing.front());
    for (const Pair& pair : needs.pairs) {
        if (contains(situation.not_ready, pair.circuit)) return fmt::format("{} is not ready", pair.circuit);
        if (!pair.position.empty() && contains(situation.closed, pair.position)) return fmt::format("{} is closed", pair.position);
    }
    return "";
}

}  // namespace

Board::Board(const plan::Plan& plan, const Situation& situation) : circuits_(plan.circuits()), ground_(Errand{}) {
    circuits_.resize(std::min(circuits_.size(), most_circuits));
    number_places(plan, situation);
    add_open_checks(plan, situation);
    ground_ = Ground(errand_);
}

// Every open place of the plan gets a number; those that nothing needs are never visited.
void Board::number_places(const plan::Plan& plan, const Situation& situation) {
    errand_.crew = situation.crew;
    for (const plan::Position& position : plan.positions) {
        if (contains(situation.closed, position.id)) continue;
        places_.push_back(position.id);
        errand_.places.push_back(position.at);
        errand_.circuits.emplace_back();
    }
    const auto mics = static_cast<std::size_t>(std::max(1, situation.crew.mics));
    for (const std::string& id : situation.mics_at)
        if (const plan::Position* position = plan.position(id); position != nullptr && stand_names_.size() < mics) {
            stand_names_.push_back(id);
            errand_.stands.push_back(position->at);
            errand_.crew_at = position->at;
        }
    while (!stand_names_.empty() && stand_names_.size() < mics) {
        stand_names_.emplace_back("start");
        errand_.stands.push_back(situation.crew.start);
    }
    if (stand_names_.empty()) stand_names_.assign(mics, "start");
}

void Board::add_open_checks(const plan::Plan& plan, const Situation& situation) {
    const std::vector<CheckNeeds> all = needs_of(plan);
    std::vector<plan::PlannedCheck> planned;
    for (const CheckNeeds& needs : all) planned.push_back(needs.check);
    const std::vector<Stake> stakes = stakes_of(plan, planned, situation.odds);
    std::map<std::string, std::size_t, std::less<>> circuit_number, place_number;
    for (std::size_t index = 0; index < circuits_.size(); ++index) circuit_number[circuits_[index]] = index;
    for (std::size_t index = 0; index < places_.size(); ++index) place_number[places_[index]] = index;
    checks_of_circuit_.resize(circuits_.size());
    risk_at_.assign(places_.size(), 0.0);

    for (std::size_t index = 0; index < all.size(); ++index) {
        const CheckId id{all[index].check.kind, all[index].check.subject};
        if (contains(situation.settled, id)) continue;
        OpenCheck check{index, id, stakes[index], {}, blocked(all[index], situation)};
        const bool anew = contains(situation.again, id);
        for (const Pair& pair : all[index].pairs) {
            if (!check.why_not.empty()) break;
            const auto circuit = circuit_number.find(pair.circuit);
            if (circuit == circuit_number.end()) {
                check.why_not = "the plan has more circuits than one agenda holds";
                break;
            }
            const bool done = pair.position.empty() ? std::ranges::any_of(situation.taken, [&](const Pair& taken) { return taken.circuit == pair.circuit; })
                                                    : contains(situation.taken, pair);
            if (done && !anew) continue;
            const std::size_t place = pair.position.empty() ? anywhere : place_number.at(pair.position);
            check.needs.push_back({circuit->second, place});
        }
        // All its takes are there: judging it is not a matter of walking.
        if (check.why_not.empty() && check.needs.empty()) continue;
        for (const auto& need : check.needs) {
            auto& of_circuit = checks_of_circuit_[need.circuit];
            if (of_circuit.empty() || of_circuit.back() != open_.size()) of_circuit.push_back(open_.size());
            if (need.place == anywhere) continue;
            errand_.circuits[need.place].set(need.circuit);
            risk_at_[need.place] += check.stake.risk / static_cast<double>(check.needs.size());
        }
        open_.push_back(std::move(check));
    }
    for (std::size_t place = 0; place < places_.size(); ++place)
        if (contains(stand_names_, places_[place]) && errand_.circuits[place].any()) standing_.push_back(place);
}

std::string Board::name_of(std::size_t node) const {
    return node < places_.size() ? places_[node] : stand_names_.at(node - places_.size());
}

std::vector<bool> Board::possible_in(const Groups& groups) const {
    std::vector<bool> visited(places_.size(), false), possible(open_.size());
    for (const auto& group : groups)
        for (const std::size_t place : group) visited[place] = true;
    for (std::size_t index = 0; index < open_.size(); ++index)
        possible[index] = open_[index].why_not.empty() && std::ranges::all_of(open_[index].needs, [&](const OpenCheck::Need& need) {
                              return need.place == anywhere ? !groups.empty() : visited[need.place];
                          });
    return possible;
}

// Circuits in the order of what they promise: a check that this take settles counts whole, others by their share.
void Board::take_group(const std::vector<std::size_t>& group, bool first, double most_s, std::vector<std::size_t>& missing,
                       std::vector<std::vector<bool>>& had, const std::vector<bool>& possible, Score& score, Played& leg) const {
    const double per_take_s = errand_.crew.take_s + errand_.crew.mute_change_s;
    struct Promise {
        std::size_t circuit;
        double worth;
        bool unheard;
    };
    std::vector<Promise> promises;
    for (std::size_t circuit = 0; circuit < circuits_.size(); ++circuit) {
        double worth = 0.0;
        bool unheard = false;
        for (const std::size_t index : checks_of_circuit_[circuit]) {
            if (!possible[index]) continue;
            const OpenCheck& check = open_[index];
            std::size_t here = 0;
            for (std::size_t need = 0; need < check.needs.size(); ++need)
                if (check.needs[need].circuit == circuit && !had[index][need] &&
                    (check.needs[need].place == anywhere || contains(group, check.needs[need].place)))
                    ++here;
            // Where a check is asked anywhere, the first leg answers it: does everything sound, and is it patched?
            if (here > 0 && check.id.kind == plan::CheckKind::sounding) unheard = first;
            if (here > 0) worth += check.stake.risk * static_cast<double>(here) / static_cast<double>(missing[index]);
        }
        if (worth > 0.0) promises.push_back({circuit, worth, unheard});
    }
    std::ranges::stable_sort(promises, [](const Promise& a, const Promise& b) {
        return a.unheard != b.unheard ? a.unheard : a.worth > b.worth;
    });
    for (const Promise& promise : promises) {
        if (score.seconds + per_take_s > most_s) break;
        score.seconds += per_take_s;
        leg.take_s += per_take_s;
        leg.circuits.push_back(promise.circuit);
        for (const std::size_t index : checks_of_circuit_[promise.circuit]) {
            const OpenCheck& check = open_[index];
            for (std::size_t need = 0; need < check.needs.size(); ++need)
                if (check.needs[need].circuit == promise.circuit && !had[index][need] &&
                    (check.needs[need].place == anywhere || contains(group, check.needs[need].place))) {
                    had[index][need] = true;
                    if (--missing[index] == 0 && check.why_not.empty()) {
                        score.settled[index] = true;
                        score.risk_removed += check.stake.risk;
                        leg.settles.push_back(index);
                    }
                }
        }
    }
}

Score Board::play(const Groups& groups, double most_s, bool exact) const {
    Score score;
    score.settled.assign(open_.size(), false);
    const std::vector<bool> possible = possible_in(groups);
    std::vector<std::size_t> missing;
    std::vector<std::vector<bool>> had;
    for (const OpenCheck& check : open_) {
        missing.push_back(check.needs.size());
        had.emplace_back(check.needs.size(), false);
    }
    std::vector<std::size_t> stands = ground_.first_stands();
    std::size_t crew_at = ground_.crew_node();
    bool first = true;
    for (const auto& group : groups) {
        Played leg;
        leg.places = group;
        const bool stays = first && !standing_.empty() && group == standing_;
        if (!stays) {
            leg.changeover = exact && stands.size() <= exact_stands
                                 ? [&] {
                                       const ExactChangeover changeover(ground_.distances(), stands, group, crew_at);
                                       return changeover.with(*std::ranges::min_element(changeover.outcomes(), {}, &ExactChangeover::Outcome::seconds));
                                   }()
                                 : quick_changeover(ground_.distances(), stands, group, crew_at);
            leg.place_s = ground_.placing_s(group.size());
        }
        const double moved_s = leg.changeover.seconds + leg.place_s;
        const double per_take_s = errand_.crew.take_s + errand_.crew.mute_change_s;
        if (score.seconds + moved_s + per_take_s > most_s) break;
        score.seconds += moved_s;
        take_group(group, first, most_s, missing, had, possible, score, leg);
        if (leg.circuits.empty()) {
            score.seconds -= moved_s;
            continue;
        }
        for (const Carry& carry : leg.changeover.carries) *std::ranges::find(stands, carry.from) = carry.to;
        if (!leg.changeover.carries.empty()) crew_at = leg.changeover.carries.back().to;
        score.legs.push_back(std::move(leg));
        first = false;
    }
    return score;
}

double Board::worth(const Groups& groups, double most_s) const {
    const Score score = play(groups, most_s, false);
    return score.risk_removed - worth_of_a_second * score.seconds;
}

}  // namespace proofwalk::walk::route
