#include "log/packed_reading.hpp"

#include "log/bytes.hpp"

namespace proofwalk::log {
namespace {

constexpr std::uint8_t reading_form = 1;

}  // namespace

std::vector<std::byte> packed(const signal::Reading& reading) {
    ByteWriter out;
    out.number(reading_form);
    out.maybe(reading.arrival_s);
    out.number(static_cast<std::uint8_t>(reading.absolute));
    out.number(static_cast<std::int8_t>(reading.polarity.value_or(0)));
    out.number(reading.polarity_confidence);
    for (const BandLevels* levels : {&reading.direct_db, &reading.direct_u_db, &reading.full_db, &reading.full_u_db,
                                     &reading.noise_db, &reading.coherence})
        out.bands(*levels);
    out.maybe(reading.aim_band_db);
    out.number(reading.gate_s);
    out.number(reading.gate_resolves_from_hz);
    out.number(reading.signal_to_noise_db);
    for (const auto* figure : {&reading.drift_ppm, &reading.distortion2_pct, &reading.distortion3_pct})
        out.maybe(*figure);
    out.count(reading.reflections.size());
    for (const signal::Reflection& reflection : reading.reflections) {
        out.number(reflection.after_s);
        out.number(reflection.level_db);
    }
    out.number(static_cast<std::uint8_t>(reading.calibrated));
    out.number(reading.flags.bits());
    return out.bytes();
}

signal::Reading reading_from(std::span<const std::byte> bytes) {
    ByteReader in(bytes);
    if (in.number<std::uint8_t>() != reading_form) throw BadBytes{};
    signal::Reading reading;
    reading.arrival_s = in.maybe_measured();
    reading.absolute = in.yes();
    const int polarity = in.number<std::int8_t>();
    if (polarity < -1 || polarity > 1) throw BadBytes{};
    if (polarity != 0) reading.polarity = polarity;
    reading.polarity_confidence = in.number<double>();
    for (BandLevels* levels : {&reading.direct_db, &reading.direct_u_db, &reading.full_db, &reading.full_u_db,
                               &reading.noise_db, &reading.coherence})
        *levels = in.bands();
    reading.aim_band_db = in.maybe_measured();
    reading.gate_s = in.number<double>();
    reading.gate_resolves_from_hz = in.number<double>();
    reading.signal_to_noise_db = in.number<double>();
    for (auto* figure : {&reading.drift_ppm, &reading.distortion2_pct, &reading.distortion3_pct}) *figure = in.maybe();
    reading.reflections.resize(in.count(2 * sizeof(double)));
    for (signal::Reflection& reflection : reading.reflections) {
        reflection.after_s = in.number<double>();
        reflection.level_db = in.number<double>();
    }
    reading.calibrated = in.yes();
    reading.flags = Flags{in.number<std::uint32_t>()};
    if (!in.at_end()) throw BadBytes{};
    return reading;
}

std::vector<std::byte> packed(const BandLevels& levels) {
    ByteWriter out;
    out.bands(levels);
    return out.bytes();
}

BandLevels bands_from(std::span<const std::byte> bytes) {
    ByteReader in(bytes);
    const BandLevels levels = in.bands();
    if (!in.at_end()) throw BadBytes{};
    return levels;
}

}  // namespace proofwalk::log
