// One family with equal-width figures, in four sizes. Characters are drawn into the atlas when a text first needs them, so
// that a start is quick and a name in any script still reads (a fallback font serves what the family lacks).
#pragma once

#include <array>
#include <bitset>
#include <filesystem>
#include <string_view>

#include "units/fault.hpp"

struct ImFont;

namespace proofwalk::app {

enum class Size { small, body, head, huge };  // 13, 16, 22 and 34 px at scale 1

struct FontFiles {
    std::filesystem::path regular, bold;
    std::filesystem::path fallback;  // empty: none on this machine
};
// A fault names the Debian package to install.
[[nodiscard]] Result<FontFiles> find_fonts();

class Fonts {
public:
    explicit Fonts(FontFiles files);

    // Fills the current ImGui context's atlas; the renderer must upload the texture again.
    void build(float scale);
    [[nodiscard]] bool built() const { return faces_[0] != nullptr; }
    [[nodiscard]] ImFont* face(Size size) const { return faces_[static_cast<std::size_t>(size)]; }
    [[nodiscard]] float scale() const { return scale_; }

    // Notes the characters of a text; `wants_build` when some are not in the atlas yet.
    void need(std::string_view utf8);
    [[nodiscard]] bool wants_build() const { return missing_; }

private:
    FontFiles files_;
    std::array<ImFont*, 4> faces_{};
    float scale_ = 1.0F;
    std::bitset<65536> wanted_;
    bool missing_ = false;
    bool beyond_ = false;  // a text needed more than the first set: only then is the fallback font opened
};

}  // namespace proofwalk::app
