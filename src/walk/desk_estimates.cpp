#include "walk/desk_estimates.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "acoustics/delay_chain.hpp"
#include "plan/area.hpp"
#include "plan/targets.hpp"
#include "units/convert.hpp"

namespace proofwalk::walk {
namespace {

using report::EstimateSketch;
using Kind = EstimateSketch::Kind;

constexpr std::array questions = {DeskQuestion::vertical_aim, DeskQuestion::horizontal_aim, DeskQuestion::splay, DeskQuestion::spacing, DeskQuestion::delay};
constexpr double join_db = 6.0;  // below the louder axis where two meet: they sum to it

Fault cannot(std::string reason, std::string remedy) { return {FaultKind::input, "", "estimate", std::move(reason), std::move(remedy)}; }

Vec3 axis_of(const plan::Box& box) {
    const double pan = radians(box.pan_deg), tilt = radians(box.tilt_deg);
    return {std::cos(tilt) * std::cos(pan), std::cos(tilt) * std::sin(pan), std::sin(tilt)};
}

std::vector<Vec3> corners_of(const plan::Area& area) {
    return {plan::point_on(area, {0.0, 1.0}), plan::point_on(area, {0.0, -1.0}), plan::point_on(area, {1.0, -1.0}), plan::point_on(area, {1.0, 1.0})};
}

// Distances at which a box's pan enters and leaves an area, seen from above; nothing where it passes beside it.
struct Crossing {
    double from_m = 0.0, to_m = 0.0;
};
std::optional<Crossing> crossing(const plan::Box& box, const plan::Area& area) {
    const auto corners = corners_of(area);
    const double dx = std::cos(radians(box.pan_deg)), dy = std::sin(radians(box.pan_deg));
    std::vector<double> hits;
    for (std::size_t i = 0; i < corners.size(); ++i) {
        const Vec3 a = corners[i], b = corners[(i + 1) % corners.size()];
        const double ex = b.x - a.x, ey = b.y - a.y, determinant = dx * ey - dy * ex;
        if (std::abs(determinant) < 1e-9) continue;
        const double along = ((a.x - box.at.x) * ey - (a.y - box.at.y) * ex) / determinant;
        const double share = ((a.x - box.at.x) * dy - (a.y - box.at.y) * dx) / determinant;
        if (share >= 0.0 && share <= 1.0) hits.push_back(along);
    }
    if (hits.size() < 2) return std::nullopt;
    const auto [low, high] = std::ranges::minmax(hits);
    if (high < 1.0) return std::nullopt;
    return Crossing{std::max(low, 0.3), high};  // a box above the audience begins nearly under itself
}

Vec3 ahead(const plan::Box& box, double distance_m) {
    return {box.at.x + distance_m * std::cos(radians(box.pan_deg)), box.at.y + distance_m * std::sin(radians(box.pan_deg)), 0.0};
}

Result<const plan::Area*> area_for(const plan::Plan& plan, const plan::Box& box, const std::string& id) {
    if (plan.areas.empty()) return std::unexpected(cannot("the plan has no audience area", "add one to its file"));
    if (!id.empty()) {
        const auto found = std::ranges::find(plan.areas, id, &plan::Area::id);
        if (found == plan.areas.end()) return std::unexpected(cannot(fmt::format("the plan has no area \"{}\"", id), "name one that it has"));
        return &*found;
    }
    for (const auto& area : plan.areas)
        if (const auto where = plan::landing(area, box.at, axis_of(box)); where && where->along >= 0.0 && where->along <= 1.0 && std::abs(where->across) <= 1.0) return &area;
    for (const auto& area : plan.areas)
        if (crossing(box, area)) return &area;
    return &plan.areas.front();
}

bool fits(DeskQuestion question, plan::ArrayKind kind) {
    using enum plan::ArrayKind;
    switch (question) {
        case DeskQuestion::splay: return kind == coupled || kind == line;
        case DeskQuestion::spacing: return kind == uncoupled || kind == point_destination;
        case DeskQuestion::delay: return true;
        case DeskQuestion::vertical_aim:
        case DeskQuestion::horizontal_aim: break;
    }
    return false;
}

const plan::Array* array_of(const plan::Plan& plan, DeskQuestion question, const std::string& one, const std::string& other) {
    for (const auto& array : plan.arrays)
        for (std::size_t i = 0; fits(question, array.kind) && i + 1 < array.boxes.size(); ++i)
            if ((array.boxes[i] == one && array.boxes[i + 1] == other) || (array.boxes[i] == other && array.boxes[i + 1] == one)) return &array;
    return nullptr;
}

Suggestion suggested(const plan::Box& box, std::string key, double value, double now, std::string unit) { return {box.id, std::move(key), value, now, std::move(unit), 2}; }

Result<DeskAnswer> vertical(const plan::Plan& plan, const plan::Box& box, const plan::Area& area) {
    const auto seen = crossing(box, area);
    if (!seen) return std::unexpected(cannot(fmt::format("the pan of {} passes beside {}", box.id, area.id), "choose another area, or set its pan first"));
    const auto row = [&](double distance_m) {
        const Vec3 under = ahead(box, distance_m);
        return acoustics::Row{box.at.z - plan::point_on(area, plan::on_area(area, under)).z, distance_m};
    };
    VerticalQuestion question{row(seen->from_m), row(seen->to_m), &plan.model_of(box), 0.0, {}, plan.air, true};
    auto found = vertical_estimate(question);
    if (!found) return std::unexpected(found.error());
    return DeskAnswer{std::move(found->estimate), {suggested(box, "tilt_deg", found->answer.tilt_deg, box.tilt_deg, "deg")}, area.id, {}};
}

Result<DeskAnswer> horizontal(const plan::Plan& plan, const plan::Box& box, const plan::Area& area) {
    auto found = horizontal_estimate({box.at, corners_of(area), plan.model_of(box).coverage_h_deg, plan.air});
    if (!found) return std::unexpected(found.error());
    return DeskAnswer{std::move(found->estimate), {suggested(box, "pan_deg", found->answer.pan_deg, box.pan_deg, "deg")}, area.id, {}};
}

// The louder box first, as the question wants it.
Result<DeskAnswer> splay(const plan::Plan& plan, const plan::Box& box, const plan::Box& partner, bool vertical) {
    const bool box_first = box.gain_db >= partner.gain_db;
    const plan::Box &louder = box_first ? box : partner, &other = box_first ? partner : box;
    const plan::Model &one = plan.model_of(louder), &two = plan.model_of(other);
    const bool measured = !one.directivity.empty() || !two.directivity.empty();
    SplayQuestion question;
    question.coverage_1_deg = vertical ? one.coverage_v_deg : one.coverage_h_deg;
    question.coverage_2_deg = vertical ? two.coverage_v_deg : two.coverage_h_deg;
    question.quieter_db = louder.gain_db - other.gain_db;
    question.join_db = join_db;
    question.vertical = vertical;
    if (measured) question.measured_1 = &one, question.measured_2 = &two;
    question.tilt_1_deg = louder.tilt_deg;
    question.tilt_2_deg = other.tilt_deg;
    auto found = splay_estimate(question);
    if (!found) return std::unexpected(found.error());
    DeskAnswer answer{std::move(found->estimate), {}, {}, partner.id};
    const double apart = vertical ? found->answer.splay.splay_deg : found->answer.pan_apart_deg.value_or(found->answer.splay.splay_deg);
    const double first = vertical ? box.tilt_deg : box.pan_deg, second = vertical ? partner.tilt_deg : partner.pan_deg;
    // About the middle of the two as they are planned; the one that points more to the left (or up) stays that one.
    const bool above = first > second || (first == second && (vertical ? box.at.z > partner.at.z : box.at.y > partner.at.y));
    const double middle = 0.5 * (first + second), half = 0.5 * apart;
    const std::string key = vertical ? "tilt_deg" : "pan_deg";
    answer.suggestions = {suggested(box, key, middle + (above ? half : -half), first, "deg"), suggested(partner, key, middle - (above ? half : -half), second, "deg")};
    return answer;
}

// Where the coverage of two is to meet: the plan's crossover place, else the near row of the first area.
Result<double> depth_of(const plan::Plan& plan, const plan::Box& box, const plan::Box& partner) {
    const double across = std::hypot(partner.at.x - box.at.x, partner.at.y - box.at.y);
    const auto depth_at = [&](Vec3 place) {
        if (across < 1e-6) return 0.0;
        return std::abs((partner.at.x - box.at.x) * (place.y - box.at.y) - (partner.at.y - box.at.y) * (place.x - box.at.x)) / across;
    };
    const plan::Position* crossover = plan.crossover_of(box.id, partner.id);
    if (crossover == nullptr) crossover = plan.crossover_of(partner.id, box.id);
    const double depth = crossover != nullptr ? depth_at(crossover->at) : plan.areas.empty() ? 0.0 : depth_at(plan.areas.front().near);
    if (depth < 0.2) return std::unexpected(cannot(fmt::format("it is not known how far ahead {} and {} are to meet", box.id, partner.id), "give them a crossover position in front of them"));
    return depth;
}

Result<DeskAnswer> spacing(const plan::Plan& plan, const plan::Box& box, const plan::Box& partner) {
    const auto depth = depth_of(plan, box, partner);
    if (!depth) return std::unexpected(depth.error());
    const bool partner_first = partner.gain_db >= box.gain_db;
    const plan::Box &louder = partner_first ? partner : box, &other = partner_first ? box : partner;
    const bool box_left = box.at.y > partner.at.y;
    SpacingQuestion question;
    question.wish = {plan.model_of(louder).coverage_h_deg, plan.model_of(other).coverage_h_deg, louder.gain_db - other.gain_db, *depth,
                     box_left ? box.pan_deg - partner.pan_deg : partner.pan_deg - box.pan_deg, join_db};
    auto found = spacing_estimate(question);
    if (!found) return std::unexpected(found.error());
    DeskAnswer answer{std::move(found->estimate), {}, {}, partner.id};
    const double across = std::hypot(box.at.x - partner.at.x, box.at.y - partner.at.y);
    answer.estimate.says.push_back(fmt::format("They now hang {} apart. {} stays, {} moves along the line between them.", length_text(across, question.unit), partner.id, box.id));
    const double scale = found->answer.spacing_m / across;
    answer.suggestions.push_back(suggested(box, "x", partner.at.x + scale * (box.at.x - partner.at.x), box.at.x, "m"));
    answer.suggestions.push_back(suggested(box, "y", partner.at.y + scale * (box.at.y - partner.at.y), box.at.y, "m"));
    return answer;
}

Result<DeskAnswer> delay(const plan::Plan& plan, const plan::Box& box, const plan::Box& partner) {
    const plan::Position* place = plan.crossover_of(box.id, partner.id);
    if (place == nullptr) place = plan.crossover_of(partner.id, box.id);
    if (place == nullptr) return std::unexpected(cannot(fmt::format("no position serves the crossover of {} and {}", box.id, partner.id), "add it to the plan, or let mics be placed"));
    const double latency = plan.model_of(partner).latency_ms - plan.model_of(box).latency_ms;
    const double own = distance(box.at, place->at), other = distance(partner.at, place->at);
    const double speed = acoustics::speed_of_sound(plan.air).value;
    const double wanted = acoustics::delay_for_ms(other, partner.delay_ms + latency, own, 0.0, speed);
    const auto heard_box = plan::target(plan, box, *place, plan.air), heard_partner = plan::target(plan, partner, *place, plan.air);
    report::Estimate estimate{"delay", fmt::format("Delay of {} to {}", box.id, partner.id), {}, {}, {}, {}, {}};
    estimate.says.push_back(wanted >= 0.0 ? fmt::format("Delay {} by {:.2f} ms: both arrive together at {}.", box.id, wanted, place->id)
                                          : fmt::format("{} is late already: leave it at 0 and add {:.2f} ms to {}; both then arrive together at {}.", box.id, -wanted, partner.id, place->id));
    estimate.assumes = {fmt::format("speed of sound {:.1f} m/s by the planned air; planned delays and the models' latencies in", speed), "who is to be heard first is a choice: a few milliseconds more keep the source at the main (common practice, no source)"};
    const double apart = heard_box.arrival_s * 1e3 - heard_partner.arrival_s * 1e3;
    estimate.figures = {{"delay_ms", fmt::format("delay of {}", box.id), std::max(wanted, 0.0), "ms", 2}, {"path_m", fmt::format("path of {}", box.id), own, "m", 2}, {"partner_path_m", fmt::format("path of {}", partner.id), other, "m", 2},
                        {"apart_now_ms", "as planned now, late by", apart, "ms", 2}, {"level_apart_db", fmt::format("{} against {} there, as planned", box.id, partner.id), heard_box.aim_band_db - heard_partner.aim_band_db, "dB", 1}};
    EstimateSketch sketch{"Plan", {}, {}};
    for (const auto& [from, metres] : {std::pair{&partner, other}, {&box, own}}) {
        sketch.strokes.push_back({Kind::edge, {{from->at.x, from->at.y}, {place->at.x, place->at.y}}, ""});
        sketch.strokes.push_back({Kind::box, {{from->at.x, from->at.y}}, fmt::format("{}, {}", from->id, length_text(metres, LengthUnit::metres))});
    }
    sketch.strokes.push_back({Kind::join, {{place->at.x, place->at.y}}, place->id});
    estimate.sketch = std::move(sketch);
    DeskAnswer answer{std::move(estimate), {suggested(box, "delay_ms", std::max(wanted, 0.0), box.delay_ms, "ms")}, {}, partner.id};
    if (wanted < 0.0) answer.suggestions.push_back(suggested(partner, "delay_ms", partner.delay_ms - wanted, partner.delay_ms, "ms"));
    return answer;
}

}  // namespace

std::string_view word(DeskQuestion question) {
    switch (question) {
        case DeskQuestion::vertical_aim: return "vertical aim";
        case DeskQuestion::horizontal_aim: return "horizontal aim";
        case DeskQuestion::splay: return "splay";
        case DeskQuestion::spacing: return "spacing";
        case DeskQuestion::delay: break;
    }
    return "delay";
}

std::span<const DeskQuestion> desk_questions() { return questions; }

std::vector<std::string> partners_of(const plan::Plan& plan, DeskQuestion question, const std::string& box) {
    std::vector<std::string> partners;
    const auto add = [&](const std::string& id) {
        if (plan.box(id) != nullptr && std::ranges::find(partners, id) == partners.end()) partners.push_back(id);
    };
    for (const auto& array : plan.arrays)
        for (std::size_t i = 0; fits(question, array.kind) && i < array.boxes.size(); ++i) {
            if (array.boxes[i] != box) continue;
            if (i > 0) add(array.boxes[i - 1]);
            if (i + 1 < array.boxes.size()) add(array.boxes[i + 1]);
        }
    return partners;
}

Result<DeskAnswer> desk_estimate(const plan::Plan& plan, DeskQuestion question, const std::string& id, const std::string& area_id, const std::string& partner_id) {
    const plan::Box* box = plan.box(id);
    if (box == nullptr) return std::unexpected(cannot(fmt::format("the plan has no box \"{}\"", id), "choose one of its boxes"));
    if (question != DeskQuestion::delay && plan.model_of(*box).pattern == plan::Pattern::omni)
        return std::unexpected(cannot(fmt::format("{} radiates all round: no aim is asked of it", id), "choose a box with a beam"));
    if (question == DeskQuestion::vertical_aim || question == DeskQuestion::horizontal_aim) {
        const auto area = area_for(plan, *box, area_id);
        if (!area) return std::unexpected(area.error());
        return question == DeskQuestion::vertical_aim ? vertical(plan, *box, **area) : horizontal(plan, *box, **area);
    }
    const auto partners = partners_of(plan, question, id);
    const std::string other = !partner_id.empty() ? partner_id : partners.empty() ? "" : partners.front();
    const plan::Box* partner = plan.box(other);
    if (partner == nullptr || other == id || std::ranges::find(partners, other) == partners.end())
        return std::unexpected(cannot(fmt::format("{} has no neighbour in an array that {} is asked of", id, word(question)), "put the two into an array of the plan"));
    if (question == DeskQuestion::splay) return splay(plan, *box, *partner, array_of(plan, question, id, other)->kind == plan::ArrayKind::line);
    return question == DeskQuestion::spacing ? spacing(plan, *box, *partner) : delay(plan, *box, *partner);
}

}  // namespace proofwalk::walk
