#include "plan/sheets.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "acoustics/geometry.hpp"
#include "plan/area.hpp"
#include "units/convert.hpp"

namespace proofwalk::plan {
namespace {

std::string side(double y, LengthUnit unit) {
    if (std::abs(y) < 5e-3) return "middle";
    return length_text(std::abs(y), unit) + (y > 0.0 ? " house right" : " house left");
}
std::string angle(double degrees_value, std::string_view plus, std::string_view minus) {
    if (std::abs(degrees_value) < 0.05) return "0.0";
    return fmt::format("{:.1f} {}", std::abs(degrees_value), degrees_value > 0.0 ? plus : minus);
}

// The half height of a box above its acoustic centre, as it hangs; its centre is taken as the middle of its front.
double top_above_centre_m(const Plan& plan, const Box& box) {
    const Vec3 size = plan.model_of(box).size_m;
    return 0.5 * size.y * std::cos(radians(box.tilt_deg));
}

std::string splay_to_next(const Plan& plan, const Box& box) {
    std::string text;
    for (const Array& array : plan.arrays) {
        if (array.kind != ArrayKind::coupled && array.kind != ArrayKind::line) continue;
        for (std::size_t i = 0; i + 1 < array.boxes.size(); ++i) {
            if (array.boxes[i] != box.id) continue;
            const Box& next = *plan.box(array.boxes[i + 1]);
            text += (text.empty() ? "" : "; ") + fmt::format("{:.1f} to {}", acoustics::angle_between_deg({box.pan_deg, box.tilt_deg}, {next.pan_deg, next.tilt_deg}), next.id);
        }
    }
    return text;
}

double floor_distance(Vec3 a, Vec3 b) { return std::hypot(a.x - b.x, a.y - b.y); }

std::string cell(const std::string& text) {
    if (text.find_first_of("\",\r\n") == std::string::npos) return text;
    std::string out = "\"";
    for (const char c : text) out += c == '"' ? std::string("\"\"") : std::string(1, c);
    return out + "\"";
}

}  // namespace

TapePoints stage_corners(const Plan& plan) {
    const double half = plan.areas.empty() ? 5.0 : 0.5 * plan.areas.front().near_width_m;
    return {{0.0, half, 0.0}, {0.0, -half, 0.0}, "A: stage edge, house right", "B: stage edge, house left"};
}

Sheet rigging_sheet(const Plan& plan, LengthUnit unit) {
    Sheet sheet;
    sheet.name = "rigging";
    sheet.title = "Rigging sheet: " + plan.name;
    sheet.notes = {"Hanging and moving loads is for competent riggers, by the rules of the place and of the makers of the gear. The figures are for the ears, not for the steel.",
                   "Distances from the stage edge (x = 0) and from the middle line, heights above the plan's zero. Trim is the top of the box where its size is known, else its middle. "
                   "Pan and splay in degrees; left and right as seen along the box's own axis."};
    sheet.columns = {"box", "model", "from stage", "side", "trim", "centre height", "pan", "tilt", "splay", "weight"};
    for (const Box& box : plan.boxes) {
        const bool omni = plan.model_of(box).pattern == Pattern::omni;
        sheet.rows.push_back({box.id, box.model, length_text(box.at.x, unit), side(box.at.y, unit), length_text(box.at.z + top_above_centre_m(plan, box), unit),
                              length_text(box.at.z, unit), omni ? "any" : angle(box.pan_deg, "left", "right"), omni ? "any" : angle(box.tilt_deg, "up", "down"),
                              splay_to_next(plan, box), "not given"});
    }
    return sheet;
}

Sheet mic_sheet(const Plan& plan, LengthUnit unit, const TapePoints& tapes) {
    Sheet sheet;
    sheet.name = "mics";
    sheet.title = "Mic sheet: " + plan.name;
    sheet.notes = {"In walking order. Hold one tape to A and one to B along the floor; the mic stands where the two lengths meet, on the audience's side.",
                   fmt::format("{} ({} from the stage edge, {}); {} ({} from the stage edge, {}).", tapes.a_name, length_text(tapes.a.x, unit), side(tapes.a.y, unit),
                               tapes.b_name, length_text(tapes.b.x, unit), side(tapes.b.y, unit)),
                   "Point the mic's capsule up or at the box as its maker says for free field, and stand clear of it while the signal plays. Wear hearing protection near the boxes."};
    sheet.columns = {"position", "from stage", "side", "height", "tape A", "tape B", "area", "serves"};
    for (const Position& position : plan.positions) {
        std::string serves;
        for (const Serve& serve : position.serves) {
            std::string boxes;
            for (const std::string& box : serve.boxes) boxes += (boxes.empty() ? "" : "+") + box;
            serves += (serves.empty() ? "" : ", ") + fmt::format("{} {}", word(serve.role), boxes);
        }
        const Area* area = area_under(plan, position.at);
        sheet.rows.push_back({position.id, length_text(position.at.x, unit), side(position.at.y, unit), length_text(position.at.z, unit),
                              length_text(floor_distance(position.at, tapes.a), unit), length_text(floor_distance(position.at, tapes.b), unit),
                              area == nullptr ? "outside" : area->id, serves.empty() ? "extra" : serves});
    }
    return sheet;
}

Sheet patch_sheet(const Plan& plan) {
    Sheet sheet;
    sheet.name = "patch";
    sheet.title = "Patch sheet: " + plan.name;
    sheet.notes = {"Mute everything before repatching. Gain, delay and polarity as planned at the box, on top of its model's own."};
    sheet.columns = {"output", "circuit", "box", "model", "patch", "gain dB", "delay ms", "polarity"};
    std::vector<const Box*> boxes;
    for (const Box& box : plan.boxes) boxes.push_back(&box);
    std::ranges::stable_sort(boxes, {}, [](const Box* box) { return box->output.value_or(1 << 20); });
    for (const Box* box : boxes)
        sheet.rows.push_back({box->output ? fmt::format("{}", *box->output) : "none", box->circuit, box->id, box->model, box->patch, fmt::format("{:+.1f}", box->gain_db),
                              fmt::format("{:.2f}", box->delay_ms), box->inverted ? "inverted" : "normal"});
    return sheet;
}

std::string csv(const Sheet& sheet) {
    std::string out;
    const auto line = [&](const std::vector<std::string>& cells) {
        for (std::size_t i = 0; i < cells.size(); ++i) out += (i == 0 ? "" : ",") + cell(cells[i]);
        out += "\r\n";
    };
    line(sheet.columns);
    for (const auto& row : sheet.rows) line(row);
    return out;
}

std::optional<Vec3> from_tapes(const TapePoints& tapes, double from_a_m, double from_b_m) {
    const double dx = tapes.b.x - tapes.a.x, dy = tapes.b.y - tapes.a.y, apart = std::hypot(dx, dy);
    if (!(apart > 0.0)) return std::nullopt;
    const double along = (from_a_m * from_a_m - from_b_m * from_b_m + apart * apart) / (2.0 * apart);
    const double off2 = from_a_m * from_a_m - along * along;
    if (off2 < 0.0) return std::nullopt;
    const double off = std::sqrt(off2), ux = dx / apart, uy = dy / apart;
    Vec3 found{tapes.a.x + along * ux - off * uy, tapes.a.y + along * uy + off * ux, 0.0};
    const Vec3 mirror{tapes.a.x + along * ux + off * uy, tapes.a.y + along * uy - off * ux, 0.0};
    if (std::abs(uy) > 1e-9 ? mirror.x > found.x : mirror.y > found.y) found = mirror;
    return found;
}

}  // namespace proofwalk::plan
