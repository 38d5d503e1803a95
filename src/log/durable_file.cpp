#include "log/durable_file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

namespace proofwalk::log {
namespace {

class Descriptor {
public:
    Descriptor(const std::filesystem::path& file, int flags) : number_(::open(file.c_str(), flags | O_CLOEXEC, 0644)) {}
    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;
    ~Descriptor() {
        if (number_ >= 0) ::close(number_);
    }
    [[nodiscard]] int number() const { return number_; }

private:
    int number_;
};

[[noreturn]] void fail(const std::filesystem::path& file, int error) {
    Fault fault{FaultKind::log, file.string(), "", "", ""};
    if (error == ENOSPC || error == EDQUOT) {
        fault.reason = "the disk is full";
        fault.remedy = "free some space and do it again; everything logged before is safe";
    } else if (error == EACCES || error == EROFS || error == EPERM) {
        fault.reason = "the folder is read-only";
        fault.remedy = "allow writing there or copy the log elsewhere";
    } else {
        fault.reason = fmt::format("cannot be written ({})", std::strerror(error));
        fault.remedy = "check the disk and do it again; everything logged before is safe";
    }
    throw StoreError{fault};
}

void write_all(const std::filesystem::path& file, int descriptor, std::span<const std::byte> bytes) {
    while (!bytes.empty()) {
        const ssize_t written = ::write(descriptor, bytes.data(), bytes.size());
        if (written < 0 && errno == EINTR) continue;
        if (written < 0) fail(file, errno);
        bytes = bytes.subspan(static_cast<std::size_t>(written));
    }
}

}  // namespace

void write_synced(const std::filesystem::path& file, std::span<const std::byte> bytes) {
    const std::filesystem::path part = fmt::format("{}.{}.part", file.string(), ::getpid());
    try {
        const Descriptor descriptor(part, O_WRONLY | O_CREAT | O_TRUNC);
        if (descriptor.number() < 0) fail(file, errno);
        write_all(file, descriptor.number(), bytes);
        if (::fsync(descriptor.number()) != 0) fail(file, errno);
        if (::rename(part.c_str(), file.c_str()) != 0) fail(file, errno);
    } catch (...) {
        ::unlink(part.c_str());
        throw;
    }
}

void sync_file(const std::filesystem::path& file) {
    const Descriptor descriptor(file, O_RDONLY);
    if (descriptor.number() < 0 || ::fsync(descriptor.number()) != 0) fail(file, errno);
}

void copy_synced(const std::filesystem::path& source, const std::filesystem::path& target) {
    const std::filesystem::path part = fmt::format("{}.{}.part", target.string(), ::getpid());
    std::error_code error;
    try {
        if (!std::filesystem::copy_file(source, part, std::filesystem::copy_options::overwrite_existing, error))
            fail(target, error.value());
        sync_file(part);
        if (::rename(part.c_str(), target.c_str()) != 0) fail(target, errno);
    } catch (...) {
        ::unlink(part.c_str());
        throw;
    }
}

void make_folder(const std::filesystem::path& folder) {
    if (::mkdir(folder.c_str(), 0755) == 0) {
        const std::filesystem::path parent = folder.parent_path();
        sync_folder(parent.empty() ? "." : parent);
    } else if (errno != EEXIST) {
        fail(folder, errno);
    }
}

void sync_folder(const std::filesystem::path& folder) {
    const Descriptor descriptor(folder, O_RDONLY | O_DIRECTORY);
    if (descriptor.number() < 0) fail(folder, errno);
    // Some file systems cannot sync a folder and say so with EINVAL; they order names by themselves.
    if (::fsync(descriptor.number()) != 0 && errno != EINVAL) fail(folder, errno);
}

void write_durably(const std::filesystem::path& file, std::span<const std::byte> bytes) {
    make_folder(file.parent_path());
    write_synced(file, bytes);
    sync_folder(file.parent_path());
}

std::optional<std::vector<std::byte>> bytes_of(const std::filesystem::path& file) {
    const Descriptor descriptor(file, O_RDONLY);
    if (descriptor.number() < 0) return std::nullopt;
    struct stat status {};
    if (::fstat(descriptor.number(), &status) != 0 || !S_ISREG(status.st_mode)) return std::nullopt;
    std::vector<std::byte> bytes(static_cast<std::size_t>(status.st_size));
    std::size_t done = 0;
    while (done < bytes.size()) {
        const ssize_t got = ::read(descriptor.number(), bytes.data() + done, bytes.size() - done);
        if (got < 0 && errno == EINTR) continue;
        if (got <= 0) return std::nullopt;
        done += static_cast<std::size_t>(got);
    }
    return bytes;
}

}  // namespace proofwalk::log
