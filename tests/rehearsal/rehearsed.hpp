// Help for the room's tests: a plan of one box in front of a mic, takes of it, and figures read straight from the samples
// (no help from the measuring side: these tests are there to judge it).
#pragma once

#include <algorithm>
#include <cmath>
#include <complex>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "acoustics/directivity.hpp"
#include "rehearsal/rehearsal.hpp"
#include "signal/fft.hpp"
#include "units/convert.hpp"

namespace proofwalk::rehearsal {

inline plan::Model wide_model() {
    plan::Model model;
    model.id = "wide";
    model.coverage_h_deg = 90.0;
    model.coverage_v_deg = 60.0;
    model.aim_band_hz = {2000.0, 8000.0};
    model.range_hz = {60.0, 18000.0};
    model.size_m = {0.4, 0.7, 0.42};
    model.level_1m_db = -20.0;
    model.pattern_loss = acoustics::beam_directivity({90.0, 60.0, 2000.0, 0.4, 0.7});
    return model;
}

inline plan::Box box_at(std::string id, Vec3 at, int output) {
    plan::Box box;
    box.id = box.circuit = std::move(id);
    box.model = "wide";
    box.at = at;
    box.output = output;
    return box;
}

inline plan::Position position_at(std::string id, Vec3 at, plan::Role role, std::vector<std::string> boxes) {
    return {std::move(id), at, std::nullopt, {{role, std::move(boxes)}}};
}

// Two boxes 6 m apart at ear height, level and parallel; a mic 10 m in front of each and one between.
inline plan::Plan two_boxes() {
    plan::Plan plan;
    plan.name = "Two boxes (invented)";
    plan.drive_latency_ms = 2.0;
    plan.models = {wide_model()};
    plan.boxes = {box_at("A", {0.0, 3.0, 1.2}, 1), box_at("B", {0.0, -3.0, 1.2}, 2)};
    plan.arrays = {{"pair", plan::ArrayKind::uncoupled, {"A", "B"}, std::nullopt}};
    plan.positions = {position_at("pa", {10.0, 3.0, 1.2}, plan::Role::on_axis, {"A"}),
                      position_at("pb", {10.0, -3.0, 1.2}, plan::Role::on_axis, {"B"}),
                      position_at("px", {10.0, 0.0, 1.2}, plan::Role::crossover, {"A", "B"}),
                      position_at("p20", {20.0, 3.0, 1.2}, plan::Role::on_axis, {"A"})};
    return plan;
}

inline Settings exact() {
    Settings settings;
    settings.exact = true;
    return settings;
}

// A click of one sample in a second of silence: what comes back is the impulse response itself.
inline capture::PlayRequest click(std::vector<std::string> sounding, const std::vector<std::string>& positions) {
    capture::PlayRequest request;
    request.sheet.label = "t1";
    request.sheet.sounding = std::move(sounding);
    request.sheet.reference = 1;
    int channel = 1;
    for (const auto& position : positions) {
        ++channel;
        request.sheet.mics.push_back({channel, "m" + std::to_string(channel - 1), position});
    }
    request.inputs = channel;
    request.seconds = 1.0;
    request.played.assign(48000, 0.0F);
    request.played[1000] = 0.5F;
    return request;
}

inline capture::Recording taken(const plan::Plan& plan, const Settings& settings, const capture::PlayRequest& request) {
    auto room = make_room(plan, settings);
    if (!room) throw std::runtime_error(sentence(room.error()));
    auto recording = (*room)->render(request);
    if (!recording) throw std::runtime_error(sentence(recording.error()));
    return *recording;
}

inline std::size_t peak_of(const std::vector<float>& channel) {
    return static_cast<std::size_t>(std::ranges::max_element(channel, {}, [](float x) { return std::abs(x); }) - channel.begin());
}

// Delay of a channel against another in seconds, from the phase slope over 3 to 12 kHz: finer than a sample, and blind
// to the box's crossover, whose phase has settled there.
inline double delay_s(const std::vector<float>& later, const std::vector<float>& earlier, double rate_hz) {
    const signal::RealFft fft(signal::fast_size(later.size()));
    const auto a = fft.forward(later), b = fft.forward(earlier);
    const double bin_hz = rate_hz / static_cast<double>(fft.size());
    const double whole = (static_cast<double>(peak_of(later)) - static_cast<double>(peak_of(earlier))) / rate_hz;
    double weighted = 0.0, weight = 0.0;
    for (auto bin = static_cast<std::size_t>(3000.0 / bin_hz); bin < static_cast<std::size_t>(12000.0 / bin_hz); ++bin) {
        const double frequency = static_cast<double>(bin) * bin_hz;
        const std::complex<double> ratio = std::complex<double>(a[bin]) * std::conj(std::complex<double>(b[bin]));
        const double rest = std::arg(ratio * std::polar(1.0, 2.0 * std::numbers::pi * frequency * whole));
        const double power = std::norm(std::complex<double>(b[bin])) * frequency * frequency;
        weighted -= rest / (2.0 * std::numbers::pi * frequency) * power;
        weight += power;
    }
    return whole + weighted / weight;
}

// Level of one channel against another over a band, dB: ratio of energies.
inline double level_db(const std::vector<float>& channel, const std::vector<float>& against, double low_hz, double high_hz,
                       double rate_hz = 48000.0) {
    const signal::RealFft fft(signal::fast_size(channel.size()));
    const auto a = fft.forward(channel), b = fft.forward(against);
    const double bin_hz = rate_hz / static_cast<double>(fft.size());
    double over = 0.0, under = 0.0;
    for (auto bin = static_cast<std::size_t>(low_hz / bin_hz); bin <= static_cast<std::size_t>(high_hz / bin_hz); ++bin) {
        // Log-frequency weight, as third-octave bands have it.
        over += std::norm(std::complex<double>(a[bin])) / static_cast<double>(bin);
        under += std::norm(std::complex<double>(b[bin])) / static_cast<double>(bin);
    }
    return power_db(over / under);
}

inline double rms_db(const std::vector<float>& channel, std::size_t first, std::size_t count) {
    double sum = 0.0;
    for (std::size_t index = first; index < first + count; ++index) sum += static_cast<double>(channel[index]) * channel[index];
    return power_db(sum / static_cast<double>(count));
}

inline Settings with_fault(const plan::Plan& plan, std::string_view text, Settings settings = exact()) {
    auto fault = fault_from_text(text, plan);
    if (!fault) throw std::runtime_error(sentence(fault.error()));
    settings.faults.push_back(*fault);
    return settings;
}

}  // namespace proofwalk::rehearsal
