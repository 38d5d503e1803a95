#include "walk/route/game.hpp"

#include <algorithm>
#include <random>

namespace proofwalk::walk::route {
namespace {

constexpr std::size_t exact_stands = 6;
constexpr std::size_t none = std::numeric_limits<std::size_t>::max();

Changeover best_changeover(const Ground& ground, const std::vector<std::size_t>& stands, const std::vector<std::size_t>& group, std::size_t crew_at) {
    if (stands.size() > exact_stands) return quick_changeover(ground.distances(), stands, group, crew_at);
    const ExactChangeover changeover(ground.distances(), stands, group, crew_at);
    return changeover.with(*std::ranges::min_element(changeover.outcomes(), {}, &ExactChangeover::Outcome::seconds));
}

}  // namespace

Game::Game(const Board& board, double most_s) : board_(board), most_s_(most_s) {
    times_.assign(board.shares().size(), 0);
    next_.assign(board.shares().size(), none);
    first_.assign(board.circuits().size(), none);
    sounding_.assign(board.errand().together.size() + 1, 0);
    std::mt19937_64 random(1);
    for (auto* keys : {&stand_key_, &place_key_, &crew_key_})
        for (std::size_t node = 0; node < board.ground().distances().size(); ++node) keys->push_back(random());
}

Score Game::play(const Groups& groups) {
    Score score;
    go_through(groups, &score);
    score.seconds = seconds_;
    score.risk_removed = risk_removed_;
    score.seen = seen_;
    return score;
}

Game::Result Game::result(const Groups& groups) {
    go_through(groups, nullptr);
    return {risk_removed_, seconds_};
}

void Game::begin(const Groups& groups) {
    seconds_ = risk_removed_ = 0.0;
    stands_ = board_.ground().first_stands();
    missing_.clear();
    for (const Evidence& evidence : board_.evidence()) missing_.push_back(evidence.needs);
    reachable_.assign(missing_.size(), 0);
    for (const auto& group : groups)
        for (const std::size_t place : group)
            for (const std::size_t share : board_.shares_at(place)) ++reachable_[board_.shares()[share].evidence];
    for (const std::size_t share : board_.shares_anywhere()) ++reachable_[board_.shares()[share].evidence];
    seen_.assign(board_.open().size(), 0.0);
    asked_.assign(board_.shares().size(), false);
}

void Game::go_through(const Groups& groups, Score* score) {
    begin(groups);
    std::size_t crew_at = board_.ground().crew_node();
    bool first = true;
    for (const auto& group : groups) {
        Played leg;
        double moved_s = 0.0;
        std::size_t crew_then = crew_at;
        if (const bool stays = first && !board_.standing().empty() && group == board_.standing(); !stays) {
            if (score != nullptr) {
                leg.changeover = best_changeover(board_.ground(), stands_, group, crew_at);
                leg.place_s = board_.ground().placing_s(group.size());
                moved_s = leg.changeover.seconds + leg.place_s;
            } else {
                moved_s = carry_s(group, crew_then) + board_.ground().placing_s(group.size());
            }
        }
        if (seconds_ + moved_s > most_s_) break;
        seconds_ += moved_s;
        listen(group, first);
        const double take_s = take_all(score == nullptr ? nullptr : &leg);
        if (take_s == 0.0) {
            seconds_ -= moved_s;
            continue;
        }
        first = false;
        if (moved_s > 0.0 && group.size() == stands_.size()) {
            stands_ = group;
        } else if (moved_s > 0.0) {
            const Changeover some = score == nullptr ? quick_changeover(board_.ground().distances(), stands_, group, crew_at) : leg.changeover;
            for (const Carry& carry : some.carries) *std::ranges::find(stands_, carry.from) = carry.to;
        }
        crew_at = score != nullptr && !leg.changeover.carries.empty() ? leg.changeover.carries.back().to : crew_then;
        if (score == nullptr) continue;
        leg.places = group;
        leg.take_s = take_s;
        score->legs.push_back(std::move(leg));
    }
}

double Game::carry_s(const std::vector<std::size_t>& group, std::size_t& crew_at) {
    std::uint64_t key = crew_key_[crew_at];
    for (const std::size_t stand : stands_) key += stand_key_[stand];
    for (const std::size_t place : group) key += place_key_[place];
    const auto [known, is_new] = carried_.try_emplace(key);
    if (is_new) known->second = quick_cost(board_.ground().distances(), stands_, group, crew_at, true);
    crew_at = known->second.last;
    return known->second.seconds;
}

void Game::add(std::size_t share) {
    const auto [circuit, evidence] = board_.shares()[share];
    if (reachable_[evidence] != board_.evidence()[evidence].needs) return;
    if (times_[share]++ > 0) return;
    touched_.push_back(share);
    next_[share] = first_[circuit];
    first_[circuit] = share;
}

// What each circuit promises where the mics stand: evidence that this take completes counts whole, other by its share.
void Game::listen(const std::vector<std::size_t>& group, bool first) {
    for (const std::size_t place : group)
        for (const std::size_t share : board_.shares_at(place)) add(share);
    for (const std::size_t share : board_.shares_anywhere())
        if (!asked_[share]) add(share);
    promises_.clear();
    for (std::size_t circuit = 0; circuit < first_.size(); ++circuit) {
        Promise promise{circuit, 0.0, false};
        for (std::size_t share = first_[circuit]; share != none; share = next_[share]) {
            const Evidence& evidence = board_.evidence()[board_.shares()[share].evidence];
            const OpenCheck& check = board_.open()[evidence.check];
            // Where a check is asked anywhere, the first leg answers it: does everything sound, and is it patched?
            if (first && check.id.kind == plan::CheckKind::sounding) promise.unheard = true;
            if (const double more = evidence.share - seen_[evidence.check]; more > 0.0)
                promise.worth += check.stake.risk * more * static_cast<double>(times_[share]) / static_cast<double>(missing_[board_.shares()[share].evidence]);
        }
        if (promise.worth > 0.0) promises_.push_back(promise);
    }
    std::ranges::sort(promises_, [](const Promise& a, const Promise& b) {
        if (a.unheard != b.unheard) return a.unheard;
        return a.worth != b.worth ? a.worth > b.worth : a.circuit < b.circuit;
    });
}

// The circuits in the order of what they promise, as many as there is time for. Gives the seconds; clears what was heard.
double Game::take_all(Played* leg) {
    std::ranges::fill(sounding_, 0);
    double take_s = 0.0;
    for (const Promise& promise : promises_) {
        const std::size_t set = board_.set_of(promise.circuit);
        const double added_s = board_.ground().added_s(set, sounding_[set]);
        if (seconds_ + added_s > most_s_) continue;
        ++sounding_[set];
        seconds_ += added_s;
        take_s += added_s;
        if (leg != nullptr) leg->circuits.push_back(promise.circuit);
        take(promise.circuit, leg);
    }
    for (const std::size_t share : touched_) {
        times_[share] = 0;
        first_[board_.shares()[share].circuit] = none;
    }
    touched_.clear();
    return take_s;
}

void Game::take(std::size_t circuit, Played* leg) {
    for (std::size_t share = first_[circuit]; share != none; share = next_[share]) {
        const std::size_t number = board_.shares()[share].evidence;
        asked_[share] = true;
        missing_[number] -= times_[share];
        if (missing_[number] > 0) continue;
        const Evidence& evidence = board_.evidence()[number];
        double& seen = seen_[evidence.check];
        if (evidence.share <= seen) continue;
        risk_removed_ += board_.open()[evidence.check].stake.risk * (evidence.share - seen);
        seen = evidence.share;
        if (seen == 1.0 && leg != nullptr) leg->settles.push_back(evidence.check);
    }
}

}  // namespace proofwalk::walk::route
