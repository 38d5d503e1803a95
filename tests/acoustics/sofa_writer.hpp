// Writes AES69 files for tests: what a directivity measurement would leave, and broken ones.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include <hdf5.h>

namespace proofwalk::acoustics {

struct SofaWriter {
    hid_t file;

    explicit SofaWriter(const std::filesystem::path& path) : file(H5Fcreate(path.c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT)) {}
    SofaWriter(const SofaWriter&) = delete;
    SofaWriter& operator=(const SofaWriter&) = delete;
    ~SofaWriter() { H5Fclose(file); }

    void numbers(const std::string& name, const std::vector<hsize_t>& shape, const std::vector<double>& values, const std::string& type = "") {
        const hid_t space = H5Screate_simple(static_cast<int>(shape.size()), shape.data(), nullptr);
        const hid_t data = H5Dcreate2(file, name.c_str(), H5T_IEEE_F64LE, space, H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT);
        H5Dwrite(data, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data());
        if (!type.empty()) text(data, "Type", type);
        H5Dclose(data);
        H5Sclose(space);
    }
    void text(const std::string& name, const std::string& value) { text(file, name, value); }

    static void text(hid_t at, const std::string& name, const std::string& value) {
        const hid_t type = H5Tcopy(H5T_C_S1);
        H5Tset_size(type, value.size() + 1);
        const hid_t space = H5Screate(H5S_SCALAR);
        const hid_t attribute = H5Acreate2(at, name.c_str(), type, space, H5P_DEFAULT, H5P_DEFAULT);
        H5Awrite(attribute, type, value.c_str());
        H5Aclose(attribute);
        H5Sclose(space);
        H5Tclose(type);
    }
};

// One direction of a measurement: azimuth (towards left) and elevation in degrees, pressure magnitude per frequency.
struct MeasuredDirection {
    double azimuth_deg = 0.0, elevation_deg = 0.0;
    std::vector<double> magnitude;
};

// FreeFieldDirectivityTF: one measurement, one receiver a direction, 4 m away.
inline void write_directivity_tf(const std::filesystem::path& path, const std::vector<double>& frequency_hz,
                                 const std::vector<MeasuredDirection>& directions, const std::string& convention = "FreeFieldDirectivityTF") {
    SofaWriter writer(path);
    writer.text("Conventions", "SOFA");
    writer.text("SOFAConventions", convention);
    writer.text("DataType", "TF");
    std::vector<double> receivers, real;
    for (const MeasuredDirection& direction : directions) {
        receivers.insert(receivers.end(), {direction.azimuth_deg, direction.elevation_deg, 4.0});
        real.insert(real.end(), direction.magnitude.begin(), direction.magnitude.end());
    }
    writer.numbers("N", {frequency_hz.size()}, frequency_hz);
    writer.numbers("ReceiverPosition", {directions.size(), 3, 1}, receivers, "spherical");
    writer.numbers("ListenerPosition", {1, 3}, {0, 0, 0}, "cartesian");
    writer.numbers("SourcePosition", {1, 3}, {0, 0, 0}, "cartesian");
    writer.numbers("SourceView", {1, 3}, {1, 0, 0}, "cartesian");
    writer.numbers("SourceUp", {1, 3}, {0, 0, 1}, "cartesian");
    writer.numbers("Data.Real", {1, directions.size(), frequency_hz.size()}, real);
    writer.numbers("Data.Imag", {1, directions.size(), frequency_hz.size()}, std::vector<double>(real.size(), 0.0));
}

}  // namespace proofwalk::acoustics
