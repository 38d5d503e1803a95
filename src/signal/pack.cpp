#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <limits>
#include <string>
#include <type_traits>

#include "signal/evidence.hpp"

namespace proofwalk::signal {

namespace {

static_assert(std::endian::native == std::endian::little, "the byte form is little-endian");

constexpr std::array<char, 4> magic = {'p', 'w', 'e', 'v'};
constexpr std::uint32_t version = 1;
constexpr std::uint64_t most_samples = 1ull << 28;

template <class T>
void put(std::vector<std::byte>& bytes, const T& value) {
    static_assert(std::is_trivially_copyable_v<T>);
    const auto at = bytes.size();
    bytes.resize(at + sizeof(T));
    std::memcpy(bytes.data() + at, &value, sizeof(T));
}

void put(std::vector<std::byte>& bytes, const std::optional<double>& value) {
    put(bytes, value.value_or(std::numeric_limits<double>::quiet_NaN()));
}

class Reader {
public:
    explicit Reader(std::span<const std::byte> bytes) : bytes_(bytes) {}
    template <class T>
    bool take(T& value) {
        static_assert(std::is_trivially_copyable_v<T>);
        if (bytes_.size() < sizeof(T)) return false;
        std::memcpy(&value, bytes_.data(), sizeof(T));
        bytes_ = bytes_.subspan(sizeof(T));
        return true;
    }
    bool take(std::optional<double>& value) {
        double number = 0.0;
        if (!take(number)) return false;
        value = std::isnan(number) ? std::nullopt : std::optional(number);
        return true;
    }
    bool take(std::vector<float>& samples, std::uint64_t count) {
        if (count > most_samples || bytes_.size() < count * sizeof(float)) return false;
        samples.resize(count);
        if (count > 0) std::memcpy(samples.data(), bytes_.data(), count * sizeof(float));
        bytes_ = bytes_.subspan(count * sizeof(float));
        return true;
    }
    [[nodiscard]] bool at_end() const { return bytes_.empty(); }

private:
    std::span<const std::byte> bytes_;
};

std::unexpected<Fault> refused(std::string reason) {
    return std::unexpected(Fault{FaultKind::log, {}, "stored evidence", std::move(reason), "check the log against a backup"});
}

}  // namespace

std::vector<std::byte> pack(const Evidence& evidence) {
    std::vector<std::byte> bytes;
    bytes.reserve(evidence.impulse.size() * sizeof(float) + 2048);
    put(bytes, magic);
    put(bytes, version);
    put(bytes, evidence.rate_hz);
    put(bytes, evidence.first_s);
    put(bytes, evidence.latency_s);
    put(bytes, static_cast<std::uint8_t>(evidence.absolute));
    put(bytes, static_cast<std::uint8_t>(evidence.calibrated));
    put(bytes, evidence.flags.bits());
    for (const BandLevels* levels : {&evidence.noise_db, &evidence.noise_impulse_db, &evidence.played_db, &evidence.coherence})
        put(bytes, levels->db);
    put(bytes, evidence.drift_ppm);
    put(bytes, evidence.distortion2_pct);
    put(bytes, evidence.distortion3_pct);
    put(bytes, static_cast<std::uint64_t>(evidence.impulse.size()));
    const auto at = bytes.size();
    bytes.resize(at + evidence.impulse.size() * sizeof(float));
    if (!evidence.impulse.empty()) std::memcpy(bytes.data() + at, evidence.impulse.data(), evidence.impulse.size() * sizeof(float));
    return bytes;
}

Result<Evidence> unpack(std::span<const std::byte> bytes) {
    Reader reader(bytes);
    std::array<char, 4> found_magic{};
    std::uint32_t found_version = 0;
    if (!reader.take(found_magic) || found_magic != magic) return refused("the bytes are no evidence of this tool");
    if (!reader.take(found_version) || found_version != version) return refused("the evidence is of another version");
    Evidence evidence;
    std::uint8_t absolute = 0, calibrated = 0;
    std::uint32_t flags = 0;
    bool whole = reader.take(evidence.rate_hz) && reader.take(evidence.first_s) && reader.take(evidence.latency_s) &&
                 reader.take(absolute) && reader.take(calibrated) && reader.take(flags);
    for (BandLevels* levels : {&evidence.noise_db, &evidence.noise_impulse_db, &evidence.played_db, &evidence.coherence})
        whole = whole && reader.take(levels->db);
    std::uint64_t count = 0;
    whole = whole && reader.take(evidence.drift_ppm) && reader.take(evidence.distortion2_pct) &&
            reader.take(evidence.distortion3_pct) && reader.take(count) && reader.take(evidence.impulse, count) && reader.at_end();
    if (!whole) return refused("the evidence is cut short or too long");
    if (absolute > 1 || calibrated > 1 || !std::isfinite(evidence.first_s) || !std::isfinite(evidence.latency_s) ||
        !(evidence.rate_hz > 0.0) || !std::isfinite(evidence.rate_hz))
        return refused("the evidence holds figures that cannot be");
    for (float sample : evidence.impulse)
        if (!std::isfinite(sample)) return refused("the impulse response holds figures that cannot be");
    evidence.absolute = absolute != 0;
    evidence.calibrated = calibrated != 0;
    evidence.flags = Flags(flags);
    return evidence;
}

}  // namespace proofwalk::signal
