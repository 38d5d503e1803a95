#include "rehearsal/hanging.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "rehearsal/keyed_random.hpp"

namespace proofwalk::rehearsal {
namespace {

// Spread of a careful crew with an inclinometer and a laser; common practice, no source.
constexpr double hang_deg = 0.25, hang_m = 0.015, hang_db = 0.1, hang_ms = 0.01;

Fault impossible(const PlantedFault& fault, std::string reason) {
    return {FaultKind::input, "", to_text(fault), std::move(reason), "plant a smaller fault"};
}

class Hanging {
public:
    Hanging(const plan::Plan& plan, const Settings& settings) : plan_(plan) {
        for (const plan::Box& box : plan.boxes) {
            Hung hung{box.id, box.pose(), box.gain_db, box.delay_ms, box.inverted, "", box.circuit};
            if (!settings.exact) {
                KeyedRandom random(settings.seed, {"hanging", box.id});
                hung.pose.pan_deg += random.spread(hang_deg);
                hung.pose.tilt_deg += random.spread(hang_deg);
                hung.pose.at = hung.pose.at + Vec3{random.spread(hang_m), random.spread(hang_m), random.spread(hang_m)};
                hung.gain_db += random.spread(hang_db);
                hung.delay_ms = std::max(0.0, hung.delay_ms + random.spread(hang_ms));
            }
            boxes_.push_back(std::move(hung));
        }
    }

    Result<void> plant(const PlantedFault& fault) {
        switch (fault.type) {
            case FaultType::splay: return turn_pair(fault);
            case FaultType::spacing: return move_pair(fault);
            case FaultType::swap: return swap_circuits(fault);
            default: break;
        }
        for (Hung& box : boxes_)
            if (box.box == fault.subject || plan_.box(box.box)->circuit == fault.subject) plant(fault, box);
        return {};
    }

    std::vector<Hung> take() { return std::move(boxes_); }

private:
    void plant(const PlantedFault& fault, Hung& box) const {
        switch (fault.type) {
            case FaultType::aim_h: box.pose.pan_deg += fault.amount; break;
            case FaultType::aim_v: box.pose.tilt_deg += fault.amount; break;
            case FaultType::delay: box.delay_ms += fault.amount; break;
            case FaultType::gain: box.gain_db += fault.amount; break;
            case FaultType::polarity: box.inverted = !box.inverted; break;
            case FaultType::dead_high: box.dead = "high"; break;
            case FaultType::dead_low: box.dead = "low"; break;
            case FaultType::silent: box.dead = "all"; break;
            case FaultType::splay:
            case FaultType::spacing:
            case FaultType::swap: break;  // asked of pairs
        }
    }

    Hung& of(std::string_view id) { return *std::ranges::find(boxes_, id, &Hung::box); }

    std::pair<Hung*, Hung*> pair(const PlantedFault& fault) {
        const std::size_t plus = fault.subject.find('+');
        return {&of(std::string_view(fault.subject).substr(0, plus)), &of(std::string_view(fault.subject).substr(plus + 1))};
    }

    // Turns the second box, in the plane in which the pair is splayed, until the angle in space has changed as asked.
    Result<void> turn_pair(const PlantedFault& fault) {
        const auto [first, second] = pair(fault);
        const auto direction = [](const Hung& box) { return acoustics::Direction{box.pose.pan_deg, box.pose.tilt_deg}; };
        const double pan_apart = second->pose.pan_deg - first->pose.pan_deg;
        const double tilt_apart = second->pose.tilt_deg - first->pose.tilt_deg;
        const bool sideways = std::abs(pan_apart) >= std::abs(tilt_apart);
        const double apart = sideways ? pan_apart : tilt_apart;
        // Parallel boxes open away from each other.
        const Vec3 between = second->pose.at - first->pose.at;
        const double away = apart != 0.0 ? apart : (sideways ? between.y : between.z);
        const double sign = away < 0.0 ? -1.0 : 1.0;
        const double now = acoustics::angle_between_deg(direction(*first), direction(*second));
        const double wanted = now + fault.amount;
        if (wanted < 0.0 || wanted > 175.0)
            return std::unexpected(impossible(fault, fmt::format("the pair stands {:.1f} deg apart, so this would make it {:.1f} deg", now, wanted)));
        double& angle = sideways ? second->pose.pan_deg : second->pose.tilt_deg;
        const double base = sideways ? first->pose.pan_deg : first->pose.tilt_deg;
        double closed = base, open = base + sign * 175.0;
        for (int step = 0; step < 60; ++step) {
            angle = 0.5 * (closed + open);
            (acoustics::angle_between_deg(direction(*first), direction(*second)) < wanted ? closed : open) = angle;
        }
        return {};
    }

    // Moves the second box along the line between the two.
    Result<void> move_pair(const PlantedFault& fault) {
        const auto [first, second] = pair(fault);
        const Vec3 between = second->pose.at - first->pose.at;
        const double now = length(between);
        if (now + fault.amount < 0.05)
            return std::unexpected(impossible(fault, fmt::format("the two boxes hang only {:.2f} m apart", now)));
        second->pose.at = first->pose.at + (1.0 + fault.amount / now) * between;
        return {};
    }

    // Cables crossed behind the processing: each box gets the other circuit's signal with its gain and delay.
    Result<void> swap_circuits(const PlantedFault& fault) {
        const auto ones = plan_.boxes_of(fault.subject), others = plan_.boxes_of(fault.other);
        const std::vector<Hung> before = boxes_;
        const auto feed = [&](const std::vector<const plan::Box*>& boxes, const std::vector<const plan::Box*>& from) {
            for (std::size_t index = 0; index < boxes.size(); ++index) {
                const plan::Box* source = from[std::min(index, from.size() - 1)];
                const Hung& processing = *std::ranges::find(before, source->id, &Hung::box);
                Hung& box = of(boxes[index]->id);
                box.gain_db = processing.gain_db;
                box.delay_ms = processing.delay_ms;
                box.fed_by = processing.fed_by;
            }
        };
        feed(ones, others);
        feed(others, ones);
        return {};
    }

    const plan::Plan& plan_;
    std::vector<Hung> boxes_;
};

}  // namespace

Result<std::vector<Hung>> hang(const plan::Plan& plan, const Settings& settings) {
    Hanging hanging(plan, settings);
    // Cables first: what a person then turns up or down is the box that really gets the signal.
    for (const bool swaps : {true, false})
        for (const PlantedFault& fault : settings.faults)
            if ((fault.type == FaultType::swap) == swaps)
                if (auto planted = hanging.plant(fault); !planted) return std::unexpected(planted.error());
    return hanging.take();
}

}  // namespace proofwalk::rehearsal
