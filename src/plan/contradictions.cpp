#include "plan/contradictions.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "acoustics/geometry.hpp"
#include "plan/area.hpp"
#include "plan/checks.hpp"
#include "plan/toml_fields.hpp"
#include "units/nearest.hpp"


namespace proofwalk::plan {
namespace {

constexpr double nearest_m = 0.1;    // a mic nearer to a box than this stands in it
constexpr double farthest_m = 500.0;  // no serving position is farther from its box

class Judge {
public:
    Judge(const Plan& plan, const SourceLines& lines, Findings& findings) : plan_(plan), lines_(lines), findings_(findings) {
        for (const Box& box : plan.boxes) box_ids_.push_back(box.id);
        for (const Model& model : plan.models) model_ids_.push_back(model.id);
    }

    void run() {
        unique("area", plan_.areas, [&](std::size_t i) { return lines_.areas[i]; });
        unique("model", plan_.models, [&](std::size_t i) { return lines_.models[i]; });
        unique_boxes();
        unique("array", plan_.arrays, [&](std::size_t i) { return lines_.arrays[i].id; });
        unique("position", plan_.positions, [&](std::size_t i) { return lines_.positions[i].id; });
        for (std::size_t i = 0; i < plan_.boxes.size(); ++i) judge_box(plan_.boxes[i], lines_.boxes[i]);
        outputs();
        for (std::size_t i = 0; i < plan_.arrays.size(); ++i) judge_array(plan_.arrays[i], lines_.arrays[i]);
        if (plan_.positions.empty()) findings_.warn(0, "the plan has no positions: every check stays open until some are placed");
        for (std::size_t i = 0; i < plan_.positions.size(); ++i) judge_position(plan_.positions[i], lines_.positions[i]);
    }

private:
    template <class Item, class LineOf>
    void unique(std::string_view section, const std::vector<Item>& items, LineOf line_of_item) {
        std::map<std::string, int> first;
        for (std::size_t i = 0; i < items.size(); ++i) {
            if (items[i].id.empty()) continue;
            const auto [known, added] = first.emplace(items[i].id, line_of_item(i));
            if (!added)
                findings_.fault(line_of_item(i), fmt::format("{} {} is there twice (first in line {})", section, in_quotes(items[i].id), known->second),
                                "give one of them another id");
        }
    }

    void unique_boxes() {
        std::map<std::string, std::size_t> first;
        for (std::size_t i = 0; i < plan_.boxes.size(); ++i) {
            const Box& box = plan_.boxes[i];
            if (box.id.empty()) continue;
            const auto [known, added] = first.emplace(box.id, i);
            if (added) continue;
            const Box& other = plan_.boxes[known->second];
            const std::string first_line = fmt::format("first in line {}", lines_.boxes[known->second].id);
            if (other.circuit != box.circuit)
                findings_.fault(lines_.boxes[i].circuit,
                                fmt::format("box {} is in two circuits, {} and {} ({})", in_quotes(box.id), in_quotes(other.circuit), in_quotes(box.circuit), first_line),
                                "a box is written once and has one circuit");
            else
                findings_.fault(lines_.boxes[i].id, fmt::format("box {} is there twice ({})", in_quotes(box.id), first_line), "give one of them another id");
        }
    }

    void judge_box(const Box& box, const SourceLines::OfBox& line) {
        if (!box.model.empty() && plan_.model(box.model) == nullptr)
            findings_.fault(line.model, fmt::format("box {} is of model {}, which the plan does not have", in_quotes(box.id), in_quotes(box.model)),
                            nearest_remedy(box.model, model_ids_, "model"));
        if (const Box* namesake = plan_.box(box.circuit); namesake != nullptr && namesake->circuit != box.circuit)
            findings_.warn(line.circuit, fmt::format("circuit {} of box {} has the name of a box that is not in it", in_quotes(box.circuit), in_quotes(box.id)));
    }

    void outputs() {
        std::map<std::string, std::size_t> of_circuit;
        std::map<int, std::string> circuit_of;
        for (std::size_t i = 0; i < plan_.boxes.size(); ++i) {
            const Box& box = plan_.boxes[i];
            if (!box.output) continue;
            const auto [known, added] = of_circuit.emplace(box.circuit, i);
            const Box& other = plan_.boxes[known->second];
            if (!added && other.output != box.output)
                findings_.fault(lines_.boxes[i].output,
                                fmt::format("circuit {} is driven by output {} at box {} and by output {} at box {}", in_quotes(box.circuit), *other.output,
                                            in_quotes(other.id), *box.output, in_quotes(box.id)),
                                "boxes of one circuit share one output");
            const auto [taken, fresh] = circuit_of.emplace(*box.output, box.circuit);
            if (!fresh && taken->second != box.circuit)
                findings_.warn(lines_.boxes[i].output,
                               fmt::format("output {} drives two circuits, {} and {}: they sound one at a time only if they are muted elsewhere",
                                           *box.output, in_quotes(taken->second), in_quotes(box.circuit)));
        }
    }

    // Faults for boxes that the plan does not have or that are named twice; true when all is well.
    bool known_boxes(const std::vector<std::string>& boxes, int line, const std::string& who) {
        bool good = true;
        for (std::size_t i = 0; i < boxes.size(); ++i) {
            if (plan_.box(boxes[i]) == nullptr) {
                findings_.fault(line, fmt::format("{} names box {}, which the plan does not have", who, in_quotes(boxes[i])), nearest_remedy(boxes[i], box_ids_, "box"));
                good = false;
            }
            if (std::find(boxes.begin(), boxes.begin() + static_cast<std::ptrdiff_t>(i), boxes[i]) != boxes.begin() + static_cast<std::ptrdiff_t>(i)) {
                findings_.fault(line, fmt::format("{} names box {} twice", who, in_quotes(boxes[i])), "name it once");
                good = false;
            }
        }
        return good;
    }

    [[nodiscard]] bool models_known(const std::vector<std::string>& boxes) const {
        return std::ranges::all_of(boxes, [&](const std::string& id) { return plan_.model(plan_.box(id)->model) != nullptr; });
    }

    void judge_array(const Array& array, const SourceLines::OfArray& line) {
        const std::string who = "array " + in_quotes(array.id);
        if (array.boxes.size() < 2)
            findings_.fault(line.boxes, fmt::format("{} has {} box{}", who, array.boxes.size(), array.boxes.size() == 1 ? "" : "es"), "an array has two or more");
        if (!known_boxes(array.boxes, line.boxes, who) || !models_known(array.boxes)) return;
        for (std::size_t i = 0; i + 1 < array.boxes.size(); ++i) {
            const Box &first = *plan_.box(array.boxes[i]), &second = *plan_.box(array.boxes[i + 1]);
            if (first.circuit != second.circuit && !pair_band(plan_, array, first, second))
                findings_.fault(line.id, fmt::format("{}: boxes {} and {} have no frequency in common", who, in_quotes(first.id), in_quotes(second.id)),
                                "give band_hz, where crossover and alignment are judged");
            if (array.band_hz) band_is_played(array, line, first, second);
        }
    }

    void band_is_played(const Array& array, const SourceLines::OfArray& line, const Box& first, const Box& second) {
        for (const Box* box : {&first, &second}) {
            const Band range = plan_.model_of(*box).range_hz;
            if (array.band_hz->low_hz < range.low_hz || array.band_hz->high_hz > range.high_hz)
                findings_.warn(line.id, fmt::format("band_hz of array {} reaches outside the range of box {}", in_quotes(array.id), in_quotes(box->id)));
        }
    }

    void judge_position(const Position& position, const SourceLines::OfPosition& line) {
        if (!plan_.areas.empty() && area_under(plan_, position.at) == nullptr)
            findings_.warn(line.at, fmt::format("position {} lies outside every area", in_quotes(position.id)));
        for (std::size_t i = 0; i < position.serves.size(); ++i) judge_serve(position, position.serves[i], line.serves[i]);
    }

    void judge_serve(const Position& position, const Serve& serve, int line) {
        const std::string who = fmt::format("position {} ({})", in_quotes(position.id), word(serve.role));
        if (!known_boxes(serve.boxes, line, who)) return;
        const std::size_t count = serve.boxes.size();
        if (serve.role == Role::crossover && count != 2)
            return findings_.fault(line, fmt::format("{} names {} boxes", who, count), "a crossover is between two boxes");
        if (count == 0) return findings_.fault(line, fmt::format("{} names no box", who), "name the box that it serves");
        for (const std::string& id : serve.boxes) judge_served(position, serve.role, *plan_.box(id), line);
        if (serve.role == Role::crossover) judge_crossover(position, serve, line);
    }

    void judge_served(const Position& position, Role role, const Box& box, int line) {
        const auto seen = acoustics::bearing(box.pose(), position.at);
        if (seen.distance_m > farthest_m)
            return findings_.fault(line, fmt::format("position {} is {:.0f} m from box {}", in_quotes(position.id), seen.distance_m, in_quotes(box.id)),
                                   fmt::format("check the coordinates, which are in metres; the farthest that makes sense is {:.0f} m", farthest_m));
        if (seen.distance_m < nearest_m)
            return findings_.fault(line, fmt::format("position {} is {:.2f} m from box {}: it stands in it", in_quotes(position.id), seen.distance_m, in_quotes(box.id)),
                                   "check the coordinates");
        const Model* model = plan_.model(box.model);
        if (model == nullptr) return;
        const bool aim = role != Role::on_axis && role != Role::crossover;
        if (model->pattern == Pattern::omni) {
            if (aim) findings_.warn(line, fmt::format("position {} is an edge of box {}, of which no aim is asked", in_quotes(position.id), in_quotes(box.id)));
            return;
        }
        if (std::abs(seen.h_deg) > 90.0)
            findings_.warn(line, fmt::format("position {} lies behind box {}", in_quotes(position.id), in_quotes(box.id)));
        else if (role == Role::on_axis && (std::abs(seen.h_deg) > model->coverage_h_deg / 2 || std::abs(seen.v_deg) > model->coverage_v_deg / 2))
            findings_.warn(line, fmt::format("position {} is named on the axis of box {} and lies outside its coverage (h {:.0f}, v {:.0f} deg)",
                                             in_quotes(position.id), in_quotes(box.id), seen.h_deg, seen.v_deg));
    }

    void judge_crossover(const Position& position, const Serve& serve, int line) {
        const Box &first = *plan_.box(serve.boxes[0]), &second = *plan_.box(serve.boxes[1]);
        const auto asks = [&](const Array& array) {
            const auto a = std::ranges::find(array.boxes, first.id), b = std::ranges::find(array.boxes, second.id);
            return a != array.boxes.end() && b != array.boxes.end() && std::abs(a - b) == 1;
        };
        if (first.circuit == second.circuit)
            findings_.warn(line, fmt::format("position {} is a crossover of {} and {}, which share a circuit and can't be told apart by sound",
                                             in_quotes(position.id), in_quotes(first.id), in_quotes(second.id)));
        else if (std::ranges::none_of(plan_.arrays, asks))
            findings_.warn(line, fmt::format("position {} is a crossover of {} and {}, which are neighbours in no array: no check uses it",
                                             in_quotes(position.id), in_quotes(first.id), in_quotes(second.id)));
    }

    const Plan& plan_;
    const SourceLines& lines_;
    Findings& findings_;
    std::vector<std::string_view> box_ids_, model_ids_;
};

}  // namespace

void find_contradictions(const Plan& plan, const SourceLines& lines, Findings& findings) { Judge(plan, lines, findings).run(); }

}  // namespace proofwalk::plan
