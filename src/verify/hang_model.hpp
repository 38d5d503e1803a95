// The forward model of the joint fit: where each unknown stands in the vector, what is known of it beforehand, and the
// level and arrival that a state of the unknowns gives. See hang_fit.hpp for the meaning.
#pragma once

#include <array>
#include <cstddef>
#include <string_view>
#include <vector>

#include "units/bands.hpp"
#include "verify/hang_fit.hpp"
#include "verify/normal_equations.hpp"

namespace proofwalk::verify {

inline constexpr std::size_t figures_per_source = 7;
inline constexpr std::size_t figures_per_model = 6;
// room_db: reverberant part of full sound beside the usual one, for models that are measured by full sound.
enum class Shape { coverage_h, coverage_v, steepness_h, steepness_v, latency_ms, room_db };

// Where unknowns stand in the vector.
class Layout {
public:
    Layout() = default;
    explicit Layout(const Scene& scene, std::size_t models, std::size_t directions, std::size_t tones);
    [[nodiscard]] std::size_t figure(std::size_t source, Figure figure) const {
        return source * figures_per_source + static_cast<std::size_t>(figure);
    }
    [[nodiscard]] std::size_t place(std::size_t position, std::size_t axis) const { return places_ + position * 3 + axis; }
    [[nodiscard]] std::size_t positions() const { return (mics_ - places_) / 3; }
    [[nodiscard]] std::size_t mic(std::size_t mic) const { return mics_ + mic; }
    [[nodiscard]] std::size_t shape(std::size_t model, Shape shape) const {
        return models_ + model * figures_per_model + static_cast<std::size_t>(shape);
    }
    // What the pattern of a model deviates by in one direction, in units of its standard uncertainty there.
    [[nodiscard]] std::size_t direction(std::size_t direction) const { return directions_ + direction; }
    [[nodiscard]] std::size_t speed() const { return speed_; }
    [[nodiscard]] std::size_t latency() const { return speed_ + 1; }
    // What bounces add to the levels of places where no gate parts them from the direct sound, in standard uncertainties.
    [[nodiscard]] std::size_t bounce() const { return speed_ + 2; }
    [[nodiscard]] std::size_t take(std::size_t untimed_take) const { return speed_ + 3 + untimed_take; }
    // What a source gives on its axis in a third octave beside its aim band.
    [[nodiscard]] std::size_t tone(std::size_t tone) const { return tones_ + tone; }
    [[nodiscard]] std::size_t size() const { return size_; }

private:
    std::size_t places_ = 0, mics_ = 0, models_ = 0, directions_ = 0, speed_ = 0, tones_ = 0, size_ = 0;
};

// What is known of an unknown before any take: zero with this standard uncertainty; `freedom` > 0 makes it Student's t
// of that many degrees of freedom (as planned, unless the sound says otherwise), 0 normal.
struct Prior {
    double u = 1.0;
    double freedom = 0.0;
    std::string_view source;  // its line in an uncertainty budget
};

class HangModel {
public:
    explicit HangModel(Scene scene);

    [[nodiscard]] const Scene& scene() const { return scene_; }
    [[nodiscard]] const Layout& layout() const { return layout_; }
    [[nodiscard]] const std::vector<Prior>& priors() const { return priors_; }
    [[nodiscard]] std::size_t model_of(std::size_t source) const { return model_of_source_[source]; }
    // Sounds of one model that leave it in one direction, as planned, left and right taken together: horns are built to be
    // their own mirror image, so what a pattern deviates by is the same to both sides, and in all boxes of the model.
    [[nodiscard]] std::size_t direction_of(std::size_t sound) const { return direction_of_sound_[sound]; }
    [[nodiscard]] std::size_t directions() const { return directions_; }

    // Third octaves of a sound that tell its direction: of a box whose pattern was measured, where the gate resolves them and
    // they stand clear of the noise.
    struct Band {
        std::size_t sound = 0, tone = 0;
        double middle_hz = 0.0, air_db_per_m = 0.0;
        Measured beside_aim_band_db;
    };
    [[nodiscard]] const std::vector<Band>& bands() const { return bands_; }

    using Unknowns = std::vector<double>;
    // The rig at one state of the unknowns: where every box stands and points, worked out once. Outlived by the unknowns.
    struct Hung {
        struct Box {
            Vec3 at;
            acoustics::Axes axes;
        };
        const Unknowns* x = nullptr;
        std::vector<Box> boxes;  // of the first source, then of the next
    };
    [[nodiscard]] Hung hung(const Unknowns& x) const;

    [[nodiscard]] acoustics::Pose pose(const Unknowns& x, std::size_t source, std::size_t box) const;
    // With a row: what each unknown that counts changes the figure by is added to it.
    [[nodiscard]] double level_db(const Hung& hung, std::size_t source, Vec3 at, Row* slopes = nullptr) const;
    [[nodiscard]] double arrival_ms(const Hung& hung, std::size_t source, Vec3 at, Row* slopes = nullptr) const;
    [[nodiscard]] double loss_db(const Hung& hung, std::size_t source, Vec3 at) const;  // off-axis, of the loudest box
    [[nodiscard]] double drive_latency_ms(const Unknowns& x) const;

    [[nodiscard]] double level_at_mic_db(const Hung& hung, const Sound& sound, Row* slopes = nullptr) const;
    [[nodiscard]] double arrival_at_mic_ms(const Hung& hung, const Sound& sound, Row* slopes = nullptr) const;
    [[nodiscard]] double band_at_mic_db(const Hung& hung, const Band& band, Row* slopes = nullptr) const;
    [[nodiscard]] double band_loss_db(const Hung& hung, const Band& band) const;
    // Where a sound leaves its box, in half coverage angles: |h| and v; and whether that is the front of the box.
    struct Leaving {
        double h = 0.0, v = 0.0;
        bool in_front = true;
    };
    [[nodiscard]] Leaving leaves(const Hung& hung, const Sound& sound) const;

private:
    struct PatternSlopes {
        double h = 0.0, v = 0.0;         // dB per degree
        std::array<double, 4> shape{};   // of the first four of Shape
    };

    void set_priors();
    void group_directions();
    void list_bands();
    [[nodiscard]] const Hung::Box* boxes(const Hung& hung, std::size_t source) const { return &hung.boxes[first_box_[source]]; }
    [[nodiscard]] double pattern_db(const Unknowns& x, std::size_t source, double h_deg, double v_deg, PatternSlopes* slopes = nullptr) const;
    // Level that air takes away, dB (negative), and how fast with distance.
    struct AirLoss {
        double db = 0.0, db_per_m = 0.0;
    };
    [[nodiscard]] AirLoss air_loss(std::size_t source, double distance_m) const;
    [[nodiscard]] Vec3 mic_place(const Unknowns& x, std::size_t position) const;
    // A mic that moves is a box that moves the other way.
    void add_mic_place(Row& slopes, const Sound& sound) const;

    Scene scene_;
    std::vector<const plan::Model*> models_;
    std::vector<std::size_t> model_of_source_, first_box_, direction_of_sound_;
    std::size_t directions_ = 0;
    std::vector<std::vector<double>> absorption_;  // per model: nepers of power a metre of each band in its aim band
    double speed_m_s_ = 343.0, speed_u_m_s_ = 0.0;
    std::vector<Band> bands_;
    std::size_t tones_ = 0;
    Layout layout_;
    std::vector<Prior> priors_;
};

}  // namespace proofwalk::verify
