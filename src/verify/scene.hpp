// What was heard of what: the newest usable readings, indexed for the joint fit. Points into the plan and readings that
// it was made from; both outlive it.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "acoustics/air.hpp"
#include "plan/plan.hpp"
#include "units/measured.hpp"
#include "verify/judge.hpp"

namespace proofwalk::verify {

// What one circuit drives. Boxes of one circuit sound together and are moved as one.
struct Source {
    std::string circuit;  // whose signal it gets: gain and delay are this circuit's
    std::vector<const plan::Box*> boxes;
    const plan::Model* model = nullptr;  // of the first box
    double signal_delay_ms = 0.0;        // planned, of the first box of `circuit`
    double signal_gain_db = 0.0;
};

// One circuit heard by one mic at one position.
struct Sound {
    std::size_t source = 0, position = 0, mic = 0;
    std::optional<Measured> level_db;    // aim band: direct, or full where measured_by_full_sound
    std::optional<Measured> arrival_ms;  // after the signal left the tool, or after an unknown moment of the take
    std::optional<std::size_t> untimed_take;
    std::string take;
    const signal::Reading* reading = nullptr;  // null for a sound that is only planned
};

struct Scene {
    const plan::Plan* plan = nullptr;
    acoustics::Air air;
    std::vector<Source> sources;
    std::vector<const plan::Position*> positions;
    std::vector<std::string> mics;
    std::vector<bool> mic_matched;
    std::vector<std::string> untimed_takes;
    std::vector<Sound> sounds;

    [[nodiscard]] std::optional<std::size_t> source_of_circuit(std::string_view circuit) const;
    [[nodiscard]] std::optional<std::size_t> source_of_box(std::string_view box) const;
    [[nodiscard]] std::optional<std::size_t> position(std::string_view id) const;
    [[nodiscard]] const Sound* heard(std::size_t source, std::string_view position) const;
};

// A sub: no gate resolves its band, so its full sound counts and the room's part is solved for.
[[nodiscard]] bool measured_by_full_sound(const plan::Model& model);

// Why a reading is not evidence; empty when it is.
[[nodiscard]] std::string unusable(const signal::Reading& reading);

// The newest usable reading of each circuit at each position ("A+B" takes left out).
[[nodiscard]] std::vector<const TakenReading*> newest_usable(const Input& input);

// Those of them that carry the direct sound of the circuit, by the plan's own geometry.
[[nodiscard]] std::vector<const TakenReading*> heard_directly(const Input& input, const std::vector<const TakenReading*>& readings);

// `readings` as from heard_directly. `drives[circuit]` names the circuit whose boxes really sound when it is unmuted (found by the patch check); a circuit
// that is not in it drives its own, an empty name leaves it out.
struct Drive {
    std::string circuit, sounds;
};
[[nodiscard]] Scene scene_of(const Input& input, const std::vector<const TakenReading*>& readings,
                             const std::vector<Drive>& drives);

[[nodiscard]] Source source_driven(const plan::Plan& plan, const std::string& circuit, const std::string& sounds);

}  // namespace proofwalk::verify
