#include "plan/write.hpp"

#include <cmath>

#include <fmt/format.h>

namespace proofwalk::plan {
namespace {

// A TOML basic string.
std::string quote(std::string_view text) {
    std::string out = "\"";
    for (const char c : text) {
        const auto code = static_cast<unsigned char>(c);
        if (c == '"' || c == '\\')
            out += std::string("\\") + c;
        else if (code < 0x20 || code == 0x7f)
            out += fmt::format("\\u{:04X}", code);
        else
            out += c;
    }
    return out + "\"";
}

// Shortest digits that read back the same, always with a point so that it stays a float.
std::string number(double value) {
    std::string text = fmt::format("{}", value == 0.0 ? 0.0 : value);
    if (text.find_first_of(".e") == std::string::npos) text += ".0";
    return text;
}

std::string list(const std::vector<std::string>& items) {
    std::string text;
    for (const std::string& item : items) text += (text.empty() ? "" : ", ") + quote(item);
    return "[" + text + "]";
}
std::string triple(Vec3 v) { return fmt::format("[{}, {}, {}]", number(v.x), number(v.y), number(v.z)); }
std::string band(Band b) { return fmt::format("[{}, {}]", number(b.low_hz), number(b.high_hz)); }

class Writer {
public:
    void section(std::string_view header) { text_ += fmt::format("\n{}\n", header); }
    void line(std::string_view key, const std::string& value) { text_ += fmt::format("{} = {}\n", key, value); }
    void number_unless(std::string_view key, double value, double otherwise) {
        if (value != otherwise) line(key, number(value));
    }
    [[nodiscard]] std::string text() && { return std::move(text_); }

private:
    std::string text_;
};

void write_rules(const Rules& rules, Writer& out) {
    const Rules otherwise;
    out.section("[rules]");
    out.line("decision", quote(rules.decision == Decision::guarded ? "guarded" : "simple"));
    out.line("confidence", number(rules.confidence));
    out.line("aim_deg", number(rules.aim_deg));
    out.line("splay_deg", number(rules.splay_deg));
    out.line("spacing_m", number(rules.spacing_m));
    out.line("level_db", number(rules.level_db));
    out.line("crossover_db", number(rules.crossover_db));
    out.line("arrival_ms", number(rules.arrival_ms));
    out.line("alignment_ms", number(rules.alignment_ms));
    out.line("response_db", number(rules.response_db));
    out.number_unless("mic_place_m", rules.mic_place_m, otherwise.mic_place_m);
    out.number_unless("mic_match_db", rules.mic_match_db, otherwise.mic_match_db);
    out.number_unless("temperature_u_c", rules.temperature_u_c, otherwise.temperature_u_c);
}

void write_model(const Model& model, Writer& out) {
    const bool omni = model.pattern == Pattern::omni;
    out.section("[[model]]");
    out.line("id", quote(model.id));
    out.line("pattern", quote(omni ? "omni" : "beam"));
    if (!omni || model.coverage_h_deg != 360.0) out.line("coverage_h_deg", number(model.coverage_h_deg));
    if (!omni || model.coverage_v_deg != 360.0) out.line("coverage_v_deg", number(model.coverage_v_deg));
    out.line("aim_band_hz", band(model.aim_band_hz));
    out.line("range_hz", band(model.range_hz));
    if (model.size_m != Vec3{}) out.line("size_m", triple(model.size_m));
    if (!model.directivity.empty()) out.line("directivity", quote(model.directivity));
    out.number_unless("coverage_u_pct", model.coverage_u_pct, model.directivity.empty() ? 5.0 : 2.0);
    out.number_unless("pattern_u_db", model.pattern_u_db, 0.3);
    if (model.level_1m_db) out.line("level_1m_db", number(*model.level_1m_db));
    out.number_unless("latency_ms", model.latency_ms, 0.0);
    if (model.inverted) out.line("inverted", "true");
}

void write_box(const Box& box, Writer& out) {
    out.section("[[box]]");
    out.line("id", quote(box.id));
    out.line("model", quote(box.model));
    out.line("at", triple(box.at));
    out.line("pan_deg", number(box.pan_deg));
    out.line("tilt_deg", number(box.tilt_deg));
    out.line("gain_db", number(box.gain_db));
    out.line("delay_ms", number(box.delay_ms));
    if (box.inverted) out.line("inverted", "true");
    if (box.circuit != box.id) out.line("circuit", quote(box.circuit));
    if (box.output) out.line("output", fmt::format("{}", *box.output));
    if (!box.patch.empty()) out.line("patch", quote(box.patch));
}

void write_position(const Position& position, Writer& out) {
    out.section("[[position]]");
    out.line("id", quote(position.id));
    out.line("at", triple(position.at));
    if (position.place_u_m) out.line("place_u_m", number(*position.place_u_m));
    std::string serves;
    for (const Serve& serve : position.serves)
        serves += fmt::format("\n  {{ role = {}, boxes = {} }},", quote(word(serve.role)), list(serve.boxes));
    out.line("serves", serves.empty() ? "[]" : "[" + serves + "\n]");
}

}  // namespace

std::string write(const Plan& plan) {
    Writer out;
    out.line("format", quote("proofwalk.plan/1"));
    out.line("name", quote(plan.name));
    out.section("[air]");
    out.line("temperature_c", number(plan.air.temperature_c));
    out.line("humidity_pct", number(plan.air.humidity_pct));
    out.line("pressure_kpa", number(plan.air.pressure_kpa));
    if (plan.drive_latency_ms) {
        out.section("[drive]");
        out.line("latency_ms", number(*plan.drive_latency_ms));
    }
    write_rules(plan.rules, out);
    for (const Area& area : plan.areas) {
        out.section("[[area]]");
        out.line("id", quote(area.id));
        out.line("near", triple(area.near));
        out.line("far", triple(area.far));
        out.line("near_width_m", number(area.near_width_m));
        out.line("far_width_m", number(area.far_width_m));
    }
    for (const Model& model : plan.models) write_model(model, out);
    for (const Box& box : plan.boxes) write_box(box, out);
    for (const Array& array : plan.arrays) {
        out.section("[[array]]");
        out.line("id", quote(array.id));
        out.line("kind", quote(word(array.kind)));
        out.line("boxes", list(array.boxes));
        if (array.band_hz) out.line("band_hz", band(*array.band_hz));
    }
    for (const Position& position : plan.positions) write_position(position, out);
    return std::move(out).text();
}

bool same(const Plan& a, const Plan& b) { return write(a) == write(b); }

}  // namespace proofwalk::plan
