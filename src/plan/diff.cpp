#include "plan/diff.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "plan/targets.hpp"
#include "units/convert.hpp"

namespace proofwalk::plan {
namespace {

using Words = std::vector<std::string>;

std::string from_to(double before, double after, std::string_view unit) { return fmt::format("from {:.2f} to {:.2f} {}", before, after, unit); }

void figure(Words& out, std::string_view what, double before, double after, std::string_view unit) {
    if (before != after) out.push_back(fmt::format("{} changed by {:+.2f} {}, {}", what, after - before, unit, from_to(before, after, unit)));
}
void text(Words& out, std::string_view what, const std::string& before, const std::string& after) {
    if (before != after) out.push_back(fmt::format("{} changed from \"{}\" to \"{}\"", what, before, after));
}
void yes_no(Words& out, std::string_view what, bool before, bool after) {
    if (before != after) out.push_back(fmt::format("{} is now {}", what, after ? "inverted" : "not inverted"));
}
void band(Words& out, std::string_view what, Band before, Band after) {
    if (before != after)
        out.push_back(fmt::format("{} changed from {:g} to {:g} Hz into {:g} to {:g} Hz", what, before.low_hz, before.high_hz, after.low_hz, after.high_hz));
}
void place(Words& out, Vec3 before, Vec3 after) {
    if (before == after) return;
    const Vec3 by = after - before;
    std::string parts;
    const auto part = [&](double metres, std::string_view plus, std::string_view minus) {
        if (std::abs(metres) < 5e-4) return;
        parts += (parts.empty() ? "" : ", ") + fmt::format("{:.2f} m {}", std::abs(metres), metres > 0.0 ? plus : minus);
    };
    part(by.x, "away from the stage", "towards the stage");
    part(by.y, "to house right", "to house left");
    part(by.z, "up", "down");
    out.push_back(fmt::format("moved {}", parts.empty() ? "by less than a millimetre" : parts));
}

// +y is stage left, which the audience calls house right: see the frame in the plan format.
Words box_words(const Box& a, const Box& b) {
    Words out;
    place(out, a.at, b.at);
    if (const double turn = wrapped_deg(b.pan_deg - a.pan_deg); turn != 0.0)
        out.push_back(fmt::format("turned {} by {:.2f} deg, {}", turn > 0.0 ? "to its left" : "to its right", std::abs(turn), from_to(a.pan_deg, b.pan_deg, "deg")));
    if (a.tilt_deg != b.tilt_deg)
        out.push_back(fmt::format("tilted {} by {:.2f} deg, {}", b.tilt_deg > a.tilt_deg ? "up" : "down", std::abs(b.tilt_deg - a.tilt_deg), from_to(a.tilt_deg, b.tilt_deg, "deg")));
    text(out, "model", a.model, b.model);
    figure(out, "gain", a.gain_db, b.gain_db, "dB");
    figure(out, "delay", a.delay_ms, b.delay_ms, "ms");
    yes_no(out, "polarity", a.inverted, b.inverted);
    text(out, "circuit", a.circuit, b.circuit);
    const auto output = [](const Box& box) { return box.output ? fmt::format("{}", *box.output) : std::string("none"); };
    text(out, "output", output(a), output(b));
    text(out, "patch", a.patch, b.patch);
    return out;
}

Words model_words(const Model& a, const Model& b) {
    Words out;
    if (a.pattern != b.pattern) out.push_back(fmt::format("pattern is now {}", b.pattern == Pattern::omni ? "omni" : "beam"));
    figure(out, "horizontal coverage", a.coverage_h_deg, b.coverage_h_deg, "deg");
    figure(out, "vertical coverage", a.coverage_v_deg, b.coverage_v_deg, "deg");
    band(out, "aim band", a.aim_band_hz, b.aim_band_hz);
    band(out, "range", a.range_hz, b.range_hz);
    if (a.size_m != b.size_m) out.push_back("size changed");
    text(out, "directivity file", a.directivity, b.directivity);
    figure(out, "uncertainty of the coverage", a.coverage_u_pct, b.coverage_u_pct, "%");
    figure(out, "uncertainty of the pattern", a.pattern_u_db, b.pattern_u_db, "dB");
    if (a.level_1m_db != b.level_1m_db) out.push_back("level at 1 m changed");
    figure(out, "latency", a.latency_ms, b.latency_ms, "ms");
    yes_no(out, "polarity", a.inverted, b.inverted);
    return out;
}

Words area_words(const Area& a, const Area& b) {
    Words out;
    if (a.near != b.near) out.push_back("near row moved");
    if (a.far != b.far) out.push_back("far row moved");
    figure(out, "width of the near row", a.near_width_m, b.near_width_m, "m");
    figure(out, "width of the far row", a.far_width_m, b.far_width_m, "m");
    return out;
}

std::string joined(const std::vector<std::string>& items) {
    std::string all;
    for (const std::string& item : items) all += (all.empty() ? "" : ", ") + item;
    return all;
}

Words array_words(const Array& a, const Array& b) {
    Words out;
    if (a.kind != b.kind) out.push_back(fmt::format("kind changed from {} to {}", word(a.kind), word(b.kind)));
    if (a.boxes != b.boxes) out.push_back(fmt::format("boxes changed from {} to {}", joined(a.boxes), joined(b.boxes)));
    if (a.band_hz != b.band_hz) out.push_back("band changed");
    return out;
}

std::string roles(const Position& position) {
    std::string all;
    for (const Serve& serve : position.serves) all += (all.empty() ? "" : "; ") + fmt::format("{} {}", word(serve.role), joined(serve.boxes));
    return all.empty() ? "nothing" : all;
}

Words position_words(const Position& a, const Position& b) {
    Words out;
    place(out, a.at, b.at);
    if (a.place_u_m != b.place_u_m) out.push_back("uncertainty of its place changed");
    if (roles(a) != roles(b)) out.push_back(fmt::format("serves changed from {} to {}", roles(a), roles(b)));
    return out;
}

Words rule_words(const Rules& a, const Rules& b) {
    Words out;
    if (a.decision != b.decision) out.push_back(fmt::format("decision rule is now {}", b.decision == Decision::guarded ? "guarded" : "simple"));
    figure(out, "confidence", a.confidence, b.confidence, "");
    figure(out, "aim tolerance", a.aim_deg, b.aim_deg, "deg");
    figure(out, "splay tolerance", a.splay_deg, b.splay_deg, "deg");
    figure(out, "spacing tolerance", a.spacing_m, b.spacing_m, "m");
    figure(out, "level tolerance", a.level_db, b.level_db, "dB");
    figure(out, "crossover tolerance", a.crossover_db, b.crossover_db, "dB");
    figure(out, "arrival tolerance", a.arrival_ms, b.arrival_ms, "ms");
    figure(out, "alignment tolerance", a.alignment_ms, b.alignment_ms, "ms");
    figure(out, "response tolerance", a.response_db, b.response_db, "dB");
    figure(out, "uncertainty of mic places", a.mic_place_m, b.mic_place_m, "m");
    figure(out, "uncertainty of mic levels", a.mic_match_db, b.mic_match_db, "dB");
    figure(out, "uncertainty of the temperature", a.temperature_u_c, b.temperature_u_c, "C");
    return out;
}

template <class Item>
void compare(std::vector<Difference>& all, std::string_view section, const std::vector<Item>& before, const std::vector<Item>& after,
             Words (*words)(const Item&, const Item&)) {
    const std::string name(section);
    for (const Item& item : before) {
        const auto other = std::ranges::find(after, item.id, &Item::id);
        if (other == after.end())
            all.push_back({name, item.id, "is not in the plan any more"});
        else
            for (std::string& text : words(item, *other)) all.push_back({name, item.id, std::move(text)});
    }
    for (const Item& item : after)
        if (std::ranges::find(before, item.id, &Item::id) == before.end()) all.push_back({name, item.id, "is new"});
}

// Why a check's earlier verdict does not stand; empty when it does.
std::string reason(const PlannedCheck& a, const PlannedCheck& b, const Plan& before, const Plan& after) {
    const auto boxes_changed = [&](const std::vector<std::string>& boxes) -> std::string {
        for (const std::string& id : boxes) {
            const Box *one = before.box(id), *two = after.box(id);
            if (one == nullptr || two == nullptr) return fmt::format("box {} is new among those it is compared with", id);
            for (const std::string& words : box_words(*one, *two))
                if (!words.starts_with("patch") && !words.starts_with("output")) return fmt::format("box {}: {}", id, words);
            for (const std::string& words : model_words(before.model_of(*one), after.model_of(*two))) return fmt::format("model {}: {}", two->model, words);
        }
        return {};
    };
    if (a.boxes != b.boxes) return fmt::format("its boxes changed from {} to {}", joined(a.boxes), joined(b.boxes));
    if (std::string why = boxes_changed(b.boxes); !why.empty()) return why;
    const auto company = [](const Plan& plan, const std::vector<std::string>& circuits) {
        std::string all;
        for (const std::string& circuit : circuits)
            for (const Box* box : plan.boxes_of(circuit)) all += box->id + " ";
        return all;
    };
    if (company(before, a.circuits) != company(after, b.circuits)) return "another box sounds on its circuit";
    if (a.positions != b.positions) return fmt::format("its positions changed from {} to {}", joined(a.positions), joined(b.positions));
    for (const std::string& id : b.positions)
        if (before.position(id)->at != after.position(id)->at) return fmt::format("position {} moved by {:.2f} m", id, distance(before.position(id)->at, after.position(id)->at));
    if (a.band_hz != b.band_hz) return "the band in which it is judged changed";
    if (b.kind == CheckKind::level || b.kind == CheckKind::response) {
        const auto siblings = [](const Plan& plan, const std::string& box) {
            std::vector<std::string> all;
            for (const Box& other : plan.boxes)
                if (other.model == plan.box(box)->model) all.push_back(other.id);
            return all;
        };
        if (siblings(before, b.subject) != siblings(after, b.subject)) return "the boxes that it is compared with changed";
        if (b.kind == CheckKind::level)
            if (std::string why = boxes_changed(siblings(after, b.subject)); !why.empty()) return why;
    }
    if (before.drive_latency_ms != after.drive_latency_ms && b.kind == CheckKind::arrival) return "the drive latency changed";
    if (before.air != after.air && (b.kind == CheckKind::arrival || b.kind == CheckKind::alignment)) return "the planned air changed";
    const auto tolerance = [&](const Rules& rules) {
        switch (b.kind) {
            case CheckKind::response: return rules.response_db;
            case CheckKind::level: return rules.level_db;
            case CheckKind::arrival: return rules.arrival_ms;
            case CheckKind::aim_h:
            case CheckKind::aim_v: return rules.aim_deg;
            case CheckKind::splay: return rules.splay_deg;
            case CheckKind::spacing: return rules.spacing_m;
            case CheckKind::crossover: return rules.crossover_db;
            case CheckKind::alignment: return rules.alignment_ms;
            case CheckKind::sounding:
            case CheckKind::polarity: return 0.0;
        }
        return 0.0;
    };
    if (tolerance(before.rules) != tolerance(after.rules)) return fmt::format("its tolerance changed from {:g} to {:g}", tolerance(before.rules), tolerance(after.rules));
    if (before.rules.decision != after.rules.decision || before.rules.confidence != after.rules.confidence) return "the decision rule changed";
    return {};
}

}  // namespace

std::vector<Difference> differences(const Plan& before, const Plan& after) {
    std::vector<Difference> all;
    const auto add = [&](std::string_view section, Words words) {
        for (std::string& text : words) all.push_back({std::string(section), "", std::move(text)});
    };
    Words words;
    text(words, "name", before.name, after.name);
    add("plan", words);
    words.clear();
    figure(words, "temperature", before.air.temperature_c, after.air.temperature_c, "C");
    figure(words, "humidity", before.air.humidity_pct, after.air.humidity_pct, "%");
    figure(words, "pressure", before.air.pressure_kpa, after.air.pressure_kpa, "kPa");
    add("air", words);
    words.clear();
    if (before.drive_latency_ms && after.drive_latency_ms)
        figure(words, "latency", *before.drive_latency_ms, *after.drive_latency_ms, "ms");
    else if (before.drive_latency_ms != after.drive_latency_ms)
        words.push_back(after.drive_latency_ms ? fmt::format("latency is now known: {:.2f} ms", *after.drive_latency_ms) : std::string("latency is now solved for"));
    add("drive", words);
    add("rules", rule_words(before.rules, after.rules));
    compare(all, "area", before.areas, after.areas, area_words);
    compare(all, "model", before.models, after.models, model_words);
    compare(all, "box", before.boxes, after.boxes, box_words);
    compare(all, "array", before.arrays, after.arrays, array_words);
    compare(all, "position", before.positions, after.positions, position_words);
    return all;
}

std::vector<TargetChange> target_changes(const Plan& before, const Plan& after) {
    std::vector<TargetChange> all;
    for (const Box& box : after.boxes)
        for (const Position& position : after.positions) {
            const Box* old_box = before.box(box.id);
            const Position* old_position = before.position(position.id);
            if (old_box == nullptr || old_position == nullptr) continue;
            const Target a = target(before, *old_box, *old_position, before.air), b = target(after, box, position, after.air);
            if (!a.serves && !b.serves) continue;
            const TargetChange change{box.id, position.id, 1000.0 * (b.arrival_s - a.arrival_s), b.aim_band_db - a.aim_band_db,
                                      wrapped_deg(b.bearing.h_deg - a.bearing.h_deg), b.bearing.v_deg - a.bearing.v_deg};
            if (std::abs(change.arrival_ms) > 0.05 || std::abs(change.aim_band_db) > 0.1) all.push_back(change);
        }
    return all;
}

std::vector<CheckChange> check_changes(const Plan& before, const Plan& after) {
    const auto old_checks = checks(before), new_checks = checks(after);
    const auto find = [](const std::vector<PlannedCheck>& all, const PlannedCheck& wanted) {
        return std::ranges::find_if(all, [&](const PlannedCheck& check) { return check.kind == wanted.kind && check.subject == wanted.subject; });
    };
    std::vector<CheckChange> all;
    for (const PlannedCheck& check : new_checks) {
        const auto known = find(old_checks, check);
        if (known == old_checks.end())
            all.push_back({CheckChange::Kind::added, check.kind, check.subject, ""});
        else if (std::string why = reason(*known, check, before, after); !why.empty())
            all.push_back({CheckChange::Kind::reopened, check.kind, check.subject, std::move(why)});
    }
    for (const PlannedCheck& check : old_checks)
        if (find(new_checks, check) == new_checks.end()) all.push_back({CheckChange::Kind::dropped, check.kind, check.subject, ""});
    return all;
}

}  // namespace proofwalk::plan
