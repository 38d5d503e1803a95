// Audio files: recorded takes, played signals, stored recordings. WAV (also RF64 and W64) and FLAC; 16, 24, 32 bit or float;
// 44.1 to 192 kHz.
#pragma once

#include <cstddef>
#include <filesystem>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "units/fault.hpp"

namespace proofwalk::capture {

struct Audio {
    double rate_hz = 48000.0;
    std::vector<std::vector<float>> channels;  // channels[c][sample], full scale 1.0; all of one length

    [[nodiscard]] std::size_t length() const { return channels.empty() ? 0 : channels.front().size(); }
};

// More than this in one file is refused before it is read: 2^28 samples over all channels (8 channels at 48 kHz: 11 min).
inline constexpr std::size_t most_samples = std::size_t{1} << 28;
inline constexpr int most_file_channels = 256;

// The whole file. Refused with one sentence: missing, a folder or pipe, empty, too large.
[[nodiscard]] Result<std::string> read_file(const std::filesystem::path& file, std::size_t most_bytes);

// Refused: not WAV or FLAC, 8 bit or compressed, truncated (the header promises more than is there), unfinished header,
// no samples, a rate outside 44.1 to 192 kHz, absurd sizes, samples that are no numbers.
[[nodiscard]] Result<Audio> read_audio(const std::filesystem::path& file);
[[nodiscard]] Result<Audio> audio_from_bytes(std::string_view bytes, const std::filesystem::path& file);

// 32-bit float WAV. The file appears under its name only when it is whole.
[[nodiscard]] Result<void> write_wav_float(const std::filesystem::path& file, const Audio& audio);

}  // namespace proofwalk::capture
