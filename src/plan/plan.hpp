// The design plan, `proofwalk.plan/1`, as written in the file. Every name and unit is the file's own.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "acoustics/air.hpp"
#include "acoustics/directivity.hpp"
#include "acoustics/geometry.hpp"
#include "units/vec3.hpp"

namespace proofwalk::plan {

enum class Decision { guarded, simple };

struct Rules {
    Decision decision = Decision::guarded;
    double confidence = 0.95;
    double aim_deg = 2.0;
    double splay_deg = 2.0;
    double spacing_m = 0.20;
    double level_db = 1.5;
    double crossover_db = 2.0;
    double arrival_ms = 1.0;
    double alignment_ms = 0.5;
    double response_db = 4.0;
    double mic_place_m = 0.03;
    double mic_match_db = 0.2;
    double temperature_u_c = 1.0;
};

struct Band {
    double low_hz = 0.0;
    double high_hz = 0.0;
    friend constexpr bool operator==(const Band&, const Band&) = default;
};

struct Area {
    std::string id;
    Vec3 near, far;  // middle of the nearest and of the farthest row, at ear height
    double near_width_m = 0.0, far_width_m = 0.0;
};

enum class Pattern { beam, omni };

struct Model {
    std::string id;
    Pattern pattern = Pattern::beam;
    double coverage_h_deg = 0.0, coverage_v_deg = 0.0;  // between the -6 dB points
    Band aim_band_hz, range_hz;
    Vec3 size_m;  // width, height, depth; zeros when not given
    std::string directivity;  // AES69 file as written; empty: the beam model
    double coverage_u_pct = 5.0;
    double pattern_u_db = 0.3;
    std::optional<double> level_1m_db;
    double latency_ms = 0.0;
    bool inverted = false;
    std::shared_ptr<const acoustics::Directivity> pattern_loss;  // never null after reading
};

struct Box {
    std::string id, model;
    Vec3 at;
    double pan_deg = 0.0, tilt_deg = 0.0;
    double gain_db = 0.0, delay_ms = 0.0;
    bool inverted = false;
    std::string circuit;  // own id when not given
    std::optional<int> output;
    std::string patch;

    [[nodiscard]] acoustics::Pose pose() const { return {at, pan_deg, tilt_deg}; }
};

enum class ArrayKind { coupled, uncoupled, point_destination, line, delay };

struct Array {
    std::string id;
    ArrayKind kind = ArrayKind::uncoupled;
    std::vector<std::string> boxes;
    std::optional<Band> band_hz;
};

enum class Role { on_axis, top_edge, bottom_edge, left_edge, right_edge, crossover };

struct Serve {
    Role role = Role::on_axis;
    std::vector<std::string> boxes;
};

struct Position {
    std::string id;
    Vec3 at;
    std::optional<double> place_u_m;
    std::vector<Serve> serves;
};

struct Plan {
    std::string name;
    acoustics::Air air;
    std::optional<double> drive_latency_ms;  // absent: one unknown common to all boxes
    Rules rules;
    std::vector<Area> areas;
    std::vector<Model> models;
    std::vector<Box> boxes;
    std::vector<Array> arrays;
    std::vector<Position> positions;

    // Null when there is none of that id.
    [[nodiscard]] const Model* model(std::string_view id) const;
    [[nodiscard]] const Box* box(std::string_view id) const;
    [[nodiscard]] const Position* position(std::string_view id) const;
    [[nodiscard]] const Model& model_of(const Box& box) const;  // a plan that was read has it
    [[nodiscard]] std::vector<std::string> circuits() const;    // in order of first box
    [[nodiscard]] std::vector<const Box*> boxes_of(std::string_view circuit) const;
    // The first position that serves a box in a role (for crossover: exactly this pair); null when there is none.
    [[nodiscard]] const Position* serving(Role role, std::string_view box) const;
    [[nodiscard]] const Position* crossover_of(std::string_view first, std::string_view second) const;
};

[[nodiscard]] std::string_view word(Role role);       // "on-axis", "top-edge", ...
[[nodiscard]] std::string_view word(ArrayKind kind);  // "coupled", "point-destination", ...
[[nodiscard]] std::optional<Role> role_from_word(std::string_view word);
[[nodiscard]] std::optional<ArrayKind> array_kind_from_word(std::string_view word);
[[nodiscard]] std::span<const std::string_view> role_names();  // every word, in the order of the enum
[[nodiscard]] std::span<const std::string_view> array_kind_names();

}  // namespace proofwalk::plan
