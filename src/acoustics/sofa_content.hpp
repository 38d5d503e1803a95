// What an AES69 file says, before its directions are worked out. Internal to the folder.
#pragma once

#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "acoustics/hdf5_reader.hpp"
#include "acoustics/sofa_file.hpp"

namespace proofwalk::acoustics {

inline constexpr std::string_view sofa_convention = "FreeFieldDirectivityTF";

struct SofaContent {
    std::string convention, data_type;
    std::map<std::string, NumberArray> arrays;  // by the names of the standard; what is missing or no numbers is absent
    std::map<std::string, std::string> types;   // "cartesian" or "spherical", of the arrays that are places or directions

    [[nodiscard]] const NumberArray* find(const std::string& name) const {
        const auto found = arrays.find(name);
        return found == arrays.end() ? nullptr : &found->second;
    }
};

// In this very process: only for files that are trusted, and for the child that read_sofa starts.
[[nodiscard]] Result<SofaContent> sofa_content(const std::filesystem::path& file);
[[nodiscard]] Result<std::vector<SofaDirection>> directions_of(const SofaContent& content);

// A reading as bytes, and back. The bytes come from a process that a hostile file may have in its hands: everything in
// them is doubted, and what was never a reading is refused.
[[nodiscard]] std::vector<std::byte> reply_of(const Result<std::vector<SofaDirection>>& read);
[[nodiscard]] Result<std::vector<SofaDirection>> from_reply(std::span<const std::byte> reply);

}  // namespace proofwalk::acoustics
