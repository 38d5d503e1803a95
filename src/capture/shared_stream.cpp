#include "capture/shared_stream.hpp"

#include <fcntl.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <memory>
#include <new>
#include <utility>

namespace proofwalk::capture {
namespace {

constexpr std::size_t alignment = 64;
constexpr std::size_t samples_at = (sizeof(StreamControl) + alignment - 1) / alignment * alignment;

std::size_t size_of(const StreamControl& control) {
    return samples_at + sizeof(float) * (control.playing * control.play_frames + control.inputs * control.capacity_frames);
}

Fault no_memory(const char* what) {
    return {FaultKind::device, "", "", std::string("no shared memory for the capture: ") + what + ": " + std::strerror(errno),
            "close other programs or take a shorter take"};
}

}  // namespace

SharedStream::SharedStream(int file_descriptor, void* memory, std::size_t bytes)
    : file_descriptor_(file_descriptor), bytes_(bytes), control_(static_cast<StreamControl*>(memory)) {}

SharedStream::SharedStream(SharedStream&& other) noexcept
    : file_descriptor_(std::exchange(other.file_descriptor_, -1)),
      bytes_(std::exchange(other.bytes_, 0)),
      control_(std::exchange(other.control_, nullptr)) {}

SharedStream::~SharedStream() {
    if (control_) munmap(control_, bytes_);
    if (file_descriptor_ >= 0) close(file_descriptor_);
}

Result<SharedStream> SharedStream::create(const StreamControl& shape) {
    const std::size_t bytes = size_of(shape);
    const int file = memfd_create("proofwalk-capture", MFD_CLOEXEC);
    if (file < 0) return std::unexpected(no_memory("memfd_create"));
    // Reserved now: a page that cannot be had later would end the child in mid-take.
    if (const int error = posix_fallocate(file, 0, static_cast<off_t>(bytes)); error != 0) {
        close(file);
        errno = error;
        return std::unexpected(no_memory("reserving it"));
    }
    void* memory = mmap(nullptr, bytes, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_POPULATE, file, 0);
    if (memory == MAP_FAILED) {
        close(file);
        return std::unexpected(no_memory("mapping it"));
    }
    auto* control = new (memory) StreamControl;
    control->inputs = shape.inputs;
    control->capacity_frames = shape.capacity_frames;
    control->playing = shape.playing;
    control->play_frames = shape.play_frames;
    return SharedStream(file, memory, bytes);
}

Result<SharedStream> SharedStream::attach(int file_descriptor) {
    struct stat about {};
    if (fstat(file_descriptor, &about) != 0) return std::unexpected(no_memory("looking at it"));
    const auto bytes = static_cast<std::size_t>(about.st_size);
    if (bytes < samples_at) return std::unexpected(no_memory("it is too small"));
    void* memory = mmap(nullptr, bytes, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_POPULATE, file_descriptor, 0);
    if (memory == MAP_FAILED) return std::unexpected(no_memory("mapping it"));
    SharedStream stream(file_descriptor, memory, bytes);
    const StreamControl& control = stream.control();
    if (control.inputs > most_stream_channels || control.playing > most_stream_channels || size_of(control) > bytes)
        return std::unexpected(no_memory("it has another shape"));
    return stream;
}

std::span<float> SharedStream::signal(std::size_t playing) const {
    auto* samples = reinterpret_cast<float*>(reinterpret_cast<std::byte*>(control_) + samples_at);
    return {samples + playing * control_->play_frames, control_->play_frames};
}

std::span<float> SharedStream::input(std::size_t channel) const {
    auto* samples = reinterpret_cast<float*>(reinterpret_cast<std::byte*>(control_) + samples_at);
    return {samples + control_->playing * control_->play_frames + channel * control_->capacity_frames, control_->capacity_frames};
}

void put_text(std::span<char> target, std::string_view text) {
    const std::size_t count = std::min(text.size(), target.size() - 1);
    std::copy_n(text.data(), count, target.data());
    target[count] = '\0';
}

std::string_view get_text(std::span<const char> source) {
    const auto end = std::find(source.begin(), source.end(), '\0');
    return {source.data(), static_cast<std::size_t>(end - source.begin())};
}

}  // namespace proofwalk::capture
