#include "rehearsal/box_response.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "signal/fft.hpp"
#include "units/convert.hpp"

namespace proofwalk::rehearsal {
namespace {

using Complex = std::complex<double>;

constexpr double least_two_way_hz = 4000.0;  // a box that reaches less far up has no tweeter
constexpr double dead_way_db = -45.0;        // a dead driver still leaks through its neighbour's cabinet
constexpr double unit_level_db = 0.15;       // spread of sensitivity from unit to unit

// Second-order section of a Butterworth or Linkwitz-Riley filter; s in units of the corner frequency.
Complex section(Complex s, double q) { return 1.0 / (s * s + s / q + 1.0); }

Complex butterworth4(Complex s) { return section(s, 0.541196) * section(s, 1.306563); }

// Linkwitz-Riley of fourth order: a Butterworth section squared.
Complex linkwitz_riley_low(Complex s) {
    const Complex once = section(s, 1.0 / std::numbers::sqrt2);
    return once * once;
}

}  // namespace

BoxResponse::BoxResponse(const plan::Model& model, KeyedRandom of_model, KeyedRandom of_unit, Alive alive, bool exact)
    : range_hz_(model.range_hz), alive_(alive) {
    if (range_hz_.high_hz >= least_two_way_hz)
        crossover_hz_ = std::clamp(exact ? 1200.0 : of_model.uniform(900.0, 1600.0), 2.0 * range_hz_.low_hz, 0.5 * range_hz_.high_hz);
    if (!exact) {
        const double octaves = std::log2(range_hz_.high_hz / range_hz_.low_hz);
        const auto add = [&](KeyedRandom& random, double spread_db) {
            bumps_.push_back({range_hz_.low_hz * std::exp2(random.uniform() * octaves), random.uniform(0.7, 2.0),
                              random.spread(spread_db)});
        };
        for (int bump = 0; bump < 4; ++bump) add(of_model, 0.5);
        for (int bump = 0; bump < 3; ++bump) add(of_unit, 0.25);
    }
    // Level: taken from a healthy box, so that a dead way shows as missing sound and not as a louder rest.
    alive_ = Alive::all;
    double power = 0.0;
    constexpr int points = 64;
    const plan::Band& band = model.aim_band_hz;
    for (int point = 0; point < points; ++point)
        power += std::norm(shape(band.low_hz * std::pow(band.high_hz / band.low_hz, (point + 0.5) / points)));
    gain_ = amplitude_of_db(model.level_1m_db.value_or(usual_level_1m_db)) / std::sqrt(power / points);
    alive_ = alive;
    if (!exact) gain_ *= amplitude_of_db(of_unit.spread(unit_level_db));
    if (model.inverted) gain_ = -gain_;
}

Complex BoxResponse::shape(double frequency_hz) const {
    if (alive_ == Alive::none) return 0.0;
    const Complex s(0.0, frequency_hz);
    const Complex low = s / range_hz_.low_hz, high = s / range_hz_.high_hz;
    Complex response = low * low * low * low * butterworth4(low) * butterworth4(high / 1.05);
    if (crossover_hz_ > 0.0) {
        const Complex relative = s / crossover_hz_;
        const Complex woofer = linkwitz_riley_low(relative);
        const Complex tweeter = relative * relative * relative * relative * woofer;
        const double leak = amplitude_of_db(dead_way_db);
        response *= woofer * (alive_ == Alive::high_only ? leak : 1.0) + tweeter * (alive_ == Alive::low_only ? leak : 1.0);
    }
    for (const Bump& bump : bumps_) {
        const Complex relative = s / bump.hz;
        const double boost = amplitude_of_db(bump.gain_db / 2.0);
        response *= (relative * relative + relative * boost / bump.q + 1.0) /
                    (relative * relative + relative / (boost * bump.q) + 1.0);
    }
    return response;
}

Complex BoxResponse::at(double frequency_hz) const { return gain_ * shape(frequency_hz); }

std::vector<float> BoxResponse::impulse(double rate_hz, std::size_t size, std::size_t lead) const {
    const signal::RealFft fft(size);
    signal::Spectrum spectrum(fft.bins());
    for (std::size_t bin = 0; bin < spectrum.size(); ++bin) {
        const double frequency = static_cast<double>(bin) * rate_hz / static_cast<double>(size);
        const double turn = -2.0 * std::numbers::pi * static_cast<double>(bin * lead % size) / static_cast<double>(size);
        spectrum[bin] = std::complex<float>(at(frequency) * std::polar(1.0, turn));
    }
    spectrum.back() = spectrum.back().real();  // the bin at half the rate carries no phase
    return fft.inverse(spectrum);
}

}  // namespace proofwalk::rehearsal
