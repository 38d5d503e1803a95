#include "acoustics/sofa_file.hpp"

#include "acoustics/guarded_work.hpp"
#include "acoustics/sofa_content.hpp"

namespace proofwalk::acoustics {

// The HDF5 library reads freed memory on some malformed files, so nothing of it runs in this process.
Result<std::vector<SofaDirection>> read_sofa(const std::filesystem::path& file) {
    const auto refuse = [](std::string reason, std::string remedy) {
        return std::unexpected(Fault{FaultKind::input, "", "", std::move(reason), std::move(remedy)});
    };
    const Guarded read = guarded([&] {
        const auto content = sofa_content(file);
        return reply_of(content ? directions_of(*content) : std::unexpected(content.error()));
    });
    switch (read.end) {
        case GuardedEnd::answered: return from_reply(read.answer);
        case GuardedEnd::crashed: return refuse("this AES69 file is malformed: the HDF5 library fails on it", "write the file anew");
        case GuardedEnd::too_slow: return refuse("reading this AES69 file comes to no end", "write the file anew");
        case GuardedEnd::too_much: return refuse("this AES69 file holds more directions than any box needs", "thin it out");
        case GuardedEnd::not_started: break;
    }
    return refuse("the process that reads AES69 files cannot be started", "close other programs and try again");
}

}  // namespace proofwalk::acoustics
