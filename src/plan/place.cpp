#include "plan/place.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <limits>
#include <map>
#include <set>

#include <fmt/format.h>

#include "plan/area.hpp"
#include "plan/checks.hpp"
#include "plan/targets.hpp"

namespace proofwalk::plan {
namespace {

constexpr double good_edge = 0.35;      // of the half coverage
constexpr double on_axis_slack_db = 0.4;
constexpr double along_slack = 0.15, across_slack = 0.3;  // of the half coverage
constexpr double crossover_slack_db = 0.5;
constexpr double crossover_weight_db = 3.0;  // of the level difference against the losses of both patterns
constexpr double level_slack_db = 2.0;       // a place that serves must not be much farther from the box than the best
constexpr double nearness = 0.05;            // where an axis only grazes the audience the near part counts
constexpr double coverage_limit_db = -9.0;  // quieter than this by its pattern, a seat is not on a box's axis

// Where a box is heard: half coverages off its axis, and level with everything in.
struct Seen {
    double h = 0.0, v = 0.0;
    double distance_m = 0.0;
    double level_db = 0.0, pattern_db = 0.0;
};

class Hearing {
public:
    explicit Hearing(const Plan& plan) : plan_(plan) {
        for (const Box& box : plan.boxes) {
            const Model& model = plan.model_of(box);
            absorption_.push_back(-path_loss_db(1.0, plan.air, model.aim_band_hz));
        }
    }
    [[nodiscard]] Seen seen(std::size_t box_index, Vec3 at) const {
        const Box& box = plan_.boxes[box_index];
        const Model& model = plan_.model_of(box);
        const auto bearing = acoustics::bearing(box.pose(), at);
        const double half_h = model.coverage_h_deg / 2.0, half_v = model.coverage_v_deg / 2.0;
        const double pattern = model.pattern_loss->loss_db(bearing.h_deg, bearing.v_deg, model.aim_band_hz.low_hz, model.aim_band_hz.high_hz);
        const double path = std::max(bearing.distance_m, 0.1);
        return {bearing.h_deg / half_h, bearing.v_deg / half_v, path,
                box.gain_db + model.level_1m_db.value_or(0.0) + pattern - 20.0 * std::log10(path) - absorption_[box_index] * path, pattern};
    }

private:
    const Plan& plan_;
    std::vector<double> absorption_;
};

// One thing that a position must do. `badness` is small where it does it well; `fine` says where it does it well enough to
// stand in for the best place.
struct Wish {
    Role role = Role::on_axis;
    std::vector<std::string> boxes;
    std::vector<std::size_t> indexes;
    std::function<double(Vec3)> badness;
    std::function<bool(Vec3, Vec3 best)> fine;
    Vec3 best;
};

double squared(double x) { return x * x; }

class Placer {
public:
    Placer(const Plan& plan, const PlaceOptions& options) : plan_(plan), options_(options), hearing_(plan) {}

    Placement run() {
        Placement result;
        for (const Position& position : plan_.positions)
            if (options_.keep_all || std::ranges::find(options_.keep, position.id) != options_.keep.end()) kept_.push_back(position);
        if (plan_.areas.empty())
            result.unplaced.push_back({Role::on_axis, {}, "the plan has no area, so there is no audience to place mics in"});
        else
            gather(result);
        for (const Group& group : merged()) result.positions.push_back(position_of(group));
        number_and_order(result);
        return result;
    }

private:
    struct Group {
        Vec3 at;
        std::vector<const Wish*> wishes;
    };

    [[nodiscard]] std::size_t index_of(std::string_view id) const {
        return static_cast<std::size_t>(plan_.box(id) - plan_.boxes.data());
    }

    // The best place on all areas: a coarse look everywhere, then ever smaller steps.
    [[nodiscard]] Vec3 best_place(const std::function<double(Vec3)>& badness) const {
        constexpr int steps = 48;
        double least = std::numeric_limits<double>::infinity();
        Vec3 best;
        for (const Area& area : plan_.areas) {
            const double depth = std::max(distance(area.near, area.far), 0.1);
            const double along_edge = std::min(options_.margin_m / depth, 0.5);
            const double across_edge = std::max(0.0, 1.0 - 2.0 * options_.margin_m / std::min(area.near_width_m, area.far_width_m));
            OnArea at;
            double here = std::numeric_limits<double>::infinity();
            const auto consider = [&](OnArea place) {
                place.along = std::clamp(place.along, along_edge, 1.0 - along_edge);
                place.across = std::clamp(place.across, -across_edge, across_edge);
                const double bad = badness(point_on(area, place));
                if (bad < here) {
                    here = bad;
                    at = place;
                    return true;
                }
                return false;
            };
            for (int i = 0; i <= steps; ++i)
                for (int j = 0; j <= steps; ++j) consider({static_cast<double>(i) / steps, 2.0 * j / steps - 1.0});
            for (double step = 1.0 / steps; step > 1e-4;) {
                const OnArea from = at;
                bool better = false;
                for (const auto& [along, across] : {std::array{1.0, 0.0}, {-1.0, 0.0}, {0.0, 2.0}, {0.0, -2.0}, {1.0, 2.0}, {-1.0, -2.0}, {1.0, -2.0}, {-1.0, 2.0}})
                    better |= consider({from.along + step * along, from.across + step * across});
                if (!better) step /= 2.0;
            }
            if (here < least) {
                least = here;
                best = point_on(area, at);
            }
        }
        return rounded(best);
    }

    [[nodiscard]] bool kept_serves(Role role, const std::vector<std::string>& boxes) const {
        for (const Position& position : kept_)
            for (const Serve& serve : position.serves)
                if (serve.role == role && std::ranges::all_of(boxes, [&](const std::string& id) { return std::ranges::find(serve.boxes, id) != serve.boxes.end(); }))
                    return true;
        return false;
    }

    // Boxes of one circuit that are neighbours in a coupled or line array hang together.
    [[nodiscard]] std::vector<std::string> hung_with(const Box& box) const {
        std::vector<std::string> together = {box.id};
        for (std::size_t i = 0; i < together.size(); ++i)
            for (const Array& array : plan_.arrays) {
                if (array.kind != ArrayKind::coupled && array.kind != ArrayKind::line) continue;
                for (std::size_t k = 0; k + 1 < array.boxes.size(); ++k)
                    for (const auto& [one, other] : {std::pair{array.boxes[k], array.boxes[k + 1]}, {array.boxes[k + 1], array.boxes[k]}})
                        if (one == together[i] && plan_.box(other)->circuit == box.circuit && std::ranges::find(together, other) == together.end())
                            together.push_back(other);
            }
        std::ranges::sort(together, {}, [&](const std::string& id) { return index_of(id); });
        return together;
    }

    void gather(Placement& result) {
        std::set<std::string> done;
        for (const Box& box : plan_.boxes) {
            if (done.contains(box.id)) continue;
            const std::vector<std::string> together = hung_with(box);
            done.insert(together.begin(), together.end());
            const bool reached = want_axis(together, result);
            if (together.size() == 1 && plan_.model_of(box).pattern == Pattern::beam && reached) want_edges(box, result);
        }
        for (const PlannedCheck& check : checks(plan_))
            if (check.kind == CheckKind::crossover) want_crossover(check, result);
    }

    bool want_axis(const std::vector<std::string>& boxes, Placement& result) {
        Wish wish{Role::on_axis, boxes, {}, {}, {}, {}};
        for (const std::string& id : boxes) wish.indexes.push_back(index_of(id));
        const bool omni = plan_.model_of(*plan_.box(boxes.front())).pattern == Pattern::omni;
        wish.badness = [this, indexes = wish.indexes, omni](Vec3 at) {
            double sum = 0.0;
            for (const std::size_t index : indexes) {
                const Seen seen = hearing_.seen(index, at);
                // An omni box has no axis: straight ahead of it, some metres off, where the direct sound is strong.
                sum += omni ? squared((seen.distance_m - 5.0) / 5.0) + squared(acoustics::bearing(plan_.boxes[index].pose(), at).h_deg / 90.0)
                            : squared(seen.h) + squared(seen.v) + nearness * std::log10(seen.distance_m);
            }
            return sum / static_cast<double>(indexes.size());
        };
        wish.fine = [this, indexes = wish.indexes, omni](Vec3 at, Vec3 best) {
            return std::ranges::all_of(indexes, [&](std::size_t index) {
                if (omni) return distance(at, best) < 1.5;
                const Seen here = hearing_.seen(index, at), there = hearing_.seen(index, best);
                return here.pattern_db >= there.pattern_db - on_axis_slack_db && here.level_db >= there.level_db - level_slack_db;
            });
        };
        wish.best = best_place(wish.badness);
        double mean_pattern = 0.0;
        for (const std::size_t index : wish.indexes) mean_pattern = std::max(mean_pattern, -hearing_.seen(index, wish.best).pattern_db);
        if (!omni && boxes.size() == 1 && -mean_pattern < coverage_limit_db) {
            result.unplaced.push_back({Role::on_axis, boxes, "its axis and coverage miss every audience area"});
            return false;
        }
        axis_of_[boxes.front()] = wish.best;
        if (!kept_serves(Role::on_axis, boxes)) wishes_.push_back(wish);
        return true;
    }

    void want_edges(const Box& box, Placement& result) {
        const std::size_t index = index_of(box.id);
        const Seen axis = hearing_.seen(index, axis_of_.at(box.id));
        struct Side {
            Role role;
            bool horizontal;
            double sign;
        };
        for (const Side side : {Side{Role::left_edge, true, 1.0}, {Role::right_edge, true, -1.0}, {Role::top_edge, false, 1.0}, {Role::bottom_edge, false, -1.0}}) {
            if (kept_serves(side.role, {box.id})) continue;
            Wish wish{side.role, {box.id}, {index}, {}, {}, {}};
            const double other_axis = side.horizontal ? axis.v : axis.h;
            wish.badness = [this, index, side, other_axis](Vec3 at) {
                const Seen seen = hearing_.seen(index, at);
                const double along = side.sign * (side.horizontal ? seen.h : seen.v), across = side.horizontal ? seen.v : seen.h;
                return squared(along - 1.0) + 0.5 * squared(across - other_axis);
            };
            wish.fine = [this, index, side](Vec3 at, Vec3 best) {
                const Seen here = hearing_.seen(index, at), there = hearing_.seen(index, best);
                const double along = side.horizontal ? here.h - there.h : here.v - there.v, across = side.horizontal ? here.v - there.v : here.h - there.h;
                return std::abs(along) <= along_slack && std::abs(across) <= across_slack && here.level_db >= there.level_db - level_slack_db;
            };
            wish.best = best_place(wish.badness);
            const Seen found = hearing_.seen(index, wish.best);
            const double reach = side.sign * (side.horizontal ? found.h : found.v) - side.sign * (side.horizontal ? axis.h : axis.v);
            if (reach < good_edge)
                result.unplaced.push_back({side.role, {box.id}, fmt::format("the audience reaches {:.0f} % of the way from its axis to that edge", std::max(100.0 * reach, 0.0))});
            else
                wishes_.push_back(wish);
        }
    }

    [[nodiscard]] Vec3 between_axes(const std::string& one, const std::string& other) const {
        const auto axis = [&](const std::string& id) {
            const auto found = axis_of_.find(id);
            return found != axis_of_.end() ? found->second : plan_.box(id)->at;
        };
        return 0.5 * (axis(one) + axis(other));
    }

    void want_crossover(const PlannedCheck& check, Placement& result) {
        if (kept_serves(Role::crossover, check.boxes)) return;
        Wish wish{Role::crossover, check.boxes, {index_of(check.boxes[0]), index_of(check.boxes[1])}, {}, {}, {}};
        const std::size_t one = wish.indexes[0], two = wish.indexes[1];
        // Levels of boxes of different kinds can be compared only where both models state theirs; else by place alone.
        const Model &first = plan_.model_of(plan_.boxes[one]), &second = plan_.model_of(plan_.boxes[two]);
        const bool comparable = first.id == second.id || (first.level_1m_db && second.level_1m_db);
        // Far away both are on their axis and equal, but what joins them for the audience is between their on-axis places.
        const Vec3 between = between_axes(check.boxes[0], check.boxes[1]);
        wish.badness = [this, one, two, comparable, between](Vec3 at) {
            const Seen a = hearing_.seen(one, at), b = hearing_.seen(two, at);
            const double level = comparable ? squared((a.level_db - b.level_db) / crossover_weight_db) : 0.1 * squared(a.distance_m - b.distance_m);
            const auto outside = [](const Seen& seen) { return std::max(-seen.pattern_db - 6.0, 0.0) / 2.0; };
            return level + outside(a) + outside(b) - 0.02 * (a.pattern_db + b.pattern_db) + 0.1 * distance(at, between);
        };
        wish.fine = [this, one, two, comparable](Vec3 at, Vec3 best) {
            const Seen a = hearing_.seen(one, at), b = hearing_.seen(two, at), c = hearing_.seen(one, best), d = hearing_.seen(two, best);
            const bool balanced = !comparable || std::abs((a.level_db - b.level_db) - (c.level_db - d.level_db)) <= crossover_slack_db;
            return balanced && distance(at, best) < 2.5 && a.pattern_db + b.pattern_db >= c.pattern_db + d.pattern_db - 2.0;
        };
        wish.best = best_place(wish.badness);
        const Seen a = hearing_.seen(one, wish.best), b = hearing_.seen(two, wish.best);
        if (comparable && std::abs(a.level_db - b.level_db) > 6.0)
            result.unplaced.push_back({Role::crossover, check.boxes, fmt::format("nowhere in the audience do the two come nearer than {:.0f} dB to each other", std::abs(a.level_db - b.level_db))});
        else if (a.pattern_db < -20.0 || b.pattern_db < -20.0)
            result.unplaced.push_back({Role::crossover, check.boxes, "where the two are equally loud the audience is far outside the coverage of one"});
        else
            wishes_.push_back(wish);
    }

    // Where one mic might stand: each wish's best place, and between the best places of two wishes where both are served.
    [[nodiscard]] std::vector<Vec3> candidates() const {
        std::vector<Vec3> places;
        for (const Wish& wish : wishes_) places.push_back(wish.best);
        for (std::size_t i = 0; i < wishes_.size(); ++i)
            for (std::size_t j = i + 1; j < wishes_.size(); ++j) {
                const Vec3 one = wishes_[i].best, other = wishes_[j].best;
                const Area* area = area_under(plan_, one);
                if (area == nullptr || area != area_under(plan_, other)) continue;  // a place between two floors is on neither
                for (const double share : {0.25, 0.5, 0.75}) {
                    const Vec3 between = rounded(one + share * (other - one));
                    if (wishes_[i].fine(between, one) && wishes_[j].fine(between, other)) places.push_back(between);
                }
            }
        return places;
    }

    // As few places as serve all wishes: again and again the place that serves most of those left, the better the sooner.
    [[nodiscard]] std::vector<Group> merged() const {
        struct Candidate {
            Vec3 at;
            std::vector<const Wish*> serves;
        };
        std::vector<Candidate> places;
        for (const Vec3 at : candidates()) {
            Candidate candidate{at, {}};
            for (const Wish& wish : wishes_)
                if (distance(at, wish.best) < 1e-9 || wish.fine(at, wish.best)) candidate.serves.push_back(&wish);
            places.push_back(std::move(candidate));
        }
        std::set<const Wish*> left;
        for (const Wish& wish : wishes_) left.insert(&wish);
        std::vector<Group> groups;
        while (!left.empty()) {
            Group chosen;
            double chosen_badness = 0.0;
            for (Candidate& candidate : places) {
                std::erase_if(candidate.serves, [&](const Wish* wish) { return !left.contains(wish); });
                if (candidate.serves.empty() || candidate.serves.size() < chosen.wishes.size()) continue;
                double badness = 0.0;
                for (const Wish* wish : candidate.serves) badness += wish->badness(candidate.at) - wish->badness(wish->best);
                if (candidate.serves.size() > chosen.wishes.size() || badness < chosen_badness) {
                    chosen = {candidate.at, candidate.serves};
                    chosen_badness = badness;
                }
            }
            for (const Wish* wish : chosen.wishes) left.erase(wish);
            settle(chosen);
            groups.push_back(chosen);
        }
        return groups;
    }

    // Moves a place that serves several roles to where they are served best together.
    void settle(Group& group) const {
        if (group.wishes.size() < 2) return;
        const Area* area = area_under(plan_, group.at);
        if (area == nullptr) return;
        const auto total = [&](Vec3 at) {
            double sum = 0.0;
            for (const Wish* wish : group.wishes) {
                if (!wish->fine(at, wish->best)) return std::numeric_limits<double>::infinity();
                sum += wish->badness(at);
            }
            return sum;
        };
        const auto inside = [&](Vec3 at) {
            OnArea place = on_area(*area, at);
            const double along = std::min(options_.margin_m / std::max(distance(area->near, area->far), 0.1), 0.5);
            const double across = std::max(0.0, 1.0 - 2.0 * options_.margin_m / std::min(area->near_width_m, area->far_width_m));
            place = {std::clamp(place.along, along, 1.0 - along), std::clamp(place.across, -across, across)};
            return rounded(point_on(*area, place));
        };
        double best = total(group.at);
        for (double step = 0.64; step >= 0.02;) {
            bool better = false;
            for (const auto& [x, y] : {std::array{1.0, 0.0}, {-1.0, 0.0}, {0.0, 1.0}, {0.0, -1.0}}) {
                const Vec3 next = inside(group.at + step * Vec3{x, y, 0.0});
                if (const double bad = total(next); bad < best - 1e-9) {
                    best = bad;
                    group.at = next;
                    better = true;
                }
            }
            if (!better) step /= 2.0;
        }
    }

    static Vec3 rounded(Vec3 at) { return {std::round(at.x * 100.0) / 100.0, std::round(at.y * 100.0) / 100.0, std::round(at.z * 100.0) / 100.0}; }

    static Position position_of(const Group& group) {
        Position position;
        position.at = group.at;
        for (const Wish* wish : group.wishes) position.serves.push_back({wish->role, wish->boxes});
        std::ranges::stable_sort(position.serves, {}, &Serve::role);
        return position;
    }

    void number_and_order(Placement& result) {
        result.positions.insert(result.positions.end(), kept_.begin(), kept_.end());
        result.positions = in_walking_order(std::move(result.positions));
        result.walk_m = walk_length_m(result.positions);
        int next = 1;
        const auto taken = [&](const std::string& id) {
            return std::ranges::any_of(kept_, [&](const Position& position) { return position.id == id; });
        };
        for (Position& position : result.positions) {
            if (!position.id.empty()) continue;
            while (taken(fmt::format("p{:02}", next))) ++next;
            position.id = fmt::format("p{:02}", next++);
        }
    }

    const Plan& plan_;
    const PlaceOptions& options_;
    Hearing hearing_;
    std::vector<Position> kept_;
    std::vector<Wish> wishes_;
    std::map<std::string, Vec3> axis_of_;
};

}  // namespace

Placement place(const Plan& plan, const PlaceOptions& options) { return Placer(plan, options).run(); }

double walk_length_m(const std::vector<Position>& positions) {
    double sum = 0.0;
    for (std::size_t i = 0; i + 1 < positions.size(); ++i) sum += distance(positions[i].at, positions[i + 1].at);
    return sum;
}

std::vector<Position> in_walking_order(std::vector<Position> positions) {
    if (positions.size() < 3) return positions;
    // From the one nearest to the middle of the stage's edge always on to the nearest left ...
    const auto nearest = [&](std::size_t from, Vec3 to) {
        std::size_t best = from;
        for (std::size_t i = from; i < positions.size(); ++i)
            if (distance(positions[i].at, to) < distance(positions[best].at, to)) best = i;
        return best;
    };
    std::swap(positions[0], positions[nearest(0, {})]);
    for (std::size_t i = 1; i < positions.size(); ++i) std::swap(positions[i], positions[nearest(i, positions[i - 1].at)]);
    // ... then parts are turned round as long as that shortens the walk.
    for (bool better = true; better;) {
        better = false;
        for (std::size_t i = 1; i + 1 < positions.size(); ++i)
            for (std::size_t j = i + 1; j < positions.size(); ++j) {
                const double before = distance(positions[i - 1].at, positions[i].at) + (j + 1 < positions.size() ? distance(positions[j].at, positions[j + 1].at) : 0.0);
                const double after = distance(positions[i - 1].at, positions[j].at) + (j + 1 < positions.size() ? distance(positions[i].at, positions[j + 1].at) : 0.0);
                if (after < before - 1e-9) {
                    std::reverse(positions.begin() + static_cast<std::ptrdiff_t>(i), positions.begin() + static_cast<std::ptrdiff_t>(j) + 1);
                    better = true;
                }
            }
    }
    return positions;
}

}  // namespace proofwalk::plan
