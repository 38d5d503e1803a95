#include "trials/show.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "acoustics/geometry.hpp"
#include "units/convert.hpp"

namespace proofwalk::trials {
namespace {

constexpr double ear_m = 1.2, farthest_m = 55.0;

constexpr std::array<Hall, 4> halls = {{{"club", -2.0, 20.0, 9.0, 7.0, 0.35, 0.20, 0.8, -14.0},
                                        {"theatre", -4.0, 34.0, 14.0, 12.0, 0.40, 0.30, 1.1, -18.0},
                                        {"hall", -5.0, 60.0, 20.0, 15.0, 0.25, 0.12, 1.7, -18.0},
                                        {"marquee", -4.0, 60.0, 16.0, 10.0, 0.70, 0.25, 0.5, -24.0}}};

plan::Model beam_model(std::string id, double coverage_h, double coverage_v, plan::Band aim) {
    plan::Model model;
    model.id = std::move(id);
    model.coverage_h_deg = coverage_h;
    model.coverage_v_deg = coverage_v;
    model.aim_band_hz = aim;
    model.range_hz = {60.0, 18000.0};
    model.size_m = {0.42, 0.70, 0.45};
    model.pattern_loss = acoustics::beam_directivity({coverage_h, coverage_v, aim.low_hz, 0.42, 0.70});
    return model;
}

plan::Model sub_model() {
    plan::Model model;
    model.id = "low";
    model.pattern = plan::Pattern::omni;
    model.aim_band_hz = {40.0, 100.0};
    model.range_hz = {32.0, 120.0};
    model.size_m = {0.6, 0.7, 0.8};
    model.pattern_loss = acoustics::omni_directivity();
    return model;
}

// Where a ray that leaves the box h, v degrees off its axis meets the ear plane.
Vec3 on_floor(const acoustics::Pose& pose, double h_deg, double v_deg) {
    const acoustics::Axes own = acoustics::axes(pose.pan_deg, pose.tilt_deg);
    const double h = radians(h_deg), v = radians(v_deg);
    const Vec3 ray = std::cos(v) * std::cos(h) * own.forward + std::cos(v) * std::sin(h) * own.left + std::sin(v) * own.up;
    double reach = farthest_m;
    if (std::abs(pose.at.z - ear_m) > 0.2) {
        if (ray.z < -0.01) reach = std::min(reach, (ear_m - pose.at.z) / ray.z);
    } else {
        reach = 4.0 * std::cos(radians(h_deg));  // a fill on the lip: the first rows
    }
    Vec3 point = pose.at + reach * ray;
    point.z = ear_m;
    return point;
}

class Planner {
public:
    Planner(Show& show, Dice& dice) : show_(show), dice_(dice) {}

    std::size_t box(const std::string& model, Vec3 at, double pan, double tilt, double gain = 0.0, double delay = 0.0) {
        plan::Box box;
        box.id = box.circuit = std::string(1, static_cast<char>('A' + show_.plan.boxes.size()));
        box.model = model;
        box.at = at;
        box.pan_deg = pan;
        box.tilt_deg = tilt;
        box.gain_db = gain;
        box.delay_ms = delay;
        show_.plan.boxes.push_back(box);
        return show_.plan.boxes.size() - 1;
    }
    const plan::Box& at(std::size_t i) const { return show_.plan.boxes[i]; }

    void position(const std::string& id, Vec3 at, plan::Role role, std::vector<std::string> boxes) {
        for (plan::Position& known : show_.plan.positions)
            if (distance(known.at, at) < 0.6) {
                known.serves.push_back({role, std::move(boxes)});
                return;
            }
        show_.plan.positions.push_back({id, at, std::nullopt, {{role, std::move(boxes)}}});
    }

    void axis_and_edges(std::size_t i, bool vertical = true) {
        const plan::Box& one = at(i);
        const plan::Model& model = show_.plan.model_of(one);
        const auto add = [&](const char* name, plan::Role role, double h, double v) {
            position(one.id + name, on_floor(one.pose(), h, v), role, {one.id});
        };
        add("0", plan::Role::on_axis, 0.0, 0.0);
        if (model.pattern == plan::Pattern::omni) return;
        add("l", plan::Role::left_edge, 0.5 * model.coverage_h_deg, 0.0);
        add("r", plan::Role::right_edge, -0.5 * model.coverage_h_deg, 0.0);
        if (!vertical) return;
        add("t", plan::Role::top_edge, 0.0, 0.5 * model.coverage_v_deg);
        add("b", plan::Role::bottom_edge, 0.0, -0.5 * model.coverage_v_deg);
    }

    void array(const std::string& id, plan::ArrayKind kind, const std::vector<std::size_t>& boxes) {
        plan::Array array{id, kind, {}, std::nullopt};
        for (const std::size_t i : boxes) array.boxes.push_back(at(i).id);
        show_.plan.arrays.push_back(array);
        for (std::size_t n = 0; n + 1 < boxes.size(); ++n) {
            const plan::Box &first = at(boxes[n]), &second = at(boxes[n + 1]);
            position("x" + first.id, crossover(first, second), plan::Role::crossover, {first.id, second.id});
        }
    }

private:
    double level(const plan::Box& box, Vec3 there) const {
        const auto seen = acoustics::bearing(box.pose(), there);
        const plan::Model& model = show_.plan.model_of(box);
        return box.gain_db - amplitude_db(seen.distance_m) +
               model.pattern_loss->loss_db(seen.h_deg, seen.v_deg, model.aim_band_hz.low_hz, model.aim_band_hz.high_hz);
    }

    // Equal planned levels on the line between the two axis points (the first meeting from the first box's side).
    Vec3 crossover(const plan::Box& first, const plan::Box& second) const {
        const Vec3 from = on_floor(first.pose(), 0.0, 0.0), to = on_floor(second.pose(), 0.0, 0.0);
        if (show_.plan.model_of(first).id != show_.plan.model_of(second).id) return from;
        double low = 0.0, high = 1.0;
        for (int step = 0; step < 40; ++step) {
            const double middle = 0.5 * (low + high);
            const Vec3 there = from + middle * (to - from);
            (level(first, there) > level(second, there) ? low : high) = middle;
        }
        return from + low * (to - from);
    }

    Show& show_;
    Dice& dice_;
};

double tilt_to(double height, double reach) { return -degrees(std::atan2(height - ear_m, reach)); }

void hang_single(Show& show, Dice& dice, Planner& planner) {
    show.plan.models = {beam_model("wide", 10.0 * std::floor(dice.between(6.0, 10.0)), 10.0 * std::floor(dice.between(4.0, 6.0)), {2000.0, 8000.0})};
    const double height = dice.between(4.5, 6.5);
    planner.box("wide", {0.0, dice.spread(1.0), height}, dice.spread(10.0), tilt_to(height, dice.between(8.0, 11.0)));
    planner.axis_and_edges(0);
}

void hang_coupled(Show& show, Dice& dice, Planner& planner) {
    const double coverage = 10.0 * std::floor(dice.between(5.0, 8.0));
    show.plan.models = {beam_model("mid", coverage, 40.0, {2000.0, 8000.0})};
    const double height = dice.between(4.5, 6.5), tilt = tilt_to(height, dice.between(8.0, 10.0)), splay = coverage - dice.between(0.0, 4.0);
    planner.box("mid", {0.0, 0.24, height}, 0.5 * splay, tilt);
    planner.box("mid", {0.0, -0.24, height}, -0.5 * splay, tilt);
    for (const std::size_t i : {0UL, 1UL}) planner.axis_and_edges(i);
    planner.array("centre", plan::ArrayKind::coupled, {0, 1});
}

void hang_fills(Show& show, Dice& dice, Planner& planner) {
    show.plan.models = {beam_model("fill", 90.0, 60.0, {2500.0, 9000.0})};
    const double apart = dice.between(2.8, 4.2);
    for (int i = 0; i < 3; ++i) planner.box("fill", {0.0, (1.0 - i) * apart, dice.between(1.22, 1.3)}, 0.0, 0.0);
    for (const std::size_t i : {0UL, 1UL, 2UL}) planner.axis_and_edges(i, false);
    planner.array("fills", plan::ArrayKind::uncoupled, {0, 1, 2});
}

void hang_point_destination(Show& show, Dice& dice, Planner& planner) {
    show.plan.models = {beam_model("side", 70.0, 50.0, {2000.0, 8000.0})};
    const double half = dice.between(5.0, 8.0), height = dice.between(4.0, 6.0), reach = dice.between(9.0, 12.0);
    const double pan = degrees(std::atan2(0.5 * half, reach));
    planner.box("side", {0.0, half, height}, -pan, tilt_to(height, reach));
    planner.box("side", {0.0, -half, height}, pan, tilt_to(height, reach));
    for (const std::size_t i : {0UL, 1UL}) planner.axis_and_edges(i);
    planner.array("sides", plan::ArrayKind::point_destination, {0, 1});
}

void hang_delays(Show& show, Dice& dice, Planner& planner) {
    show.plan.models = {beam_model("throw", 60.0, 40.0, {2000.0, 8000.0})};
    const double speed = acoustics::speed_of_sound(show.plan.air).value, step = dice.between(14.0, 17.0);
    for (int i = 0; i < 3; ++i) {
        const double height = i == 0 ? 5.5 : 4.9, x = i * step, reach = 9.5 - 0.6 * i;
        planner.box("throw", {x, 0.0, height}, 0.0, tilt_to(height, reach), i * -9.0, i == 0 ? 0.0 : 1e3 * (x + 0.2) / speed);
    }
    for (const std::size_t i : {0UL, 1UL, 2UL}) planner.axis_and_edges(i);
    show.plan.arrays.push_back({"delays", plan::ArrayKind::delay, {"A", "B", "C"}, std::nullopt});
    for (int i = 1; i < 3; ++i)
        planner.position("x" + planner.at(static_cast<std::size_t>(i)).id, {i * step + 5.0, dice.spread(0.3), ear_m},
                         plan::Role::crossover, {planner.at(static_cast<std::size_t>(i - 1)).id, planner.at(static_cast<std::size_t>(i)).id});
}

void hang_line(Show& show, Dice& dice, Planner& planner) {
    show.plan.models = {beam_model("slice", 90.0, 16.0, {2000.0, 8000.0})};
    const double height = dice.between(6.5, 8.0), top = tilt_to(height, dice.between(20.0, 26.0));
    for (int i = 0; i < 4; ++i)
        planner.box("slice", {0.08 * i, 0.0, height - 0.35 * i}, 0.0, top - 12.0 * i, -1.5 * i);
    for (const std::size_t i : {0UL, 1UL, 2UL, 3UL}) planner.axis_and_edges(i);
    planner.array("line", plan::ArrayKind::line, {0, 1, 2, 3});
}

void hang_subs(Show& show, Dice& dice, Planner& planner) {
    show.plan.models = {beam_model("wide", 90.0, 60.0, {2000.0, 8000.0}), sub_model()};
    const double half = dice.between(3.0, 5.0);
    for (const double side : {1.0, -1.0}) planner.box("wide", {0.0, side * half, 4.5}, -side * 8.0, tilt_to(4.5, 8.0));
    for (const double side : {1.0, -1.0}) planner.box("low", {0.3, side * (half - 0.5), 0.5}, 0.0, 0.0, 3.0);
    for (const std::size_t i : {0UL, 1UL}) planner.axis_and_edges(i);
    planner.array("mains", plan::ArrayKind::uncoupled, {0, 1});
    for (const std::size_t i : {2UL, 3UL}) {
        const plan::Box& sub = planner.at(i);
        const Vec3 axis = on_floor(planner.at(i - 2).pose(), 0.0, 0.0);
        planner.position(sub.id + "0", axis, plan::Role::on_axis, {sub.id});
        show.plan.arrays.push_back({"low" + sub.id, plan::ArrayKind::coupled, {planner.at(i - 2).id, sub.id}, plan::Band{60.0, 120.0}});
        planner.position("xs" + sub.id, axis, plan::Role::crossover, {planner.at(i - 2).id, sub.id});
    }
}

double signed_between(Dice& dice, double low, double high) { return (dice.coin() ? 1.0 : -1.0) * dice.between(low, high); }

void plant(Show& show, Dice& dice, Planted kind) {
    const plan::Rules& rules = show.plan.rules;
    const std::size_t count = show.plan.boxes.size();
    std::size_t who = dice.below(count);
    const auto is_beam = [&](std::size_t i) { return show.plan.model_of(show.plan.boxes[i]).pattern == plan::Pattern::beam; };
    while (!is_beam(who) && (kind == Planted::aim_h || kind == Planted::aim_v || kind == Planted::splay ||
                             kind == Planted::dead_high || kind == Planted::dead_low))
        who = dice.below(count);
    Hung& box = show.hung[who];
    show.fault = kind;
    show.fault_subject = show.plan.boxes[who].id;
    const auto amount = [&](double tolerance) { return show.fault_amount = signed_between(dice, 2.0 * tolerance, 4.0 * tolerance); };
    switch (kind) {
        case Planted::none: show.fault_subject.clear(); break;
        case Planted::aim_h: box.pose.pan_deg = show.plan.boxes[who].pan_deg + amount(rules.aim_deg); break;
        case Planted::aim_v: box.pose.tilt_deg = show.plan.boxes[who].tilt_deg + amount(rules.aim_deg); break;
        case Planted::splay: {
            const std::size_t first = std::min(who, count - 2);
            Hung& turned = show.hung[first + 1];
            if (show.rig == Rig::line) turned.pose.tilt_deg = show.plan.boxes[first + 1].tilt_deg - amount(rules.splay_deg);
            else turned.pose.pan_deg = show.plan.boxes[first + 1].pan_deg - amount(rules.splay_deg);
            show.fault_subject = show.plan.boxes[first].id + "+" + show.plan.boxes[first + 1].id;
            break;
        }
        case Planted::spacing: {
            const std::size_t first = std::min<std::size_t>(who, (show.rig == Rig::subs ? 2 : count) - 2);
            const Vec3 apart = show.plan.boxes[first + 1].at - show.plan.boxes[first].at;
            show.hung[first + 1].pose.at = show.hung[first + 1].pose.at + (amount(rules.spacing_m) / length(apart)) * apart;
            show.fault_subject = show.plan.boxes[first].id + "+" + show.plan.boxes[first + 1].id;
            break;
        }
        case Planted::delay: box.delay_ms += amount(rules.arrival_ms); break;
        case Planted::gain: box.gain_db += amount(rules.level_db); break;
        case Planted::polarity: box.inverted = !box.inverted; break;
        case Planted::dead_high: box.drivers = Drivers::no_high; break;
        case Planted::dead_low: box.drivers = Drivers::no_low; break;
        case Planted::silent: box.silent = true; break;
        case Planted::swap: {
            std::size_t other = dice.below(count);
            while (other == who || is_beam(other) != is_beam(who)) other = dice.below(count);
            std::swap(show.cable[who], show.cable[other]);
            show.fault_subject = show.plan.boxes[std::min(who, other)].id + "<>" + show.plan.boxes[std::max(who, other)].id;
            break;
        }
        case Planted::doubled: {
            while (!is_beam(who)) who = dice.below(count);
            std::size_t other = dice.below(count);
            while (other == who || !is_beam(other)) other = dice.below(count);
            show.joined[who] = other;
            show.fault_subject = show.plan.boxes[who].id + ">" + show.plan.boxes[other].id;
            break;
        }
    }
}

bool possible(Rig rig, Planted kind) {
    const bool several = rig != Rig::single;
    switch (kind) {
        case Planted::splay: return rig == Rig::coupled || rig == Rig::line;
        case Planted::spacing: return rig == Rig::fills || rig == Rig::point_destination || rig == Rig::subs;
        case Planted::aim_v: return rig != Rig::fills;
        case Planted::gain:
        case Planted::swap: return several;
        case Planted::doubled: return rig == Rig::fills || rig == Rig::point_destination || rig == Rig::delay_chain || rig == Rig::subs;
        default: return true;
    }
}

}  // namespace

const char* word(Rig rig) {
    static constexpr std::array<const char*, rig_count> words = {"single", "coupled", "fills", "point-destination", "delays", "line", "subs"};
    return words[static_cast<std::size_t>(rig)];
}

const char* word(Planted kind) {
    static constexpr std::array<const char*, fault_count> words = {"none", "aim-h", "aim-v", "splay", "spacing", "delay", "gain",
                                                                   "polarity", "dead-high", "dead-low", "silent", "swap", "doubled"};
    return words[static_cast<std::size_t>(kind)];
}

Show show_of(std::uint64_t seed, const Wish& wish) {
    Dice dice(seed);
    Show show;
    show.seed = seed;
    show.rig = wish.rig.value_or(static_cast<Rig>(dice.below(rig_count)));
    Planted fault = wish.fault.value_or(static_cast<Planted>(dice.below(fault_count)));
    while (!possible(show.rig, fault)) fault = static_cast<Planted>(dice.below(fault_count));
    show.signal_to_noise_db = wish.signal_to_noise_db;
    show.hall = halls[dice.below(halls.size())];
    if (show.rig == Rig::delay_chain && show.hall.high_x < 55.0) show.hall = halls[2 + dice.below(2)];
    show.plan.name = "Trial (invented)";
    show.plan.air = {dice.between(10.0, 28.0), dice.between(35.0, 70.0), 101.325};
    show.plan.drive_latency_ms = dice.between(1.5, 3.0);
    Planner planner(show, dice);
    switch (show.rig) {
        case Rig::single: hang_single(show, dice, planner); break;
        case Rig::coupled: hang_coupled(show, dice, planner); break;
        case Rig::fills: hang_fills(show, dice, planner); break;
        case Rig::point_destination: hang_point_destination(show, dice, planner); break;
        case Rig::delay_chain: hang_delays(show, dice, planner); break;
        case Rig::line: hang_line(show, dice, planner); break;
        case Rig::subs: hang_subs(show, dice, planner); break;
    }
    // The walls stand outside of everything that is planned.
    for (const plan::Position& position : show.plan.positions) {
        show.hall.high_x = std::max(show.hall.high_x, position.at.x + 2.0);
        show.hall.high_y = std::max(show.hall.high_y, std::abs(position.at.y) + 2.0);
    }
    for (const plan::Box& box : show.plan.boxes) show.hall.high_z = std::max(show.hall.high_z, box.at.z + 1.5);
    // A healthy rig: evenly spread within 0.6 of every tolerance.
    for (std::size_t i = 0; i < show.plan.boxes.size(); ++i) {
        const plan::Box& box = show.plan.boxes[i];
        Hung hung{box.pose(), box.gain_db, box.delay_ms, box.inverted, false, Drivers::all};
        // Pan and tilt of two neighbours add up in their splay, places in their spacing: each takes half.
        hung.pose.pan_deg += dice.spread(1.2) * (show.rig == Rig::coupled ? 0.5 : 1.0);
        hung.pose.tilt_deg += dice.spread(1.2) * (show.rig == Rig::line ? 0.5 : 1.0);
        hung.pose.at = hung.pose.at + Vec3{dice.spread(0.05), dice.spread(0.05), dice.spread(0.05)};
        hung.gain_db += dice.spread(0.5);
        hung.delay_ms += dice.spread(0.1);
        show.hung.push_back(hung);
        show.cable.push_back(i);
        show.joined.emplace_back();
    }
    show.air = show.plan.air;
    show.air.temperature_c += dice.normal();
    show.air.humidity_pct = std::clamp(show.air.humidity_pct + 5.0 * dice.normal(), 20.0, 90.0);
    plant(show, dice, fault);
    return show;
}

}  // namespace proofwalk::trials
