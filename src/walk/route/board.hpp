// The game of one agenda by numbers: circuits, positions, the checks that are still open and what each still needs, and
// the score of going through groups of positions in an order within a time.
#pragma once

#include <cstdint>
#include <limits>
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
    struct Need {
        std::size_t circuit = 0, place = anywhere;
    };
    std::vector<Need> needs;  // not yet taken
    std::string why_not;      // set when it can't be settled now
};

// One leg as it was played.
struct Played {
    std::vector<std::size_t> places;
    std::vector<std::size_t> circuits;  // in order
    Changeover changeover;
    double place_s = 0.0, take_s = 0.0;
    std::vector<std::size_t> settles;   // indices of open checks
};
struct Score {
    std::vector<Played> legs;
    double seconds = 0.0;
    double risk_removed = 0.0;
    std::vector<bool> settled;  // per open check
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

    // Plays groups in their order until the time is up; takes that settle nothing are left out. `exact`: carries worked out
    // exactly where there are few stands.
    [[nodiscard]] Score play(const Groups& groups, double most_s, bool exact) const;
    // Only how much risk it removes, less a little for each second, so that of two alike the shorter wins.
    [[nodiscard]] double worth(const Groups& groups, double most_s) const;

private:
    void add_open_checks(const plan::Plan& plan, const Situation& situation);
    void number_places(const plan::Plan& plan, const Situation& situation);
    void take_group(const std::vector<std::size_t>& group, bool first, double most_s, std::vector<std::size_t>& missing,
                    std::vector<std::vector<bool>>& had, const std::vector<bool>& possible, Score& score, Played& leg) const;
    [[nodiscard]] std::vector<bool> possible_in(const Groups& groups) const;

    std::vector<std::string> circuits_, places_, stand_names_;
    std::vector<OpenCheck> open_;
    std::vector<std::vector<std::size_t>> checks_of_circuit_;
    std::vector<double> risk_at_;
    std::vector<std::size_t> standing_;
    Errand errand_;
    Ground ground_;
};

}  // namespace proofwalk::walk::route
