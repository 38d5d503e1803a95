// The room itself: who hangs there, who listens where, and one take of it.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "rehearsal/box_response.hpp"
#include "rehearsal/coupling.hpp"
#include "rehearsal/rehearsal.hpp"

namespace proofwalk::rehearsal {

class SimulatedRoom final : public Room {
public:
    SimulatedRoom(const plan::Plan& plan, const Settings& settings, std::vector<Hung> hung);

    [[nodiscard]] std::vector<Hung> hung() const override;
    [[nodiscard]] std::unique_ptr<capture::Device> device() override;
    [[nodiscard]] Result<capture::Recording> render(const capture::PlayRequest& request) override;

    [[nodiscard]] const plan::Plan& plan() const { return plan_; }
    [[nodiscard]] const Settings& settings() const { return settings_; }

private:
    struct Source {
        plan::Box planned;
        Hung hung;
        Horn horn;
        double delay_s;   // processing, model and drive together
        double factor;    // of directivity
        float gain;       // planned gain as hung, and polarity
        std::vector<float> response;  // of the box at 1 m on axis
    };
    // A signal that goes into a circuit's output.
    struct Feed {
        std::string circuit;
        std::vector<float> samples;
    };
    using FftOfSize = std::map<std::size_t, signal::RealFft>;

    [[nodiscard]] Result<void> check(const capture::PlayRequest& request) const;
    [[nodiscard]] std::vector<Feed> feeds(const capture::PlayRequest& request, std::size_t samples) const;
    [[nodiscard]] Vec3 mic_place(const capture::MicChannel& mic, std::size_t index, const capture::TakeSheet& sheet) const;
    [[nodiscard]] double mic_gain(const std::string& mic) const;
    [[nodiscard]] const signal::RealFft& fft(std::size_t size);
    void add_noise(signal::Spectrum& spectrum, std::size_t size, KeyedRandom random) const;
    void add_knocks(std::vector<std::vector<float>>& channels, const capture::TakeSheet& sheet) const;
    void render_mics(const capture::PlayRequest& request, const std::vector<Feed>& fed, std::size_t samples,
                     std::vector<std::vector<float>>& channels);
    void render_calibrator(const capture::PlayRequest& request, std::vector<std::vector<float>>& channels) const;

    plan::Plan plan_;
    Settings settings_;
    RoomAir air_;
    Hall hall_;
    Coupling coupling_;
    std::vector<Source> sources_;
    FftOfSize ffts_;
    float noise_rms_ = 0.0F;  // at every mic, re full scale
    std::vector<std::complex<float>> normals_;
};

[[nodiscard]] std::unique_ptr<capture::Device> simulated_device(SimulatedRoom& room);

}  // namespace proofwalk::rehearsal
