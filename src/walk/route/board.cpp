#include "walk/route/board.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace proofwalk::walk::route {
namespace {

bool contains(const auto& items, const auto& item) { return std::ranges::find(items, item) != items.end(); }

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
    number_shares();
}

void Board::join_outputs(const plan::Plan& plan) {
    for (const auto& set : sounding_together(plan)) {
        if (set.size() < 2) continue;
        errand_.together.emplace_back();
        for (const std::string& circuit : set)
            if (const auto known = circuit_number_.find(circuit); known != circuit_number_.end()) errand_.together.back().set(known->second);
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

void Board::number_shares() {
    shares_at_.resize(places_.size());
    for (std::size_t circuit = 0; circuit < circuits_.size(); ++circuit) {
        set_of_.push_back(ground_.set_of(circuit));
        const std::size_t first = shares_.size();
        for (const Need& need : needs_[circuit]) {
            const auto known = std::find_if(shares_.begin() + static_cast<std::ptrdiff_t>(first), shares_.end(), [&](const Share& share) { return share.evidence == need.evidence; });
            const auto number = static_cast<std::size_t>(known - shares_.begin());
            if (known == shares_.end()) shares_.push_back({circuit, need.evidence});
            (need.place == anywhere ? shares_anywhere_ : shares_at_[need.place]).push_back(number);
        }
    }
}

}  // namespace proofwalk::walk::route
