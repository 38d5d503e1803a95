#include "log/raw_store.hpp"

#include <fmt/format.h>
#include <signal.h>
#include <sndfile.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cmath>
#include <cstring>
#include <future>
#include <memory>

#include "log/durable_file.hpp"
#include "units/sha256.hpp"

namespace proofwalk::log {
namespace {

// FLAC carries at most 8; fewer, because each file is packed by a thread of its own and channels don't share anything.
constexpr std::size_t most_channels_a_file = 4;
constexpr float full_scale_24 = 8388608.0F;  // 2^23

// A sound file in memory, as libsndfile reads and writes it.
struct MemoryFile {
    std::vector<std::byte> bytes;
    std::size_t at = 0;
};

sf_count_t memory_length(void* user) { return static_cast<sf_count_t>(static_cast<MemoryFile*>(user)->bytes.size()); }

sf_count_t memory_seek(sf_count_t offset, int whence, void* user) {
    auto& file = *static_cast<MemoryFile*>(user);
    const sf_count_t base = whence == SEEK_SET   ? 0
                            : whence == SEEK_CUR ? static_cast<sf_count_t>(file.at)
                                                 : static_cast<sf_count_t>(file.bytes.size());
    if (base + offset < 0) return -1;
    file.at = static_cast<std::size_t>(base + offset);
    return base + offset;
}

sf_count_t memory_read(void* target, sf_count_t count, void* user) {
    auto& file = *static_cast<MemoryFile*>(user);
    if (file.at >= file.bytes.size()) return 0;
    const std::size_t size = std::min(static_cast<std::size_t>(count), file.bytes.size() - file.at);
    std::memcpy(target, file.bytes.data() + file.at, size);
    file.at += size;
    return static_cast<sf_count_t>(size);
}

sf_count_t memory_write(const void* source, sf_count_t count, void* user) {
    auto& file = *static_cast<MemoryFile*>(user);
    const auto size = static_cast<std::size_t>(count);
    if (file.bytes.size() < file.at + size) file.bytes.resize(file.at + size);
    std::memcpy(file.bytes.data() + file.at, source, size);
    file.at += size;
    return count;
}

sf_count_t memory_tell(void* user) { return static_cast<sf_count_t>(static_cast<MemoryFile*>(user)->at); }

constexpr SF_VIRTUAL_IO memory_io = {memory_length, memory_seek, memory_read, memory_write, memory_tell};

struct CloseSound {
    void operator()(SNDFILE* file) const { sf_close(file); }
};
using Sound = std::unique_ptr<SNDFILE, CloseSound>;

bool fits_24_bit(const std::vector<std::vector<float>>& channels) {
    return std::ranges::all_of(channels, [](const std::vector<float>& channel) {
        return std::ranges::all_of(channel, [](float sample) {
            const float scaled = sample * full_scale_24;
            return scaled >= -full_scale_24 && scaled < full_scale_24 && scaled == std::trunc(scaled);
        });
    });
}

using Channels = std::span<const std::vector<float>>;
constexpr std::size_t frames_a_block = 4096;
constexpr sf_count_t most_frames_expected = sf_count_t{60} * 192000;  // a header may claim more than it holds

template <class Sample, class Convert, class Write>
void write_interleaved(const std::string& name, Channels channels, Convert convert, Write write) {
    const std::size_t frames = channels.front().size();
    std::vector<Sample> block(frames_a_block * channels.size());
    for (std::size_t first = 0; first < frames; first += frames_a_block) {
        const std::size_t count = std::min(frames_a_block, frames - first);
        for (std::size_t channel = 0; channel < channels.size(); ++channel)
            for (std::size_t frame = 0; frame < count; ++frame)
                block[frame * channels.size() + channel] = convert(channels[channel][first + frame]);
        if (write(block.data(), static_cast<sf_count_t>(count)) != static_cast<sf_count_t>(count))
            throw StoreError{{FaultKind::log, name, "", "the recording cannot be packed", "store it without raw audio"}};
    }
}

std::vector<std::byte> packed(const std::string& name, double rate_hz, Channels channels, bool flac) {
    SF_INFO info{};
    info.samplerate = static_cast<int>(std::lround(rate_hz));
    info.channels = static_cast<int>(channels.size());
    info.format = flac ? SF_FORMAT_FLAC | SF_FORMAT_PCM_24 : SF_FORMAT_RF64 | SF_FORMAT_FLOAT;
    SF_VIRTUAL_IO io = memory_io;
    MemoryFile memory;
    memory.bytes.reserve(channels.size() * channels.front().size() * sizeof(float) + frames_a_block);  // seldom more
    Sound sound{sf_open_virtual(&io, SFM_WRITE, &info, &memory)};
    if (!sound)
        throw StoreError{{FaultKind::log, name, "", fmt::format("the recording cannot be packed ({})", sf_strerror(nullptr)),
                          "store it without raw audio"}};
    if (flac) {
        double level = 0.2;  // of 0 to 1: past it a file shrinks by about a percent and takes twice the time
        sf_command(sound.get(), SFC_SET_COMPRESSION_LEVEL, &level, sizeof level);
        write_interleaved<int>(
            name, channels, [](float sample) { return static_cast<int>(sample * full_scale_24) * 256; },
            [&](const int* data, sf_count_t frames) { return sf_writef_int(sound.get(), data, frames); });
    } else {
        sf_command(sound.get(), SFC_RF64_AUTO_DOWNGRADE, nullptr, SF_TRUE);
        write_interleaved<float>(
            name, channels, [](float sample) { return sample; },
            [&](const float* data, sf_count_t frames) { return sf_writef_float(sound.get(), data, frames); });
    }
    sound.reset();  // writes what is left
    return std::move(memory.bytes);
}

// Storing takes what the measuring of the same take leaves of the processor: on Linux a thread's nice value is its own.
void give_way() {
    const auto self = static_cast<id_t>(::gettid());
    (void)::setpriority(PRIO_PROCESS, self, ::getpriority(PRIO_PROCESS, self) + 10);
}

RawFile store_part(const std::filesystem::path& folder, const std::string& name, double rate_hz, Channels channels,
                   bool flac) {
    give_way();
    const std::vector<std::byte> bytes = packed((folder / name).string(), rate_hz, channels, flac);
    write_synced(folder / name, bytes);
    return {name, static_cast<int>(channels.size()), static_cast<std::int64_t>(bytes.size()), sha256(bytes)};
}

void unpack_into(std::vector<std::vector<float>>& channels, const std::string& name, std::vector<std::byte> bytes) {
    SF_INFO info{};
    SF_VIRTUAL_IO io = memory_io;
    MemoryFile memory{std::move(bytes), 0};
    const Sound sound{sf_open_virtual(&io, SFM_READ, &info, &memory)};
    if (!sound)
        throw StoreError{{FaultKind::log, name, "", fmt::format("the recording cannot be read ({})", sf_strerror(nullptr)),
                          "copy it back from where the log was copied"}};
    const std::size_t count = static_cast<std::size_t>(info.channels);
    const std::size_t first = channels.size();
    channels.resize(first + count);
    for (std::size_t channel = first; channel < channels.size(); ++channel)
        channels[channel].reserve(static_cast<std::size_t>(std::min(info.frames, most_frames_expected)));
    const bool flac = (info.format & SF_FORMAT_TYPEMASK) == SF_FORMAT_FLAC;
    const auto spread = [&](const auto* block, sf_count_t frames, auto convert) {
        for (std::size_t channel = 0; channel < count; ++channel)
            for (std::size_t frame = 0; frame < static_cast<std::size_t>(frames); ++frame)
                channels[first + channel].push_back(convert(block[frame * count + channel]));
    };
    std::vector<int> integers(flac ? frames_a_block * count : 0);
    std::vector<float> floats(flac ? 0 : frames_a_block * count);
    for (;;) {
        const sf_count_t got = flac ? sf_readf_int(sound.get(), integers.data(), frames_a_block)
                                    : sf_readf_float(sound.get(), floats.data(), frames_a_block);
        if (got <= 0) break;
        if (flac)
            spread(integers.data(), got, [](int sample) { return static_cast<float>(sample / 256) / full_scale_24; });
        else
            spread(floats.data(), got, [](float sample) { return sample; });
    }
}

}  // namespace

std::vector<RawFile> store_raw(const std::filesystem::path& folder, const std::string& take_sha256, double rate_hz,
                               const std::vector<std::vector<float>>& channels) {
    make_folder(folder);
    const bool flac = fits_24_bit(channels);
    const Channels all{channels};
    std::vector<std::future<RawFile>> parts;
    // As even as can be. Float files could hold more channels; one rule for both keeps their names alike.
    const std::size_t count = (all.size() + most_channels_a_file - 1) / most_channels_a_file;
    for (std::size_t file = 0; file < count; ++file) {
        const std::size_t first = all.size() * file / count;
        const Channels part = all.subspan(first, all.size() * (file + 1) / count - first);
        const std::string name = fmt::format("{}{}.{}", take_sha256,
                                             file == 0 ? "" : fmt::format(".{}", file + 1),
                                             flac ? "flac" : "wav");
        parts.push_back(std::async(std::launch::async, store_part, std::cref(folder), name, rate_hz, part, flac));
    }
    std::vector<RawFile> files;
    for (auto& part : parts) files.push_back(part.get());
    sync_folder(folder);
    return files;
}

std::string raw_fault(const std::filesystem::path& folder, const RawFile& file) {
    std::error_code error;
    if (!std::filesystem::exists(folder / file.name, error)) return "is missing";
    const auto bytes = bytes_of(folder / file.name);
    if (!bytes) return "cannot be read";
    return static_cast<std::int64_t>(bytes->size()) == file.bytes && sha256(*bytes) == file.sha256 ? "" : "was changed";
}

std::vector<std::vector<float>> load_raw(const std::filesystem::path& folder, const std::vector<RawFile>& files) {
    std::vector<std::vector<float>> channels;
    for (const RawFile& file : files) {
        if (const std::string wrong = raw_fault(folder, file); !wrong.empty())
            throw StoreError{{FaultKind::log, (folder / file.name).string(), "", fmt::format("the recording {}", wrong),
                              "copy it back from where the log was copied"}};
        unpack_into(channels, (folder / file.name).string(), *bytes_of(folder / file.name));
    }
    return channels;
}

void remove_half_written(const std::filesystem::path& folder) {
    std::error_code error;
    for (const auto& entry : std::filesystem::directory_iterator(folder, error)) {
        // NAME.PROCESS.part: left behind when that process is gone.
        const std::filesystem::path& path = entry.path();
        if (path.extension() != ".part") continue;
        const std::string process = path.stem().extension().string();
        int id = 0;
        if (process.size() < 2 ||
            std::from_chars(process.data() + 1, process.data() + process.size(), id).ec != std::errc{} || id <= 0)
            continue;
        if (::kill(id, 0) != 0 && errno == ESRCH) std::filesystem::remove(path, error);
    }
}

}  // namespace proofwalk::log
