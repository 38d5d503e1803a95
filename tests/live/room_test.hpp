// Shared by the live tests: a room with planted figures, a sweep played into it, and what was heard.
#pragma once

#include <gtest/gtest.h>

#include <atomic>
#include <cmath>
#include <memory>
#include <string>
#include <vector>

#include "capture/device.hpp"
#include "live/jack_room.hpp"
#include "signal/excitation.hpp"
#include "signal/measure.hpp"

namespace proofwalk::live {

class RoomTest : public testing::Test {
protected:
    void SetUp() override {
        if (const auto missing = missing_programs(); !missing.empty())
            GTEST_SKIP() << missing << ": the live path is not tested here";
    }

    // Input 1 is the loopback of both outputs.
    static std::vector<Path> loopback() { return {{1, 1, {}}, {2, 1, {}}}; }

    static std::vector<float> impulse(std::size_t delay, float gain, std::size_t later = 0, float later_gain = 0.0f) {
        std::vector<float> samples(std::max(delay, delay + later) + 1024, 0.0f);
        samples[delay] = gain;
        if (later > 0) samples[delay + later] = later_gain;
        return samples;
    }

    // A sweep of `length_s` on one output, silence before and after it, a mic on every input but the first.
    static capture::PlayRequest sweep_request(double rate_hz, int output, int inputs, double length_s = 1.0) {
        signal::SweepSettings settings;
        settings.rate_hz = rate_hz;
        settings.length_s = length_s;
        settings.level_dbfs = -12.0;
        auto sweep = signal::exponential_sweep(settings);
        EXPECT_TRUE(sweep.has_value());
        std::vector<float> samples(static_cast<std::size_t>(0.2 * rate_hz), 0.0f);
        samples.insert(samples.end(), sweep->begin(), sweep->end());
        capture::PlayRequest request;
        request.rate_hz = rate_hz;
        request.inputs = inputs;
        request.seconds = length_s + 0.8;
        request.played = samples;
        request.outputs.push_back({output, samples});
        request.sheet.label = "live";
        request.sheet.sounding = {"A"};
        request.sheet.reference = 1;
        for (int c = 2; c <= inputs; ++c) request.sheet.mics.push_back({c, "m" + std::to_string(c), "p" + std::to_string(c)});
        return request;
    }

    static std::vector<signal::Reading> readings(const capture::Recording& take) {
        signal::Samples samples;
        samples.rate_hz = take.rate_hz;
        samples.kind = take.sheet.kind;
        samples.reference = take.channels[0];
        samples.played = take.played;
        samples.device_lost_samples = take.lost_samples;
        for (const auto& mic : take.sheet.mics)
            samples.mics.push_back({take.channels[static_cast<std::size_t>(mic.channel - 1)], {}, {}, 0.0});
        const auto evidence = signal::measure(samples, signal::Bands{});
        std::vector<signal::Reading> list;
        EXPECT_TRUE(evidence.has_value()) << (evidence ? "" : sentence(evidence.error()));
        if (evidence)
            for (const auto& mic : evidence->front()) list.push_back(signal::read(mic, signal::Bands{}));
        return list;
    }

    static std::string all_sentences(const Faults& faults) {
        std::string text;
        for (const auto& fault : faults) text += sentence(fault) + "\n";
        return text;
    }

    std::atomic<bool> stop{false};
};

}  // namespace proofwalk::live
