#include "walk/route/board.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace proofwalk::walk::route {
namespace {

bool contains(const auto& items, const auto& item) { return std::ranges::find(items, item) != items.end(); }

constexpr double worth_of_a_second = 1e-9;
constexpr std::size_t exact_stands = 6;
constexpr std::size_t most_together = 32;  // circuits of one take
// What shows a fault though its own check is not complete. Counted in simulated shows (see docs/shortest_walk.md), rounded.
constexpr double one_edge_share = 0.5;     // of an aim
constexpr double both_arrivals_share = 0.7, both_levels_share = 0.9;  // of alignment and crossover, by each box's own axis
constexpr double crossover_share = 0.6;    // of an arrival, by the alignment with a neighbour

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
    if (situation.crew.overlap) join_outputs(plan);
    ground_ = Ground(errand_);
}

// Circuits that can sound together: all their boxes have an output, no two the same, and one sweep suits them all.
void Board::join_outputs(const plan::Plan& plan) {
    std::vector<plan::Band> ranges;
    std::vector<std::vector<int>> outputs;
    for (std::size_t circuit = 0; circuit < circuits_.size(); ++circuit) {
        const auto boxes = plan.boxes_of(circuits_[circuit]);
        const plan::Band range = plan.model_of(*boxes.front()).range_hz;
        const auto joins = [&](const plan::Box* box) { return box->output == boxes.front()->output && plan.model_of(*box).range_hz == range; };
        if (!boxes.front()->output || !std::ranges::all_of(boxes, joins)) continue;
        std::size_t set = 0;
        while (set < ranges.size() && (ranges[set] != range || contains(outputs[set], *boxes.front()->output) || outputs[set].size() == most_together)) ++set;
        if (set == ranges.size()) {
            ranges.push_back(range);
            outputs.emplace_back();
            errand_.together.emplace_back();
        }
        outputs[set].push_back(*boxes.front()->output);
        errand_.together[set].set(circuit);
    }
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
    for (std::size_t index = 0; index < circuits_.size(); ++index) circuit_number_[circuits_[index]] = index;
    for (std::size_t index = 0; index < places_.size(); ++index) place_number_[places_[index]] = index;
    needs_.resize(circuits_.size());
    risk_at_.assign(places_.size(), 0.0);

    for (std::size_t index = 0; index < all.size(); ++index) {
        const CheckId id{all[index].check.kind, all[index].check.subject};
        if (contains(situation.settled, id)) continue;
        std::string why_not = blocked(all[index], situation);
        const bool known = std::ranges::all_of(all[index].pairs, [&](const Pair& pair) { return circuit_number_.contains(pair.circuit); });
        if (why_not.empty() && !known) why_not = "the plan has more circuits than one agenda holds";
        const std::size_t before = evidence_.size();
        if (why_not.empty()) {
            add_evidence(open_.size(), 1.0, all[index].pairs, situation);
            // All its takes are there: judging it is not a matter of walking.
            if (evidence_.size() == before) continue;
        }
        open_.push_back({index, id, contains(situation.doubted, id) ? doubted(stakes[index], situation.odds) : stakes[index], why_not});
        if (situation.minutes && why_not.empty()) add_parts(plan, all[index], open_.size() - 1, situation);
    }
    for (std::size_t circuit = 0; circuit < circuits_.size(); ++circuit)
        for (const Need& need : needs_[circuit]) {
            if (need.place == anywhere) continue;
            const Evidence& evidence = evidence_[need.evidence];
            errand_.circuits[need.place].set(circuit);
            if (evidence.share == 1.0) risk_at_[need.place] += open_[evidence.check].stake.risk / static_cast<double>(evidence.needs);
        }
    for (std::size_t place = 0; place < places_.size(); ++place)
        if (contains(stand_names_, places_[place]) && errand_.circuits[place].any()) standing_.push_back(place);
}

// Nothing is added where all of it is taken.
void Board::add_evidence(std::size_t check, double share, const std::vector<Pair>& pairs, const Situation& situation) {
    Evidence evidence{check, share, 0};
    for (const Pair& pair : pairs) {
        const bool done = pair.position.empty() ? std::ranges::any_of(situation.taken, [&](const Pair& taken) { return taken.circuit == pair.circuit; })
                                                : contains(situation.taken, pair);
        if (done) continue;
        const std::size_t place = pair.position.empty() ? anywhere : place_number_.at(pair.position);
        needs_[circuit_number_.at(pair.circuit)].push_back({evidence_.size(), place});
        ++evidence.needs;
    }
    if (evidence.needs > 0) evidence_.push_back(evidence);
}

// Less than a check needs, and still worth something.
void Board::add_parts(const plan::Plan& plan, const CheckNeeds& needs, std::size_t check, const Situation& situation) {
    using enum plan::CheckKind;
    const auto open_here = [&](const plan::Position* position) { return position != nullptr && place_number_.contains(position->id); };
    if ((needs.check.kind == aim_h || needs.check.kind == aim_v) && needs.pairs.size() == 3) {
        for (const std::size_t edge : {1u, 2u}) add_evidence(check, one_edge_share, {needs.pairs[0], needs.pairs[edge]}, situation);
    } else if (needs.check.kind == alignment || needs.check.kind == crossover) {
        std::vector<Pair> axes;
        for (const std::string& box : needs.check.boxes)
            if (const plan::Position* axis = plan.serving(plan::Role::on_axis, box); open_here(axis)) axes.push_back({plan.box(box)->circuit, axis->id});
        if (axes.size() == needs.check.boxes.size())
            add_evidence(check, needs.check.kind == alignment ? both_arrivals_share : both_levels_share, axes, situation);
    } else if (needs.check.kind == arrival) {
        const plan::Position* crossing = plan.serving(plan::Role::crossover, needs.check.subject);
        if (!open_here(crossing) || contains(needs.check.positions, crossing->id)) return;
        std::vector<Pair> both;
        for (const plan::Serve& serve : crossing->serves)
            if (serve.role == plan::Role::crossover && contains(serve.boxes, needs.check.subject) && both.empty())
                for (const std::string& box : serve.boxes) both.push_back({plan.box(box)->circuit, crossing->id});
        add_evidence(check, crossover_share, both, situation);
    }
}

std::string Board::name_of(std::size_t node) const {
    return node < places_.size() ? places_[node] : stand_names_.at(node - places_.size());
}

Board::State Board::start_of(const Groups& groups) const {
    State state;
    for (const Evidence& evidence : evidence_) state.missing.push_back(evidence.needs);
    state.here.assign(places_.size(), false);
    for (const auto& group : groups)
        for (const std::size_t place : group) state.here[place] = true;
    std::vector<std::size_t> reachable(evidence_.size(), 0);
    for (const auto& needs : needs_) {
        state.had.emplace_back(needs.size(), false);
        for (const Need& need : needs) reachable[need.evidence] += heard(need, state) ? 1 : 0;
    }
    for (std::size_t index = 0; index < evidence_.size(); ++index) state.possible.push_back(reachable[index] == evidence_[index].needs);
    state.here.assign(places_.size(), false);
    return state;
}

// Circuits in the order of what they promise: evidence that this take completes counts whole, other by its share.
void Board::take_group(bool first, double most_s, State& state, Score& score, Played& leg) const {
    std::vector<std::size_t> sounding(errand_.together.size() + 1, 0);  // circuits of each set in this leg
    struct Promise {
        std::size_t circuit;
        double worth;
        bool unheard;
    };
    std::vector<Promise> promises;
    std::vector<std::size_t> here(evidence_.size(), 0), touched;
    for (std::size_t circuit = 0; circuit < circuits_.size(); ++circuit) {
        Promise promise{circuit, 0.0, false};
        touched.clear();
        for (std::size_t index = 0; index < needs_[circuit].size(); ++index) {
            const Need& need = needs_[circuit][index];
            if (!state.possible[need.evidence] || state.had[circuit][index] || !heard(need, state)) continue;
            // Where a check is asked anywhere, the first leg answers it: does everything sound, and is it patched?
            if (open_[evidence_[need.evidence].check].id.kind == plan::CheckKind::sounding) promise.unheard = first;
            if (here[need.evidence]++ == 0) touched.push_back(need.evidence);
        }
        for (const std::size_t index : touched) {
            const Evidence& evidence = evidence_[index];
            const double more = evidence.share - score.seen[evidence.check];
            if (more > 0.0)
                promise.worth += open_[evidence.check].stake.risk * more * static_cast<double>(here[index]) / static_cast<double>(state.missing[index]);
            here[index] = 0;
        }
        if (promise.worth > 0.0) promises.push_back(promise);
    }
    std::ranges::stable_sort(promises, [](const Promise& a, const Promise& b) {
        return a.unheard != b.unheard ? a.unheard : a.worth > b.worth;
    });
    for (const Promise& promise : promises) {
        const std::size_t set = ground_.set_of(promise.circuit);
        const double added_s = ground_.added_s(set, sounding[set]);
        if (score.seconds + added_s > most_s) continue;
        ++sounding[set];
        score.seconds += added_s;
        leg.take_s += added_s;
        leg.circuits.push_back(promise.circuit);
        take(promise.circuit, state, score, leg);
    }
}

void Board::take(std::size_t circuit, State& state, Score& score, Played& leg) const {
    for (std::size_t index = 0; index < needs_[circuit].size(); ++index) {
        const Need& need = needs_[circuit][index];
        if (state.had[circuit][index] || !heard(need, state)) continue;
        state.had[circuit][index] = true;
        if (--state.missing[need.evidence] > 0) continue;
        const Evidence& evidence = evidence_[need.evidence];
        double& seen = score.seen[evidence.check];
        if (evidence.share <= seen) continue;
        score.risk_removed += open_[evidence.check].stake.risk * (evidence.share - seen);
        seen = evidence.share;
        if (seen == 1.0) leg.settles.push_back(evidence.check);
    }
}

Score Board::play(const Groups& groups, double most_s, bool exact) const {
    Score score;
    score.seen.assign(open_.size(), 0.0);
    State state = start_of(groups);
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
        if (score.seconds + moved_s > most_s) break;
        score.seconds += moved_s;
        for (const std::size_t place : group) state.here[place] = true;
        take_group(first, most_s, state, score, leg);
        for (const std::size_t place : group) state.here[place] = false;
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
