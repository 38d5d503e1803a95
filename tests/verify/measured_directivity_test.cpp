// With a measured pattern (AES69 file) the third octaves tell where a box points far better than the beam model's one level.
// The box is the measured one of ../shared/data where it is there, else an invented one with a crossover lobe.
#include <algorithm>
#include <array>
#include <cmath>
#include <random>

#include <unistd.h>

#include <fmt/format.h>
#include <gtest/gtest.h>

#include "acoustics/measured_box.hpp"
#include "plan/targets.hpp"
#include "units/convert.hpp"
#include "verify/judge.hpp"

namespace proofwalk::verify {
namespace {

using plan::Role;

constexpr int hangs = 40;
constexpr double reading_u_db = 0.25, unit_u_db = 0.3;

// Falls to -6 dB at 50 degrees across; up and down the two drivers of a two-way box part and meet again below its axis.
void write_invented_box(const std::filesystem::path& path) {
    std::vector<double> frequency_hz;
    for (std::size_t band = 0; band < band_count; ++band) frequency_hz.push_back(midband_hz(band));
    std::vector<acoustics::MeasuredDirection> directions;
    for (int v = -90; v <= 90; v += 10)
        for (int h = -180; h < 180; h += 10) {
            acoustics::MeasuredDirection one{static_cast<double>(h), static_cast<double>(v), {}};
            for (const double hz : frequency_hz) {
                const double narrow = std::clamp(std::log2(hz / 1000.0), 0.0, 3.0) / 3.0;
                const double lobe = 4.0 * std::exp(-std::pow(std::log2(hz / 2000.0) / 0.5, 2)) * (1.0 - std::cos(radians(6.0 * (v + 5.0))));
                const double fall = 6.0 * (std::pow(h / (60.0 - 15.0 * narrow), 2) + std::pow(v / (70.0 - 25.0 * narrow), 2));
                one.magnitude.push_back(amplitude_of_db(-std::min(30.0, fall + lobe)));
            }
            directions.push_back(one);
        }
    acoustics::write_directivity_tf(path, frequency_hz, directions);
}

plan::Plan one_box(bool measured, const std::shared_ptr<const acoustics::Directivity>& pattern) {
    plan::Plan plan;
    plan.name = "One box (invented)";
    plan.drive_latency_ms = 2.0;
    plan::Model model;
    model.id = "two-way";
    model.coverage_h_deg = 108.0;
    model.coverage_v_deg = 100.0;
    model.aim_band_hz = {2000.0, 8000.0};
    model.range_hz = {70.0, 18000.0};
    model.directivity = measured ? "box.sofa" : "";
    model.coverage_u_pct = measured ? 2.0 : 5.0;
    model.pattern_loss = measured ? pattern : acoustics::beam_directivity({108.0, 100.0, 2000.0, 0.0, 0.0});
    plan.models = {model};
    plan::Box box;
    box.id = box.circuit = "A";
    box.model = model.id;
    box.at = {0.0, 0.0, 5.0};
    box.tilt_deg = -20.0;
    plan.boxes = {box};
    const auto at = [&](const char* id, double x, double y, Role role) { plan.positions.push_back({id, {x, y, 1.2}, std::nullopt, {{role, {"A"}}}}); };
    at("A0", 10.4, 0.0, Role::on_axis);
    at("Al", 7.0, 7.4, Role::left_edge);
    at("Ar", 7.0, -7.4, Role::right_edge);
    at("At", 30.0, 0.0, Role::top_edge);
    at("Ab", 2.7, 0.0, Role::bottom_edge);
    return plan;
}

using Dice = std::mt19937;
double normal(Dice& dice) { return std::normal_distribution<double>(0.0, 1.0)(dice); }

// What five mics hear of a box that hangs as `hung`, 3 cm off their places, each third octave as uneven as units are.
Input heard_of(const plan::Plan& plan, const plan::Box& hung, const acoustics::Directivity& pattern, Dice dice) {
    Input input;
    input.plan = plan;
    const plan::Model& model = plan.models.front();
    std::array<double, band_count> voice{};
    for (double& band : voice) band = 0.8 * normal(dice);
    for (const plan::Position& position : plan.positions) {
        const Vec3 mic = position.at + Vec3{0.03 * normal(dice), 0.03 * normal(dice), 0.03 * normal(dice)};
        const auto seen = acoustics::bearing(hung.pose(), mic);
        const double mic_db = plan.rules.mic_match_db * normal(dice);
        signal::Reading reading;
        reading.arrival_s = Measured{(seen.distance_m / acoustics::speed_of_sound(plan.air).value) + 0.002 + 2e-5 * normal(dice), 2e-5};
        reading.polarity = 1;
        reading.polarity_confidence = 0.999;
        for (std::size_t band = 0; band < band_count; ++band) {
            const double hz = midband_hz(band);
            if (hz < model.range_hz.low_hz || hz > model.range_hz.high_hz) continue;
            reading.direct_db[band] = reading.full_db[band] = voice[band] + pattern.loss_db(seen.h_deg, seen.v_deg, hz) - amplitude_db(seen.distance_m) -
                                                              acoustics::absorption_db_per_m(plan.air, hz) * seen.distance_m + mic_db +
                                                              std::hypot(unit_u_db, reading_u_db) * normal(dice);
            reading.direct_u_db[band] = reading.full_u_db[band] = reading_u_db;
            reading.noise_db[band] = reading.direct_db[band] - 40.0;
        }
        reading.aim_band_db = Measured{power_mean_db(reading.direct_db, model.aim_band_hz.low_hz, model.aim_band_hz.high_hz), 0.15};
        reading.gate_resolves_from_hz = 700.0;
        input.readings.push_back({"t1", "A", "m-" + position.id, position.id, reading});
    }
    return input;
}

struct Errors {
    std::vector<double> pan, tilt;
    int figures = 0, inside = 0;

    void add(double error, double u, std::vector<double>& to) {
        to.push_back(std::abs(error));
        ++figures;
        inside += std::abs(error) < 1.96 * u ? 1 : 0;
    }
};

double percentile95(std::vector<double> values) {
    std::ranges::sort(values);
    return values.empty() ? 1e9 : values[static_cast<std::size_t>(0.95 * static_cast<double>(values.size() - 1) + 0.5)];
}

Errors errors_of(const plan::Plan& plan, const acoustics::Directivity& pattern) {
    Errors errors;
    for (int n = 0; n < hangs; ++n) {
        Dice dice(static_cast<unsigned>(n) + 1);
        std::uniform_real_distribution<double> turn(-3.0, 3.0), place(-0.05, 0.05);
        plan::Box hung = plan.boxes.front();
        hung.pan_deg += turn(dice);
        hung.tilt_deg += turn(dice);
        hung.at = hung.at + Vec3{place(dice), place(dice), place(dice)};
        const Judgement judgement = judge(heard_of(plan, hung, pattern, dice));
        if (judgement.fits.empty()) continue;
        const Fit& fit = judgement.fits.front();
        if (fit.pan_deg) errors.add(*fit.pan_deg - hung.pan_deg, *fit.pan_u_deg, errors.pan);
        if (fit.tilt_deg) errors.add(*fit.tilt_deg - hung.tilt_deg, *fit.tilt_u_deg, errors.tilt);
    }
    return errors;
}

TEST(MeasuredDirectivity, ItsThirdOctavesTellTheTiltTwiceAsWellAsTheBeamModelDoes) {
    const std::filesystem::path file = std::filesystem::path(testing::TempDir()) / fmt::format("measured-box-{}.sofa", getpid());
    if (acoustics::measured_box_present()) acoustics::write_measured_box(file);
    else write_invented_box(file);
    const auto pattern = acoustics::directivity_from_sofa(file);
    std::filesystem::remove(file);
    ASSERT_TRUE(pattern.has_value());
    const Errors beam = errors_of(one_box(false, *pattern), **pattern), measured = errors_of(one_box(true, *pattern), **pattern);
    const std::string told = fmt::format("95 % of errors, deg: beam model pan {:.2f} tilt {:.2f} ({} of {} told), file pan {:.2f} tilt {:.2f}; inside {} of {} and {} of {}",
                                         percentile95(beam.pan), percentile95(beam.tilt), beam.tilt.size(), hangs, percentile95(measured.pan),
                                         percentile95(measured.tilt), beam.inside, beam.figures, measured.inside, measured.figures);
    RecordProperty("errors", told);
    ASSERT_EQ(measured.tilt.size(), static_cast<std::size_t>(hangs)) << told;
    EXPECT_LT(percentile95(measured.tilt), acoustics::measured_box_present() ? 1.0 : 1.6) << told;
    // To the sides it is its own mirror image, and as wide as the beam model says: the mics' match limits both.
    EXPECT_LT(percentile95(measured.pan), 1.1 * percentile95(beam.pan)) << told;
    EXPECT_LT(2.0 * percentile95(measured.tilt), percentile95(beam.tilt)) << told;
    EXPECT_GE(100 * measured.inside, 90 * measured.figures) << told;
    fmt::print("{}\n", told);
}

}  // namespace
}  // namespace proofwalk::verify
