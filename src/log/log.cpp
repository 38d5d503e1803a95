#include "log/log.hpp"

#include "log/open_log.hpp"

namespace proofwalk::log {

std::filesystem::path Log::Impl::takes_folder() const { return takes_folder_of(file); }

Log::Log(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Log::Log(Log&&) noexcept = default;
Log& Log::operator=(Log&&) noexcept = default;
Log::~Log() = default;

Result<Log> Log::open(const std::filesystem::path& file, Mode mode, std::chrono::milliseconds wait) {
    return as_result([&] {
        auto impl = std::make_unique<Impl>();
        impl->file = file;
        impl->mode = mode;
        impl->database = open_database(file, mode, wait);
        return Log(std::move(impl));
    });
}

const std::filesystem::path& Log::file() const { return impl_->file; }
std::filesystem::path Log::takes_folder() const { return impl_->takes_folder(); }

}  // namespace proofwalk::log
