// Reading arrays and texts from an HDF5 file, which is what an AES69 (netCDF-4) file is. Internal to the folder.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace proofwalk::acoustics {

// Row-major, the last dimension runs fastest.
struct NumberArray {
    std::vector<std::size_t> shape;
    std::vector<double> values;
};

class Hdf5Reader {
public:
    // Nothing when the file can't be opened as HDF5.
    [[nodiscard]] static std::optional<Hdf5Reader> open(const std::filesystem::path& file);

    // A dataset of numbers; nothing when there is none of that name, it is no numbers, or it is absurdly large.
    [[nodiscard]] std::optional<NumberArray> numbers(const std::string& dataset) const;
    // An attribute of the file (empty dataset name) or of a dataset; empty when there is none or it is no text.
    [[nodiscard]] std::string text(const std::string& dataset, const std::string& attribute) const;

private:
    struct File;
    explicit Hdf5Reader(std::shared_ptr<const File> file) : file_(std::move(file)) {}
    std::shared_ptr<const File> file_;
};

}  // namespace proofwalk::acoustics
