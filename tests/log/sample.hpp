// A folder of its own for a test, and small records to put into a log. The show is invented.
#pragma once

#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <random>
#include <string>
#include <vector>

#include "log/log.hpp"
#include "units/sha256.hpp"

namespace proofwalk::log::sample {

class Folder {
public:
    Folder() {
        static int count = 0;
        // In memory where there is such a place: nothing here pulls a plug, and each sync of a disk takes its time.
        const std::filesystem::path memory = "/dev/shm";
        path_ = (::access(memory.c_str(), W_OK) == 0 ? memory : std::filesystem::temp_directory_path()) /
                ("proofwalk_log_" + std::to_string(::getpid()) + "_" + std::to_string(++count));
        std::filesystem::remove_all(path_);
        std::filesystem::create_directories(path_);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    ~Folder() {
        std::error_code error;
        std::filesystem::permissions(path_, std::filesystem::perms::owner_all, error);
        std::filesystem::remove_all(path_, error);
    }
    [[nodiscard]] std::filesystem::path operator/(const std::string& name) const { return path_ / name; }
    [[nodiscard]] const std::filesystem::path& path() const { return path_; }

private:
    std::filesystem::path path_;
};

inline Log opened(const std::filesystem::path& file, Mode mode = Mode::write) {
    auto log = Log::open(file, mode, std::chrono::milliseconds{200});
    if (!log) throw std::runtime_error(sentence(log.error()));
    return std::move(*log);
}

inline Origin origin(const std::string& who = "Ada Example") {
    return {who, "laptop-1", "proofwalk 0.1.0", "recorded", {1'777'734'245, 120}};
}

inline PlanRevision plan(const std::string& bytes = "format = \"proofwalk.plan/1\"\nname = \"Invented Hall\"\n") {
    return {0, "Invented Hall", bytes, sha256(bytes), "/shows/invented", origin()};
}

inline BandLevels bands(std::mt19937& random, double from_db) {
    std::uniform_real_distribution<double> level(from_db - 20.0, from_db + 20.0);
    BandLevels levels;
    for (std::size_t band = 3; band < band_count; ++band)
        if (band % 7 != 0) levels[band] = level(random);
    return levels;
}

inline signal::Reading reading(std::mt19937& random) {
    std::uniform_real_distribution<double> figure(-1.0, 1.0);
    signal::Reading reading;
    reading.arrival_s = Measured{0.02 + figure(random) / 100.0, 1.0 / 3.0 * 1e-5};
    reading.absolute = figure(random) > 0.0;
    reading.polarity = figure(random) > 0.0 ? 1 : -1;
    reading.polarity_confidence = 0.1 + 0.2;
    reading.direct_db = bands(random, -40.0);
    reading.direct_u_db = bands(random, 30.0);
    reading.full_db = bands(random, -35.0);
    reading.full_u_db = bands(random, 30.0);
    reading.noise_db = bands(random, -90.0);
    reading.aim_band_db = Measured{-41.0 + figure(random), 0.3};
    reading.gate_s = 0.0123456789;
    reading.gate_resolves_from_hz = 245.1;
    reading.signal_to_noise_db = 48.7;
    reading.drift_ppm = figure(random);
    reading.distortion3_pct = 0.7;
    reading.reflections = {{0.004, -11.5}, {0.0091, -17.25}};
    reading.calibrated = true;
    reading.flags.raise(Flag::hum);
    reading.flags.raise(Flag::weak_arrival);
    return reading;
}

inline signal::Evidence evidence(std::mt19937& random, std::size_t samples = 200) {
    std::normal_distribution<float> noise(0.0F, 0.01F);
    signal::Evidence evidence;
    evidence.impulse.resize(samples);
    for (float& sample : evidence.impulse) sample = noise(random);
    evidence.impulse[samples / 3] = 0.5F;
    evidence.first_s = 0.0125;
    evidence.noise_db = bands(random, -80.0);
    return evidence;
}

inline TakeRecord take(const std::string& label, unsigned seed = 1, std::size_t mics = 2) {
    std::mt19937 random(seed);
    TakeRecord record;
    record.sha256 = sha256("recording of " + label);
    record.label = label;
    record.sounding = {"M1"};
    record.air = acoustics::Air{22.5, 48.0, 101.3};
    record.seconds = 8.0;
    record.plan_revision = 1;
    for (std::size_t mic = 0; mic < mics; ++mic)
        record.evidence.push_back({"M1", "m" + std::to_string(mic + 1), "p" + std::to_string(mic + 1), evidence(random),
                                   reading(random)});
    record.silence = {{"m1", "p1", bands(random, -70.0)}};
    record.calibrations = {{"m1", 6.32, 94.0}};
    record.origin = origin();
    return record;
}

// Samples that fit 24 bit, as a converter gives them.
inline std::vector<std::vector<float>> recording(std::size_t channels, std::size_t frames, unsigned seed = 1) {
    std::mt19937 random(seed);
    std::uniform_int_distribution<int> level(-8388608, 8388607);
    std::vector<std::vector<float>> samples(channels, std::vector<float>(frames));
    for (auto& channel : samples)
        for (float& sample : channel) sample = static_cast<float>(level(random)) / 8388608.0F;
    return samples;
}

// Checks of `boxes` boxes; the results of box `touched` depend on `step`.
inline verify::Judgement judgement(int boxes, int touched, int step) {
    verify::Judgement out;
    for (int box = 0; box < boxes; ++box)
        for (const auto kind : {plan::CheckKind::polarity, plan::CheckKind::level, plan::CheckKind::arrival, plan::CheckKind::aim_v}) {
            verify::CheckResult result;
            result.kind = kind;
            result.subject = "M" + std::to_string(box + 1);
            result.says = "nothing was measured yet";
            if (box <= touched) {
                result.verdict = (box + step) % 5 == 0 ? verify::Verdict::fail : verify::Verdict::pass;
                result.value = 0.1 * box + (box == touched ? 0.01 * step : 0.0);
                result.unit = "dB";
                result.uncertainty = 0.5;
                result.probability = 0.97;
                result.target = 0.0;
                result.tolerance = 1.5;
                result.takes = {"t" + std::to_string(box)};
                result.positions = {"p1", "p2"};
                result.says = "as planned";
                result.budget = {{"noise", 0.1}, {"mic place", 0.2}};
            }
            result.predicted_u = 0.4;
            out.checks.push_back(std::move(result));
        }
    for (int box = 0; box < boxes; ++box) {
        verify::Fit fit;
        fit.box = "M" + std::to_string(box + 1);
        if (box <= touched) {
            fit.tilt_deg = -12.0 + 0.1 * step;
            fit.tilt_u_deg = 0.5;
            fit.at[1] = 6.01;
            fit.outliers = {"p7"};
        }
        out.fits.push_back(fit);
    }
    out.drive_latency_ms = Measured{1.8, 0.05};
    return out;
}

inline void expect_same(const verify::Judgement& got, const verify::Judgement& wanted) {
    ASSERT_EQ(got.checks.size(), wanted.checks.size());
    for (std::size_t place = 0; place < got.checks.size(); ++place) {
        const auto& [kind, subject, verdict, value, unit, uncertainty, probability, target, tolerance, takes, positions, says,
                     advice, budget, predicted_u] = got.checks[place];
        const verify::CheckResult& other = wanted.checks[place];
        EXPECT_EQ(kind, other.kind);
        EXPECT_EQ(subject, other.subject);
        EXPECT_EQ(verdict, other.verdict);
        EXPECT_EQ(value, other.value);
        EXPECT_EQ(unit, other.unit);
        EXPECT_EQ(uncertainty, other.uncertainty);
        EXPECT_EQ(probability, other.probability);
        EXPECT_EQ(target, other.target);
        EXPECT_EQ(tolerance, other.tolerance);
        EXPECT_EQ(takes, other.takes);
        EXPECT_EQ(positions, other.positions);
        EXPECT_EQ(says, other.says);
        EXPECT_EQ(advice, other.advice);
        ASSERT_EQ(budget.size(), other.budget.size());
        for (std::size_t line = 0; line < budget.size(); ++line) {
            EXPECT_EQ(budget[line].source, other.budget[line].source);
            EXPECT_EQ(budget[line].u, other.budget[line].u);
        }
        EXPECT_EQ(predicted_u, other.predicted_u);
    }
    ASSERT_EQ(got.fits.size(), wanted.fits.size());
    for (std::size_t place = 0; place < got.fits.size(); ++place) {
        const auto& [box, pan_deg, pan_u_deg, tilt_deg, tilt_u_deg, gain_db, gain_u_db, at, at_u, outliers] = got.fits[place];
        const verify::Fit& other = wanted.fits[place];
        EXPECT_EQ(box, other.box);
        EXPECT_EQ(pan_deg, other.pan_deg);
        EXPECT_EQ(pan_u_deg, other.pan_u_deg);
        EXPECT_EQ(tilt_deg, other.tilt_deg);
        EXPECT_EQ(tilt_u_deg, other.tilt_u_deg);
        EXPECT_EQ(gain_db, other.gain_db);
        EXPECT_EQ(gain_u_db, other.gain_u_db);
        EXPECT_EQ(at, other.at);
        EXPECT_EQ(at_u, other.at_u);
        EXPECT_EQ(outliers, other.outliers);
    }
    EXPECT_EQ(got.drive_latency_ms, wanted.drive_latency_ms);
}

inline void expect_same(const BandLevels& got, const BandLevels& wanted) {
    for (std::size_t band = 0; band < band_count; ++band) {
        ASSERT_EQ(got.has(band), wanted.has(band));
        if (!wanted.has(band)) continue;
        EXPECT_EQ(got[band], wanted[band]);
    }
}

// Every field by name: a field that is added to a reading has to be packed, and named here.
inline void expect_same(const signal::Reading& got, const signal::Reading& wanted) {
    const auto& [arrival_s, absolute, polarity, polarity_confidence, direct_db, direct_u_db, full_db, full_u_db, noise_db,
                 coherence, aim_band_db, gate_s, gate_resolves_from_hz, signal_to_noise_db, drift_ppm, distortion2_pct,
                 distortion3_pct, reflections, calibrated, flags] = got;
    EXPECT_EQ(arrival_s, wanted.arrival_s);
    EXPECT_EQ(absolute, wanted.absolute);
    EXPECT_EQ(polarity, wanted.polarity);
    EXPECT_EQ(polarity_confidence, wanted.polarity_confidence);
    expect_same(direct_db, wanted.direct_db);
    expect_same(direct_u_db, wanted.direct_u_db);
    expect_same(full_db, wanted.full_db);
    expect_same(full_u_db, wanted.full_u_db);
    expect_same(noise_db, wanted.noise_db);
    expect_same(coherence, wanted.coherence);
    EXPECT_EQ(aim_band_db, wanted.aim_band_db);
    EXPECT_EQ(gate_s, wanted.gate_s);
    EXPECT_EQ(gate_resolves_from_hz, wanted.gate_resolves_from_hz);
    EXPECT_EQ(signal_to_noise_db, wanted.signal_to_noise_db);
    EXPECT_EQ(drift_ppm, wanted.drift_ppm);
    EXPECT_EQ(distortion2_pct, wanted.distortion2_pct);
    EXPECT_EQ(distortion3_pct, wanted.distortion3_pct);
    ASSERT_EQ(reflections.size(), wanted.reflections.size());
    for (std::size_t place = 0; place < reflections.size(); ++place) {
        EXPECT_EQ(reflections[place].after_s, wanted.reflections[place].after_s);
        EXPECT_EQ(reflections[place].level_db, wanted.reflections[place].level_db);
    }
    EXPECT_EQ(calibrated, wanted.calibrated);
    EXPECT_EQ(flags, wanted.flags);
}

}  // namespace proofwalk::log::sample
