#include "log/packed_evidence.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <optional>

#include "log/bytes.hpp"

namespace proofwalk::log {
namespace {

// Bytes that begin otherwise are those of signal::pack, whole.
constexpr std::uint32_t gridded = 0x31677770;  // "pwg1"
constexpr std::size_t block_samples = 256;
constexpr std::int64_t largest_on_grid = 1 << 24;  // a float holds every whole number up to here
constexpr unsigned longest_unary = 40;             // quotients; a longer one is written out in 32 bits

// The largest power of two that every sample is a whole multiple of; nothing when they span more than a float's digits
// or one is not finite.
std::optional<int> grid_exponent(const std::vector<float>& samples) {
    int exponent = 0, largest = 0;
    bool any = false;
    for (const float sample : samples) {
        if (!std::isfinite(sample)) return std::nullopt;
        if (sample == 0.0F) {
            if (std::signbit(sample)) return std::nullopt;  // would come back without its sign
            continue;
        }
        // As the bits say it (IEEE 754 binary32): a sample is `digits` steps of two to the power `step`.
        const auto bits = std::bit_cast<std::uint32_t>(sample);
        const std::uint32_t biased = bits >> 23 & 0xffu;
        const std::uint32_t digits = (bits & 0x7fffffu) | (biased > 0 ? 0x800000u : 0u);
        const int step = static_cast<int>(std::max(biased, std::uint32_t{1})) - 150;
        const int power = step + std::bit_width(digits);
        const int lowest = step + std::countr_zero(digits);
        exponent = any ? std::min(exponent, lowest) : lowest;
        largest = any ? std::max(largest, power) : power;
        any = true;
    }
    if (largest - exponent > 24) return std::nullopt;
    return exponent;
}

// The highest bit of each byte first.
class BitWriter {
public:
    // The lowest `bits` of a value, at most 32.
    void put(std::uint32_t value, unsigned bits) {
        const std::uint64_t mask = (std::uint64_t{1} << bits) - 1;
        waiting_ = waiting_ << bits | (value & mask);
        count_ += bits;
        if (count_ < 32) return;
        count_ -= 32;
        words_.push_back(std::byteswap(static_cast<std::uint32_t>(waiting_ >> count_)));
    }
    // The last byte is filled up with zeros.
    [[nodiscard]] std::vector<std::byte> finish() {
        const auto whole = std::as_bytes(std::span{words_});
        std::vector<std::byte> bytes(whole.begin(), whole.end());
        const std::uint64_t left = waiting_ << (32 - count_);
        for (unsigned bit = 0; bit < count_; bit += 8) bytes.push_back(static_cast<std::byte>(left >> (24 - bit) & 0xffu));
        return bytes;
    }

private:
    std::vector<std::uint32_t> words_;
    std::uint64_t waiting_ = 0;
    unsigned count_ = 0;  // of the waiting bits, below 32
};

class BitReader {
public:
    explicit BitReader(std::span<const std::byte> bytes) : bytes_(bytes) {}
    std::uint32_t get(unsigned bits) {
        std::uint32_t value = 0;
        for (; bits > 0; --bits) {
            if (at_ / 8 >= bytes_.size()) throw BadBytes{};
            value = value << 1 | (std::to_integer<std::uint32_t>(bytes_[at_ / 8]) >> (7 - at_ % 8) & 1u);
            ++at_;
        }
        return value;
    }

private:
    std::span<const std::byte> bytes_;
    std::size_t at_ = 0;
};

std::uint32_t folded(std::int32_t value) {  // 0, -1, 1, -2, ... to 0, 1, 2, 3, ...
    return static_cast<std::uint32_t>(value) << 1 ^ static_cast<std::uint32_t>(value >> 31);
}
std::int32_t unfolded(std::uint32_t value) { return static_cast<std::int32_t>(value >> 1 ^ (~(value & 1u) + 1u)); }

void put_rice(BitWriter& out, std::uint32_t value, unsigned low_bits) {
    const std::uint32_t quotient = value >> low_bits;
    if (quotient + 1 + low_bits <= 32) {  // in one: ones, a zero, the low bits
        const std::uint64_t ones = (std::uint64_t{1} << quotient) - 1, low = value & ((std::uint64_t{1} << low_bits) - 1);
        return out.put(static_cast<std::uint32_t>(ones << (low_bits + 1) | low), quotient + 1 + low_bits);
    }
    for (std::uint32_t left = std::min(quotient, std::uint32_t{longest_unary}); left > 0;) {
        const unsigned ones = std::min(left, std::uint32_t{16});
        out.put(0xffffu, ones);
        left -= ones;
    }
    if (quotient >= longest_unary) {
        out.put(value, 32);
    } else {
        out.put(0, 1);
        out.put(value, low_bits);
    }
}

std::uint32_t get_rice(BitReader& in, unsigned low_bits) {
    std::uint32_t quotient = 0;
    while (quotient < longest_unary && in.get(1) == 1) ++quotient;
    if (quotient == longest_unary) return in.get(32);
    return quotient << low_bits | in.get(low_bits);
}

// Differences of order 0 or 1 in Golomb-Rice codes, block by block (Robinson 1994, Cambridge TR.156; from memory).
void put_block(BitWriter& out, std::span<const std::int32_t> samples, std::int32_t before) {
    std::array<std::uint64_t, 2> sums{};
    std::int32_t last = before;
    for (const std::int32_t sample : samples) {
        sums[0] += folded(sample);
        sums[1] += folded(sample - last);
        last = sample;
    }
    const unsigned order = sums[1] < sums[0] ? 1 : 0;
    const double mean = static_cast<double>(sums[order]) / static_cast<double>(samples.size());
    const unsigned low_bits = mean < 1.0 ? 0 : static_cast<unsigned>(std::clamp(std::log2(mean * 0.693) + 0.5, 0.0, 30.0));
    out.put(order, 1);
    out.put(low_bits, 5);
    last = before;
    for (const std::int32_t sample : samples) {
        put_rice(out, folded(order == 1 ? sample - last : sample), low_bits);
        last = sample;
    }
}

void get_block(BitReader& in, std::span<std::int32_t> samples, std::int32_t before) {
    const bool differences = in.get(1) == 1;
    const unsigned low_bits = in.get(5);
    std::int64_t last = before;
    for (std::int32_t& sample : samples) {
        const std::int64_t value = unfolded(get_rice(in, low_bits)) + (differences ? last : 0);
        if (std::abs(value) > largest_on_grid) throw BadBytes{};
        sample = static_cast<std::int32_t>(value);
        last = value;
    }
}

}  // namespace

std::vector<std::byte> packed(const signal::Evidence& evidence) {
    const auto exponent = grid_exponent(evidence.impulse);
    if (!exponent) {
        auto bytes = signal::pack(evidence);
        if (!signal::unpack(bytes)) throw BadBytes{};
        return bytes;
    }
    std::vector<std::int32_t> steps(evidence.impulse.size());
    const double steps_per_unit = std::ldexp(1.0, -*exponent);  // a power of two: nothing is rounded
    for (std::size_t n = 0; n < steps.size(); ++n)
        steps[n] = static_cast<std::int32_t>(static_cast<double>(evidence.impulse[n]) * steps_per_unit);
    BitWriter bits;
    for (std::size_t first = 0; first < steps.size(); first += block_samples)
        put_block(bits, std::span{steps}.subspan(first, std::min(block_samples, steps.size() - first)),
                  first == 0 ? 0 : steps[first - 1]);
    signal::Evidence rest = evidence;
    rest.impulse.clear();
    ByteWriter out;
    out.number(gridded);
    out.number(static_cast<std::int32_t>(*exponent));
    out.count(steps.size());
    out.blob(signal::pack(rest));
    out.blob(bits.finish());
    return out.bytes();
}

signal::Evidence evidence_from(std::span<const std::byte> bytes) {
    std::uint32_t form = 0;
    if (bytes.size() >= sizeof form) form = ByteReader(bytes).number<std::uint32_t>();
    if (form != gridded) {
        auto evidence = signal::unpack(bytes);
        if (!evidence) throw BadBytes{};
        return std::move(*evidence);
    }
    ByteReader in(bytes);
    (void)in.number<std::uint32_t>();
    const auto exponent = in.number<std::int32_t>();
    const auto count = in.number<std::uint32_t>();
    if (exponent < -200 || exponent > 200) throw BadBytes{};
    auto evidence = signal::unpack(in.blob());
    if (!evidence) throw BadBytes{};
    const auto coded = in.blob();
    // A sample takes a bit at least: what claims more samples than bits was never packed.
    if (!in.at_end() || count > coded.size() * 8) throw BadBytes{};
    std::vector<std::int32_t> steps(count);
    BitReader bits(coded);
    for (std::size_t first = 0; first < steps.size(); first += block_samples)
        get_block(bits, std::span{steps}.subspan(first, std::min(block_samples, steps.size() - first)),
                  first == 0 ? 0 : steps[first - 1]);
    evidence->impulse.clear();
    evidence->impulse.reserve(steps.size());
    const double unit = std::ldexp(1.0, exponent);
    for (const std::int32_t step : steps) evidence->impulse.push_back(static_cast<float>(static_cast<double>(step) * unit));
    return std::move(*evidence);
}

}  // namespace proofwalk::log
