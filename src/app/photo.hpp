// Photos that were attached to a log, as pixels to look at.
#pragma once

#include <string>
#include <string_view>

#include "app/pictures.hpp"
#include "units/fault.hpp"

namespace proofwalk::app {

inline constexpr int most_photo_pixels = 64'000'000;  // what a phone makes; decoded it takes four bytes each
inline constexpr int most_photo_side = 2048;          // shown: made smaller by whole areas, so that nothing flickers

// A PNG or JPEG, upright as its Exif orientation tag (Exif 2.3, tag 0x0112) says. Faults: another kind of file, damaged, giant.
[[nodiscard]] Result<Pixels> photo_from_bytes(std::string_view bytes, const std::string& name, int most_side = most_photo_side);

// 1 to 8 as in Exif; 1 where nothing is said or what is said can't be read.
[[nodiscard]] int orientation_of(std::string_view jpeg);
// Turned and mirrored so that row and column 0 are where the orientation says they are.
[[nodiscard]] Pixels upright(Pixels pixels, int orientation);
// No side longer than this; each pixel the mean of what it covers.
[[nodiscard]] Pixels made_smaller(Pixels pixels, int most_side);

}  // namespace proofwalk::app
