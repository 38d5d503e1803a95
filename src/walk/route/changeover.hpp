// Between two rounds stands are carried from where they are to where they are wanted, one at a time: walk to a stand,
// carry it to a new place, walk to the next. The cheapest order and assignment of one such changeover.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <utility>
#include <vector>

namespace proofwalk::walk::route {

// Seconds between places, places numbered from 0; symmetric.
class Distances {
public:
    explicit Distances(std::size_t places) : places_(places), seconds_(places * places, 0.0) {}
    void set(std::size_t a, std::size_t b, double seconds) {
        seconds_[a * places_ + b] = seconds;
        seconds_[b * places_ + a] = seconds;
    }
    [[nodiscard]] double operator()(std::size_t a, std::size_t b) const { return seconds_[a * places_ + b]; }
    [[nodiscard]] std::size_t size() const { return places_; }

private:
    std::size_t places_;
    std::vector<double> seconds_;
};

struct Carry {
    std::size_t from = 0, to = 0;
};
struct Changeover {
    double seconds = 0.0;
    std::vector<Carry> carries;  // in order; the crew ends at the last `to`
};

// `stands`: where stands are (places may repeat), `wanted`: new places, not more than stands; `crew_at`: where the crew is.
// Stands that are not carried stay. Every outcome of one changeover: which stands were carried (bit k: stands[k]) and which
// wanted place (by index) the crew ends at, with its least seconds. Exact by dynamic programming over subsets, for up to
// about 8 stands; alike stands (no way between them) stand for each other, so only the first subsets of them appear.
class ExactChangeover {
public:
    ExactChangeover(const Distances& distances, std::vector<std::size_t> stands, std::vector<std::size_t> wanted, std::size_t crew_at);

    struct Outcome {
        std::uint32_t carried = 0;
        std::size_t last = 0;
        double seconds = 0.0;
    };
    [[nodiscard]] const std::vector<Outcome>& outcomes() const { return outcomes_; }
    [[nodiscard]] Changeover with(const Outcome& outcome) const;  // its carries

private:
    [[nodiscard]] bool all_alike() const;
    [[nodiscard]] bool canonical(std::uint32_t carried) const;
    [[nodiscard]] std::uint32_t all_filled() const { return (1u << wanted_.size()) - 1; }
    [[nodiscard]] std::size_t index(std::uint32_t taken, std::uint32_t filled, std::size_t last) const;
    void fill();
    void spread(std::uint32_t taken, std::uint32_t filled, std::size_t last, double here);
    [[nodiscard]] std::pair<std::size_t, std::size_t> step_back(std::uint32_t taken, std::uint32_t filled, std::size_t last, double here) const;

    const Distances& distances_;
    std::vector<std::size_t> stands_, wanted_;
    std::size_t crew_at_;
    std::vector<double> best_;  // over (stands taken, places filled, last place filled)
    std::vector<Outcome> outcomes_;
};

// Near-optimal (insertion, then exchanges), some microseconds for eight stands.
[[nodiscard]] Changeover quick_changeover(const Distances& distances, std::span<const std::size_t> stands,
                                          std::span<const std::size_t> wanted, std::size_t crew_at);
// The quick form without its carries; allocates nothing. `polished`: with the exchanges, without them a tenth of the work.
struct QuickCost {
    double seconds = 0.0;
    std::size_t last = 0;  // where the crew ends
};
[[nodiscard]] QuickCost quick_cost(const Distances& distances, std::span<const std::size_t> stands,
                                   std::span<const std::size_t> wanted, std::size_t crew_at, bool polished);
// Never more than the exact cost.
[[nodiscard]] double changeover_bound(const Distances& distances, std::span<const std::size_t> stands,
                                      std::span<const std::size_t> wanted);

}  // namespace proofwalk::walk::route
