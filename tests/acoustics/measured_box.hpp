// The measured PA box of the open data beside the source (its SOURCE.md: whose, which licence): its polars every 5 degrees,
// and an AES69 file made of its 10 degree sphere.
#pragma once

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "acoustics/sofa_writer.hpp"
#include "units/bands.hpp"
#include "units/convert.hpp"

namespace proofwalk::acoustics {

using Rows = std::vector<std::vector<double>>;

inline std::filesystem::path measured_box_folder() { return PROOFWALK_SOURCE_DIR "/../shared/data/pa_box_directivity"; }
inline bool measured_box_present() { return std::filesystem::exists(measured_box_folder()); }

inline Rows rows_of_csv(const std::filesystem::path& path) {
    std::ifstream file(path);
    std::string line;
    std::getline(file, line);
    Rows rows;
    while (std::getline(file, line)) {
        std::istringstream stream(line);
        rows.emplace_back();
        for (std::string cell; std::getline(stream, cell, ',');) rows.back().push_back(std::stod(cell));
    }
    return rows;
}

// Angle, then dB by third octave from 20 Hz. Horizontal angles run to the right, vertical ones up.
inline Rows measured_polar(bool vertical) {
    return rows_of_csv(measured_box_folder() / (vertical ? "polar_v_5deg.csv" : "polar_h_5deg.csv"));
}

inline void write_measured_box(const std::filesystem::path& path) {
    std::vector<double> frequency_hz;
    for (std::size_t band = 0; band < band_count; ++band) frequency_hz.push_back(midband_hz(band));
    std::vector<MeasuredDirection> directions;
    for (const auto& row : rows_of_csv(measured_box_folder() / "sphere_10deg.csv")) {
        MeasuredDirection one{row[0], row[1], {}};
        for (std::size_t band = 0; band < band_count; ++band) one.magnitude.push_back(amplitude_of_db(row[2 + band]));
        directions.push_back(one);
    }
    write_directivity_tf(path, frequency_hz, directions);
}

}  // namespace proofwalk::acoustics
