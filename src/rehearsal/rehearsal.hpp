// The simulated room behind the device interface: the same walk at home, with faults that a person planted.
// Its room model is its own (docs/rehearsal.md, "The rehearsal's room") and shares nothing with verify.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "capture/device.hpp"
#include "plan/plan.hpp"

namespace proofwalk::rehearsal {

enum class FaultType { aim_h, aim_v, splay, spacing, delay, gain, polarity, dead_high, dead_low, silent, swap };

// "M1:aim-v:-5", "FF2:swap:FF3", "M2:polarity", "CA+CB:splay:-6", "D1:delay:-6" (ms), "M1:gain:-4" (dB)
struct PlantedFault {
    FaultType type = FaultType::gain;
    std::string subject;  // box, pair "A+B" or circuit
    double amount = 0.0;  // degrees, metres, ms, dB; unused for polarity, silent, dead-*, swap
    std::string other;    // swap: the other circuit
};
[[nodiscard]] Result<PlantedFault> fault_from_text(std::string_view text, const plan::Plan& plan);
[[nodiscard]] std::string to_text(const PlantedFault& fault);

struct Settings {
    unsigned seed = 1;
    double snr_db = 40.0;       // broadband, at the mics, of the loudest circuit on axis
    double rate_hz = 48000.0;
    double mic_place_m = 0.02;  // spread of where mics really stand
    double decay_s = 1.2;       // reverberation time at 1 kHz
    std::vector<PlantedFault> faults;
    bool real_time = false;     // the device takes as long as the sound does; for practising with the clock
    // No spread at all: boxes, mics and air exactly as planned, no noise, no walls. For tests of the measuring side.
    bool exact = false;
};

// What really hangs there after faults and hanging tolerances, for training ("what was wrong") and for tests.
struct Hung {
    std::string box;
    acoustics::Pose pose;
    double gain_db = 0.0, delay_ms = 0.0;
    bool inverted = false;
    std::string dead;  // "", "high", "low", "all"
    std::string fed_by;  // circuit whose signal it gets
};

class Room {
public:
    virtual ~Room() = default;
    [[nodiscard]] virtual std::vector<Hung> hung() const = 0;
    // A device whose output n feeds the circuit planned at output n, whose input 1 is the loopback of all outputs' sum
    // and whose inputs 2.. are mics at the positions named in the request's sheet.
    [[nodiscard]] virtual std::unique_ptr<capture::Device> device() = 0;
    // Renders one take without playing it in real time. The sheet names circuits and mics; the signal is played into
    // every circuit that sounds (each at its start, when starts are given).
    [[nodiscard]] virtual Result<capture::Recording> render(const capture::PlayRequest& request) = 0;
};
[[nodiscard]] Result<std::unique_ptr<Room>> make_room(const plan::Plan& plan, const Settings& settings);

}  // namespace proofwalk::rehearsal
