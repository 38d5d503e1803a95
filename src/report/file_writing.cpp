#include "report/file_writing.hpp"

#include <fstream>
#include <system_error>

namespace proofwalk::report {
namespace {

Fault cannot_write(const std::filesystem::path& file, const std::string& reason) {
    return {FaultKind::input, file.string(), "", reason, "choose a folder that can be written"};
}

}  // namespace

Result<std::filesystem::path> write_whole(const std::filesystem::path& folder, const std::string& name,
                                          const std::string& bytes) {
    std::error_code error;
    std::filesystem::create_directories(folder, error);
    if (error) return std::unexpected(cannot_write(folder, "the folder can't be made: " + error.message()));
    const std::filesystem::path file = folder / name;
    const std::filesystem::path unfinished = folder / (name + ".part");
    std::ofstream out(unfinished, std::ios::binary | std::ios::trunc);
    out << bytes;
    out.close();
    if (!out) {
        std::filesystem::remove(unfinished, error);
        return std::unexpected(cannot_write(file, "the file can't be written, the disk may be full or read-only"));
    }
    std::filesystem::rename(unfinished, file, error);
    if (error) return std::unexpected(cannot_write(file, "the file can't be put in place: " + error.message()));
    return file;
}

}  // namespace proofwalk::report
