// Directions and third-octave magnitudes out of an AES69 file. Internal to the folder; used by sofa_directivity.cpp.
#pragma once

#include <cstddef>
#include <filesystem>
#include <vector>

#include "acoustics/geometry.hpp"
#include "units/bands.hpp"
#include "units/fault.hpp"

namespace proofwalk::acoustics {

// What a source sends into one direction, seen along its own axes: a unit vector (forward, left, up) and the level of
// each third octave in dB (any common reference). Bands without data are absent.
struct SofaDirection {
    Vec3 towards;
    BandLevels level_db;
};

inline constexpr std::size_t fewest_directions = 6;

// Reads FreeFieldDirectivityTF and other files of data type TF or FIR (with one emitter) that hold one source seen from
// many directions: from many receivers in one measurement, or one receiver and many measurements in which a listener,
// receiver, source or source view moves. Magnitudes are power means over the bins of a third octave; a spectrum of single
// third-octave values is taken as it is. Refused with a reason: head-related files, more than one emitter, NaN, no
// frequencies, fewer than six directions. It is read in a process of its own, so that no file can take this one down.
[[nodiscard]] Result<std::vector<SofaDirection>> read_sofa(const std::filesystem::path& file);

}  // namespace proofwalk::acoustics
