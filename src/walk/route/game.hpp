// Going through groups of positions in an order within a time, on the board of one agenda: what that settles and what it costs.
// A search plays many thousand times, so that nothing is allocated in a game that only asks for its result.
#pragma once

#include <cstdint>
#include <unordered_map>
#include <vector>

#include "walk/route/board.hpp"

namespace proofwalk::walk::route {

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
    std::vector<double> seen;   // per open check: the share of its risk that is taken away, 1: settled
};

class Game {
public:
    // Keeps a reference to the board.
    Game(const Board& board, double most_s);

    // Plays groups in their order until the time is up; takes that settle nothing are left out. Carries are worked out exactly
    // where there are few stands.
    [[nodiscard]] Score play(const Groups& groups);
    struct Result {
        double risk_removed = 0.0, seconds = 0.0;
        // Of two that remove the same the shorter wins.
        [[nodiscard]] double worth() const { return risk_removed - worth_of_a_second * seconds; }
    };
    [[nodiscard]] Result result(const Groups& groups);

private:
    static constexpr double worth_of_a_second = 1e-9;
    struct Promise {
        std::size_t circuit = 0;
        double worth = 0.0;
        bool unheard = false;
    };

    void begin(const Groups& groups);
    void go_through(const Groups& groups, Score* score);
    [[nodiscard]] double carry_s(const std::vector<std::size_t>& group, std::size_t& crew_at);
    void listen(const std::vector<std::size_t>& group, bool first);
    void add(std::size_t share);
    double take_all(Played* leg);
    void take(std::size_t circuit, Played* leg);

    const Board& board_;
    double most_s_;
    double seconds_ = 0.0, risk_removed_ = 0.0;
    std::vector<std::size_t> stands_;
    std::vector<std::size_t> missing_, reachable_;   // evidence
    std::vector<double> seen_;                       // open check
    std::vector<bool> asked_;                        // share: served anywhere already
    // Of the leg being played.
    std::vector<std::size_t> times_, next_, touched_;  // share: how many of its needs are heard here; the next one of its circuit
    std::vector<std::size_t> first_;                   // circuit: its first share that is heard here
    std::vector<std::size_t> sounding_;                // set: how many of its circuits sound
    std::vector<Promise> promises_;
    // What changeovers cost, by what stands where, what is wanted and where the crew is.
    std::vector<std::uint64_t> stand_key_, place_key_, crew_key_;
    std::unordered_map<std::uint64_t, QuickCost> carried_;
};

}  // namespace proofwalk::walk::route
