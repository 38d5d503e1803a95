// The board of one agenda by numbers: circuits, positions, the checks that are still open and what each still needs.
// game.hpp plays on it.
#pragma once

#include <cstdint>
#include <limits>
#include <map>
#include <string>
#include <vector>

#include "walk/route/agenda.hpp"
#include "walk/route/ground.hpp"

namespace proofwalk::walk::route {

using Groups = std::vector<std::vector<std::size_t>>;  // of places
inline constexpr std::size_t anywhere = std::numeric_limits<std::size_t>::max();

struct OpenCheck {
    std::size_t number = 0;  // in plan order
    CheckId id;
    Stake stake;
    std::string why_not;     // set when it can't be settled now
};
// What takes away a part of a check's risk: all of it where everything that the check needs is taken, some of it where less is.
struct Evidence {
    std::size_t check = 0;   // open check
    double share = 1.0;      // of its risk
    std::size_t needs = 0;   // how many are not yet taken
};
// One circuit heard at one place, for one piece of evidence.
struct Need {
    std::size_t evidence = 0, place = anywhere;
};

// What a circuit contributes to one piece of evidence, at whichever places.
struct Share {
    std::size_t circuit = 0, evidence = 0;
};

class Board {
public:
    Board(const plan::Plan& plan, const Situation& situation);

    [[nodiscard]] const std::vector<OpenCheck>& open() const { return open_; }
    [[nodiscard]] const std::vector<std::string>& circuits() const { return circuits_; }
    [[nodiscard]] const std::vector<std::string>& places() const { return places_; }  // that some open check needs
    [[nodiscard]] const Errand& errand() const { return errand_; }
    [[nodiscard]] const Ground& ground() const { return ground_; }
    // Places where mics stand already and something is needed: they come first and cost no step.
    [[nodiscard]] const std::vector<std::size_t>& standing() const { return standing_; }
    // "start" or the position where a stand was.
    [[nodiscard]] std::string name_of(std::size_t node) const;
    // Risk that hangs on a place: each open check shares its risk among what it needs.
    [[nodiscard]] double risk_at(std::size_t place) const { return risk_at_[place]; }

    [[nodiscard]] const std::vector<Evidence>& evidence() const { return evidence_; }
    [[nodiscard]] const std::vector<Share>& shares() const { return shares_; }
    // The shares that a mic at a place serves, one entry for each circuit heard there that is still needed.
    [[nodiscard]] const std::vector<std::size_t>& shares_at(std::size_t place) const { return shares_at_[place]; }
    [[nodiscard]] const std::vector<std::size_t>& shares_anywhere() const { return shares_anywhere_; }
    // The set of circuits that a circuit sounds together with, as Ground numbers them.
    [[nodiscard]] std::size_t set_of(std::size_t circuit) const { return set_of_[circuit]; }

private:
    void number_places(const plan::Plan& plan, const Situation& situation);
    void add_open_checks(const plan::Plan& plan, const Situation& situation);
    void add_evidence(std::size_t check, double share, const std::vector<Pair>& pairs, const Situation& situation);
    void add_parts(const plan::Plan& plan, const CheckNeeds& needs, std::size_t check, const Situation& situation);
    void join_outputs(const plan::Plan& plan);
    void number_shares();

    std::vector<std::string> circuits_, places_, stand_names_;
    std::map<std::string, std::size_t, std::less<>> circuit_number_, place_number_;
    std::vector<OpenCheck> open_;
    std::vector<Evidence> evidence_;
    std::vector<std::vector<Need>> needs_;  // of each circuit
    std::vector<Share> shares_;
    std::vector<std::vector<std::size_t>> shares_at_;  // place
    std::vector<std::size_t> shares_anywhere_, set_of_;
    std::vector<double> risk_at_;
    std::vector<std::size_t> standing_;
    Errand errand_;
    Ground ground_;
};

}  // namespace proofwalk::walk::route
