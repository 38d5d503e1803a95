#include "verify/scene.hpp"

#include <algorithm>
#include <cmath>

#include "plan/targets.hpp"

namespace proofwalk::verify {
namespace {

template <class Range, class Key>
std::optional<std::size_t> index_of(const Range& range, const Key& matches) {
    const auto found = std::ranges::find_if(range, matches);
    if (found == range.end()) return std::nullopt;
    return static_cast<std::size_t>(found - range.begin());
}

std::size_t known_or_added(std::vector<std::string>& names, const std::string& name) {
    if (const auto known = index_of(names, [&](const std::string& other) { return other == name; })) return *known;
    names.push_back(name);
    return names.size() - 1;
}

// Full sound of a low band at one place strays about the mean of the room (modes, boundaries) by about this.
constexpr double full_level_u_db = 1.6;
constexpr double highest_low_band_hz = 500.0;

// Far off its axis a box may be heard from a wall before, and louder than, directly: an arrival so late beside those that
// the box's own axis and edges give is not the direct sound, nor is its level.
constexpr double certain_loss_db = -8.0, too_late_ms = 2.5;
constexpr std::size_t least_certain = 3;

bool finite(const Measured& figure) { return std::isfinite(figure.value) && std::isfinite(figure.u); }

}  // namespace

std::optional<std::size_t> Scene::source_of_circuit(std::string_view circuit) const {
    return index_of(sources, [&](const Source& source) { return source.circuit == circuit; });
}

std::optional<std::size_t> Scene::source_of_box(std::string_view box) const {
    return index_of(sources, [&](const Source& source) {
        return std::ranges::any_of(source.boxes, [&](const plan::Box* one) { return one->id == box; });
    });
}

std::optional<std::size_t> Scene::position(std::string_view id) const {
    return index_of(positions, [&](const plan::Position* place) { return place->id == id; });
}

const Sound* Scene::heard(std::size_t source, std::string_view at) const {
    const auto found = std::ranges::find_if(sounds, [&](const Sound& sound) {
        return sound.source == source && positions[sound.position]->id == at;
    });
    return found == sounds.end() ? nullptr : &*found;
}

bool measured_by_full_sound(const plan::Model& model) { return model.aim_band_hz.high_hz <= highest_low_band_hz; }

std::string unusable(const signal::Reading& reading) {
    if (reading.flags.has(Flag::dead_channel)) return "the mic channel carries nothing at all";
    if (reading.flags.has(Flag::clipped) || reading.flags.has(Flag::clipped_before)) return "the recording is clipped";
    if (reading.flags.has(Flag::dropped)) return "the recording has lost or repeated samples";
    if (reading.flags.has(Flag::swapped_reference)) return "reference and mic channels look swapped";
    return {};
}

std::vector<const TakenReading*> newest_usable(const Input& input) {
    std::vector<const TakenReading*> chosen;
    for (const TakenReading& taken : input.readings) {
        if (input.plan.position(taken.position) == nullptr || input.plan.boxes_of(taken.circuit).empty()) continue;
        if (!unusable(taken.reading).empty()) continue;
        const auto older = std::ranges::find_if(chosen, [&](const TakenReading* other) {
            return other->circuit == taken.circuit && other->position == taken.position;
        });
        if (older == chosen.end())
            chosen.push_back(&taken);
        else
            *older = &taken;
    }
    return chosen;
}

Source source_driven(const plan::Plan& plan, const std::string& circuit, const std::string& sounds) {
    Source source;
    source.circuit = circuit;
    source.boxes = plan.boxes_of(sounds);
    source.model = &plan.model_of(*source.boxes.front());
    const plan::Box& driven_by = *plan.boxes_of(circuit).front();
    source.signal_delay_ms = driven_by.delay_ms;
    source.signal_gain_db = driven_by.gain_db;
    return source;
}

std::vector<const TakenReading*> heard_directly(const Input& input, const std::vector<const TakenReading*>& readings) {
    struct Late {
        std::size_t reading = 0;
        double ms = 0.0;
    };
    std::vector<bool> directly(readings.size(), true);
    const acoustics::Air air = input.air.value_or(input.plan.air);
    for (const std::string& circuit : input.plan.circuits()) {
        const plan::Box& box = *input.plan.boxes_of(circuit).front();
        if (measured_by_full_sound(input.plan.model_of(box))) continue;
        std::vector<double> certain;
        std::vector<Late> far_off_axis;
        for (std::size_t i = 0; i < readings.size(); ++i) {
            const auto& arrival = readings[i]->reading.arrival_s;
            if (readings[i]->circuit != circuit || !arrival || !readings[i]->reading.absolute) continue;
            const plan::Target target = plan::target(input.plan, box, *input.plan.position(readings[i]->position), air);
            const double late_ms = 1e3 * (arrival->value - target.arrival_s);
            if (target.loss_db > certain_loss_db) certain.push_back(late_ms);
            else far_off_axis.push_back({i, late_ms});
        }
        if (certain.size() < least_certain) continue;
        std::ranges::nth_element(certain, certain.begin() + static_cast<std::ptrdiff_t>(certain.size() / 2));
        for (const Late& late : far_off_axis) directly[late.reading] = late.ms < certain[certain.size() / 2] + too_late_ms;
    }
    std::vector<const TakenReading*> kept;
    for (std::size_t i = 0; i < readings.size(); ++i)
        if (directly[i] && !readings[i]->reading.flags.has(Flag::no_signal)) kept.push_back(readings[i]);
    return kept;
}

Scene scene_of(const Input& input, const std::vector<const TakenReading*>& readings, const std::vector<Drive>& drives) {
    Scene scene;
    scene.plan = &input.plan;
    scene.air = input.air.value_or(input.plan.air);
    for (const TakenReading* taken : readings) {
        const auto drive = std::ranges::find(drives, taken->circuit, &Drive::circuit);
        const std::string sounds = drive == drives.end() ? taken->circuit : drive->sounds;
        if (sounds.empty()) continue;
        Sound sound;
        if (const auto known = scene.source_of_circuit(taken->circuit)) {
            sound.source = *known;
        } else {
            scene.sources.push_back(source_driven(input.plan, taken->circuit, sounds));
            sound.source = scene.sources.size() - 1;
        }
        if (const auto known = scene.position(taken->position)) {
            sound.position = *known;
        } else {
            scene.positions.push_back(input.plan.position(taken->position));
            sound.position = scene.positions.size() - 1;
        }
        sound.mic = known_or_added(scene.mics, taken->mic);
        sound.take = taken->take;
        sound.reading = &taken->reading;
        const plan::Model& model = *scene.sources[sound.source].model;
        if (measured_by_full_sound(model)) {
            const double full = power_mean_db(taken->reading.full_db, model.aim_band_hz.low_hz, model.aim_band_hz.high_hz);
            if (std::isfinite(full)) sound.level_db = Measured{full, full_level_u_db};
        } else if (taken->reading.aim_band_db && finite(*taken->reading.aim_band_db)) sound.level_db = taken->reading.aim_band_db;
        if (taken->reading.arrival_s && finite(*taken->reading.arrival_s)) {
            sound.arrival_ms = Measured{taken->reading.arrival_s->value * 1e3, taken->reading.arrival_s->u * 1e3};
            if (!taken->reading.absolute) sound.untimed_take = known_or_added(scene.untimed_takes, taken->take);
        }
        scene.sounds.push_back(sound);
    }
    for (const std::string& mic : scene.mics)
        scene.mic_matched.push_back(std::ranges::find(input.mics_matched, mic) != input.mics_matched.end());
    return scene;
}

}  // namespace proofwalk::verify
