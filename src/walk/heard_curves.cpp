#include "walk/heard_curves.hpp"

#include <algorithm>
#include <cmath>

#include "plan/heard.hpp"
#include "plan/targets.hpp"
#include "units/convert.hpp"
#include "walk/judged.hpp"
#include "walk/store_take.hpp"

namespace proofwalk::walk {
namespace {

constexpr double drawn_before_s = 0.005, drawn_after_s = 0.080;  // of the impulse response, around the arrival
constexpr std::size_t drawn_points = 1200;
constexpr double drawn_floor_db = -80.0;

void draw_impulse(const log::EvidenceRecord& heard, report::BoxCurves& curves) {
    const signal::Evidence& evidence = heard.evidence;
    if (evidence.impulse.empty() || !heard.reading.arrival_s) return;
    const double start_s = curves.arrival_s - drawn_before_s;
    const double step_s = (drawn_before_s + drawn_after_s) / drawn_points;
    std::vector<double> peaks(drawn_points, 0.0);
    double highest = 0.0;
    for (std::size_t i = 0; i < drawn_points; ++i) {
        const double from = (start_s + static_cast<double>(i) * step_s - evidence.first_s) * evidence.rate_hz;
        const auto first = static_cast<std::ptrdiff_t>(std::floor(from));
        const auto last = static_cast<std::ptrdiff_t>(std::ceil(from + step_s * evidence.rate_hz));
        for (std::ptrdiff_t n = std::max<std::ptrdiff_t>(first, 0); n < std::min(last, std::ssize(evidence.impulse)); ++n)
            peaks[i] = std::max(peaks[i], std::abs(static_cast<double>(evidence.impulse[static_cast<std::size_t>(n)])));
        highest = std::max(highest, peaks[i]);
    }
    if (highest <= 0.0) return;
    for (std::size_t i = 0; i < drawn_points; ++i) {
        curves.impulse_s.push_back(start_s + (static_cast<double>(i) + 0.5) * step_s);
        curves.impulse_db.push_back(
            peaks[i] > 0.0 ? std::max(drawn_floor_db, amplitude_db(peaks[i] / highest)) : drawn_floor_db);
    }
}

// The plan knows the shape, not the sensitivity: it is drawn at the measured aim-band level.
signal::Curve planned_curve(const plan::Target& target, const signal::Reading& reading) {
    signal::Curve curve;
    if (!reading.aim_band_db) return curve;
    const double offset_db = reading.aim_band_db->value - target.aim_band_db;
    for (std::size_t band = 0; band < band_count; ++band)
        if (target.shape_db.has(band)) {
            curve.hz.push_back(midband_hz(band));
            curve.db.push_back(target.shape_db[band] + offset_db);
        }
    return curve;
}

}  // namespace

std::vector<std::string> surfaces_of(const plan::Plan& plan, const plan::Box& box, const std::string& position,
                                     const signal::Reading& reading, const acoustics::Air& air) {
    const plan::Position* place = plan.position(position);
    if (place == nullptr) return {};
    std::vector<double> after_s;
    for (const signal::Reflection& reflection : reading.reflections) after_s.push_back(reflection.after_s);
    return plan::likely_surfaces(plan, box, *place, air, after_s);
}

report::BoxCurves curves_of(const plan::Plan& plan, const plan::Box& box, const log::EvidenceRecord& heard,
                            const std::string& take_label, const acoustics::Air& air, double smoothing) {
    report::BoxCurves curves;
    curves.take = take_label;
    curves.box = box.id;
    curves.position = heard.position;
    curves.measured = signal::magnitude_curve(heard.evidence, heard.reading, smoothing);
    if (const plan::Position* position = plan.position(heard.position))
        curves.planned = planned_curve(plan::target(plan, box, *position, air), heard.reading);
    if (heard.reading.arrival_s) {
        // The mic's own latency is off the arrival but still in the impulse response.
        curves.arrival_s = heard.reading.arrival_s->value + heard.evidence.latency_s;
        curves.gate_end_s = curves.arrival_s + heard.reading.gate_s;
    }
    curves.reflections = heard.reading.reflections;
    curves.surfaces = surfaces_of(plan, box, heard.position, heard.reading, air);
    draw_impulse(heard, curves);
    return curves;
}

Result<std::vector<HeardCurve>> heard_curves(const Show& show, const std::string& circuit, const std::string& position,
                                             double smoothing) {
    auto evidence = load_evidence(show);
    if (!evidence) return std::unexpected(evidence.error());
    const plan::Plan& plan = show.plan.plan;
    const acoustics::Air air = air_of(plan, evidence->takes);
    const auto boxes = plan.boxes_of(circuit);
    std::vector<HeardCurve> found;
    if (boxes.empty()) return found;
    const auto is_it = [&](const log::EvidenceRecord& heard) { return heard.circuit == circuit && heard.position == position; };
    for (const auto& take : evidence->takes) {
        if (std::ranges::none_of(take.evidence, is_it)) continue;
        auto whole = show.log.take(take.number, true);
        if (!whole) return std::unexpected(whole.error());
        if (!*whole) continue;
        for (const auto& heard : (*whole)->evidence)
            if (is_it(heard))
                found.push_back({curves_of(plan, *boxes.front(), heard, take.label, air, smoothing), circuit, take.number,
                                 take.origin.when, retired(plan, evidence->changes, take, circuit), false, heard.reading,
                                 signal::phase_curve(heard.evidence, heard.reading, smoothing)});
    }
    for (auto curve = found.rbegin(); curve != found.rend(); ++curve)
        if (!curve->retired) {
            curve->newest = true;
            break;
        }
    return found;
}

std::vector<std::string> heard_at(const plan::Plan& plan, const std::vector<report::ReadingRow>& rows,
                                  const std::string& circuit) {
    std::vector<std::string> positions;
    for (const auto& position : plan.positions)
        if (std::ranges::any_of(rows, [&](const report::ReadingRow& row) {
                return row.taken.circuit == circuit && row.taken.position == position.id;
            }))
            positions.push_back(position.id);
    return positions;
}

std::vector<SiblingPlace> siblings(const plan::Plan& plan, const std::string& id) {
    std::vector<SiblingPlace> places;
    const plan::Box* self = plan.box(id);
    if (self == nullptr) return places;
    for (const auto& box : plan.boxes)
        if (box.model == self->model && box.id != id)
            if (const plan::Position* on_axis = plan.serving(plan::Role::on_axis, box.id))
                places.push_back({box.id, box.circuit, on_axis->id});
    return places;
}

}  // namespace proofwalk::walk
