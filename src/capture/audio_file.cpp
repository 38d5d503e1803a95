#include "capture/audio_file.hpp"

#include <sndfile.h>

#include <cmath>
#include <cstdint>
#include <cstring>
#include <fstream>
#include <memory>
#include <system_error>
#include <utility>

#include <fmt/format.h>

#include "capture/wav_header.hpp"

namespace proofwalk::capture {
namespace {

constexpr double lowest_rate_hz = 44100.0, highest_rate_hz = 192000.0;
constexpr float largest_sample = 1e4f;  // 80 dB over full scale: float files may exceed 1.0, but no recording does so that far
constexpr std::size_t most_file_bytes = most_samples * 4 + (std::size_t{1} << 20);

Fault refused(const std::filesystem::path& file, std::string reason, std::string remedy) {
    return {FaultKind::input, file.string(), "", std::move(reason), std::move(remedy)};
}

struct CloseSound {
    void operator()(SNDFILE* sound) const { sf_close(sound); }
};
using Sound = std::unique_ptr<SNDFILE, CloseSound>;

// The reading library's view of bytes in memory: one reading of the file gives both its hash and its samples.
struct Memory {
    std::string_view bytes;
    sf_count_t at = 0;
};

sf_count_t memory_size(void* user) { return static_cast<sf_count_t>(static_cast<Memory*>(user)->bytes.size()); }

sf_count_t memory_seek(sf_count_t offset, int whence, void* user) {
    auto* memory = static_cast<Memory*>(user);
    const sf_count_t size = memory_size(user);
    const sf_count_t base = whence == SEEK_SET ? 0 : whence == SEEK_CUR ? memory->at : size;
    if (offset < -base || offset > size - base) return -1;
    memory->at = base + offset;
    return memory->at;
}

sf_count_t memory_read(void* target, sf_count_t count, void* user) {
    auto* memory = static_cast<Memory*>(user);
    const sf_count_t got = std::max<sf_count_t>(0, std::min(count, memory_size(user) - memory->at));
    std::memcpy(target, memory->bytes.data() + memory->at, static_cast<std::size_t>(got));
    memory->at += got;
    return got;
}

// The reading library also knows compressed sound, and decodes some of it before it can be refused.
bool begins_like_a_recording(std::string_view bytes) {
    return bytes.starts_with("RIFF") || bytes.starts_with("RIFX") || bytes.starts_with("RF64") || bytes.starts_with("riff") ||
           bytes.starts_with("fLaC");
}

sf_count_t memory_write(const void*, sf_count_t, void*) { return 0; }
sf_count_t memory_tell(void* user) { return static_cast<Memory*>(user)->at; }

std::optional<std::pair<std::string, std::string>> why_unfit(const SF_INFO& info) {
    const int container = info.format & SF_FORMAT_TYPEMASK;
    const int coding = info.format & SF_FORMAT_SUBMASK;
    if (container != SF_FORMAT_WAV && container != SF_FORMAT_WAVEX && container != SF_FORMAT_RF64 &&
        container != SF_FORMAT_W64 && container != SF_FORMAT_FLAC)
        return std::pair{"is neither WAV nor FLAC", "save the recording as WAV"};
    if (coding == SF_FORMAT_PCM_U8 || coding == SF_FORMAT_PCM_S8)
        return std::pair{"has 8-bit samples, too coarse to judge anything by", "record with 16 bits or more"};
    if (coding != SF_FORMAT_PCM_16 && coding != SF_FORMAT_PCM_24 && coding != SF_FORMAT_PCM_32 &&
        coding != SF_FORMAT_FLOAT && coding != SF_FORMAT_DOUBLE)
        return std::pair{"is compressed, which alters the sound", "record uncompressed: 16, 24, 32 bit or float"};
    if (info.samplerate < lowest_rate_hz || info.samplerate > highest_rate_hz)
        return std::pair{fmt::format("has a sample rate of {} Hz", info.samplerate), "record with 44.1 to 192 kHz"};
    if (info.channels < 1 || info.channels > most_file_channels)
        return std::pair{fmt::format("has {} channels", info.channels),
                         fmt::format("record 1 to {} channels", most_file_channels)};
    if (info.frames <= 0) return std::pair{"holds no samples", "record the take again or remove it from the list"};
    if (info.frames > static_cast<sf_count_t>(most_samples) / info.channels)
        return std::pair{fmt::format("claims {} samples on {} channels, more than a take can hold", info.frames, info.channels),
                         "cut the recording into one file a take"};
    return std::nullopt;
}

std::optional<Fault> why_no_numbers(const Audio& audio, const std::filesystem::path& file) {
    for (std::size_t c = 0; c < audio.channels.size(); ++c)
        for (std::size_t n = 0; n < audio.channels[c].size(); ++n) {
            const float sample = audio.channels[c][n];
            if (std::isfinite(sample) && std::fabs(sample) <= largest_sample) continue;
            Fault fault = refused(file, fmt::format("the sample at {:.3f} s is {}", static_cast<double>(n) / audio.rate_hz,
                                                    std::isfinite(sample) ? "absurdly large" : "not a number"),
                                  "export the recording again or take it again");
            fault.place = fmt::format("channel {}", c + 1);
            return fault;
        }
    return std::nullopt;
}

}  // namespace

Result<std::string> read_file(const std::filesystem::path& file, std::size_t most_bytes) {
    std::error_code error;
    const auto status = std::filesystem::status(file, error);
    if (!std::filesystem::exists(status))
        return std::unexpected(refused(file, "there is no such file", "check the name and the folder"));
    if (!std::filesystem::is_regular_file(status))
        return std::unexpected(refused(file, "is not a file but a folder or a device", "name a file"));
    const auto size = std::filesystem::file_size(file, error);
    if (error) return std::unexpected(refused(file, "cannot be read: " + error.message(), "check its permissions"));
    if (size == 0) return std::unexpected(refused(file, "is empty", "copy it again from its source"));
    if (size > most_bytes)
        return std::unexpected(refused(file, fmt::format("is larger ({} MiB) than such a file may be ({} MiB)", size >> 20,
                                                         most_bytes >> 20),
                                       "check that it is the right file, or cut it into smaller ones"));
    std::ifstream stream(file, std::ios::binary);
    std::string bytes(static_cast<std::size_t>(size), '\0');
    stream.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    if (!stream)
        return std::unexpected(refused(file, "cannot be read", "check its permissions and the disk it lies on"));
    return bytes;
}

Result<Audio> audio_from_bytes(std::string_view bytes, const std::filesystem::path& file) {
    if (!begins_like_a_recording(bytes))
        return std::unexpected(refused(file, "is not a recording that can be read: it is neither WAV nor FLAC",
                                       "save the recording as WAV or FLAC"));
    if (const auto reason = why_not_whole(bytes))
        return std::unexpected(refused(file, *reason, "copy it again from the recorder, or take it again"));

    Memory memory{bytes};
    SF_VIRTUAL_IO access{memory_size, memory_seek, memory_read, memory_write, memory_tell};
    SF_INFO info{};
    const Sound sound{sf_open_virtual(&access, SFM_READ, &info, &memory)};
    if (!sound)
        return std::unexpected(refused(file, "is not a recording that can be read", "save the recording as WAV or FLAC"));
    if (const auto unfit = why_unfit(info)) return std::unexpected(refused(file, unfit->first, unfit->second));

    Audio audio;
    audio.rate_hz = info.samplerate;
    const auto width = static_cast<std::size_t>(info.channels);
    for (std::size_t c = 0; c < width; ++c) audio.channels.emplace_back(static_cast<std::size_t>(info.frames));
    constexpr sf_count_t block = 4096;
    std::vector<float> interleaved(static_cast<std::size_t>(block) * width);
    sf_count_t done = 0;
    while (done < info.frames) {
        const sf_count_t got = sf_readf_float(sound.get(), interleaved.data(), std::min(block, info.frames - done));
        if (got <= 0) break;
        for (std::size_t c = 0; c < width; ++c)
            for (std::size_t n = 0; n < static_cast<std::size_t>(got); ++n)
                audio.channels[c][static_cast<std::size_t>(done) + n] = interleaved[n * width + c];
        done += got;
    }
    if (done < info.frames)
        return std::unexpected(refused(file, fmt::format("truncated: its header promises {} samples a channel, {} can be read",
                                                         info.frames, done),
                                       "copy it again from the recorder, or take it again"));
    if (auto fault = why_no_numbers(audio, file)) return std::unexpected(std::move(*fault));
    return audio;
}

Result<Audio> read_audio(const std::filesystem::path& file) {
    const auto bytes = read_file(file, most_file_bytes);
    if (!bytes) return std::unexpected(bytes.error());
    return audio_from_bytes(*bytes, file);
}

Result<void> write_wav_float(const std::filesystem::path& file, const Audio& audio) {
    const auto unwritable = [&](const std::string& why) {
        return std::unexpected(refused(file, "cannot be written: " + why, "check the folder, its permissions and the free space"));
    };
    std::filesystem::path unfinished = file;
    unfinished += ".part";
    {
        SF_INFO info{};
        info.samplerate = static_cast<int>(audio.rate_hz);
        info.channels = static_cast<int>(audio.channels.size());
        info.format = SF_FORMAT_WAV | SF_FORMAT_FLOAT;
        const Sound sound{sf_open(unfinished.c_str(), SFM_WRITE, &info)};
        if (!sound) return unwritable(sf_strerror(nullptr));
        // The peak chunk carries the time of writing; without it the same samples give the same bytes.
        sf_command(sound.get(), SFC_SET_ADD_PEAK_CHUNK, nullptr, SF_FALSE);
        const std::size_t width = audio.channels.size();
        constexpr std::size_t block = 4096;
        std::vector<float> interleaved(block * width);
        for (std::size_t done = 0; done < audio.length(); done += block) {
            const std::size_t count = std::min(block, audio.length() - done);
            for (std::size_t c = 0; c < width; ++c)
                for (std::size_t n = 0; n < count; ++n) interleaved[n * width + c] = audio.channels[c][done + n];
            if (sf_writef_float(sound.get(), interleaved.data(), static_cast<sf_count_t>(count)) !=
                static_cast<sf_count_t>(count)) {
                const std::string why = sf_strerror(sound.get());
                std::error_code ignored;
                std::filesystem::remove(unfinished, ignored);
                return unwritable(why);
            }
        }
    }
    std::error_code error;
    std::filesystem::rename(unfinished, file, error);
    if (error) return unwritable(error.message());
    return {};
}

}  // namespace proofwalk::capture
