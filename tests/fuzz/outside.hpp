// What every target needs: the input as text, a place in memory for files, and a way to say that a promise was broken.
#pragma once

#include <unistd.h>

#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <string_view>

#include "units/fault.hpp"

namespace proofwalk::fuzz {

// Ends the run as a finding.
inline void demand(bool holds, const char* promise) {
    if (holds) return;
    std::fprintf(stderr, "broken promise: %s\n", promise);
    std::abort();
}

inline void demand_sentence(const Fault& fault) {
    demand(!fault.reason.empty(), "a fault says its reason");
    demand(!sentence(fault).empty(), "a fault is a sentence");
}
inline void demand_sentences(const Faults& faults) {
    demand(!faults.empty(), "a refusal has at least one fault");
    for (const Fault& fault : faults) demand_sentence(fault);
}

inline std::string_view as_text(const std::uint8_t* data, std::size_t size) {
    return {reinterpret_cast<const char*>(data), size};
}

// A folder of this process, removed at its end.
class Folder {
public:
    Folder() {
        const std::filesystem::path memory = "/dev/shm";
        path_ = (::access(memory.c_str(), W_OK) == 0 ? memory : std::filesystem::temp_directory_path()) /
                ("proofwalk_fuzz_" + std::to_string(::getpid()));
        std::filesystem::create_directories(path_);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    ~Folder() {
        std::error_code ignored;
        std::filesystem::remove_all(path_, ignored);
    }
    [[nodiscard]] const std::filesystem::path& path() const { return path_; }
    [[nodiscard]] std::filesystem::path write(const std::string& name, std::string_view bytes) const {
        std::ofstream(path_ / name, std::ios::binary).write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
        return path_ / name;
    }

private:
    std::filesystem::path path_;
};

}  // namespace proofwalk::fuzz
