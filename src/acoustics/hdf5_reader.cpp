#include "acoustics/hdf5_reader.hpp"

#include <algorithm>

#include <hdf5.h>

namespace proofwalk::acoustics {
namespace {

constexpr hsize_t most_values = 50'000'000;  // 400 MB of doubles: more is no directivity file

// An HDF5 identifier, closed by the function that belongs to its kind.
class Handle {
public:
    Handle(hid_t id, herr_t (*close)(hid_t)) : id_(id), close_(close) {}
    Handle(const Handle&) = delete;
    Handle& operator=(const Handle&) = delete;
    ~Handle() {
        if (id_ >= 0) close_(id_);
    }
    [[nodiscard]] hid_t get() const { return id_; }
    explicit operator bool() const { return id_ >= 0; }

private:
    hid_t id_;
    herr_t (*close_)(hid_t);
};

std::string text_of(hid_t attribute) {
    const Handle type(H5Aget_type(attribute), H5Tclose);
    const Handle space(H5Aget_space(attribute), H5Sclose);
    if (!type || !space || H5Tget_class(type.get()) != H5T_STRING || H5Sget_simple_extent_npoints(space.get()) != 1) return {};
    if (H5Tis_variable_str(type.get()) > 0) {
        const Handle memory(H5Tcopy(H5T_C_S1), H5Tclose);
        H5Tset_size(memory.get(), H5T_VARIABLE);
        H5Tset_cset(memory.get(), H5Tget_cset(type.get()));
        char* found = nullptr;
        if (H5Aread(attribute, memory.get(), &found) < 0 || found == nullptr) return {};
        std::string text(found);
        H5free_memory(found);
        return text;
    }
    std::string text(H5Tget_size(type.get()), '\0');
    if (H5Aread(attribute, type.get(), text.data()) < 0) return {};
    text.resize(std::min(text.find('\0'), text.size()));
    return text;
}

}  // namespace

struct Hdf5Reader::File {
    Handle handle;
};

std::optional<Hdf5Reader> Hdf5Reader::open(const std::filesystem::path& file) {
    H5Eset_auto2(H5E_DEFAULT, nullptr, nullptr);  // faults are told as values, not printed by the library
    if (H5Fis_hdf5(file.c_str()) <= 0) return std::nullopt;
    const hid_t id = H5Fopen(file.c_str(), H5F_ACC_RDONLY, H5P_DEFAULT);
    if (id < 0) return std::nullopt;
    return Hdf5Reader(std::shared_ptr<const File>(new File{Handle(id, H5Fclose)}));
}

std::optional<NumberArray> Hdf5Reader::numbers(const std::string& dataset) const {
    const hid_t file = file_->handle.get();
    if (H5Lexists(file, dataset.c_str(), H5P_DEFAULT) <= 0) return std::nullopt;
    const Handle data(H5Dopen2(file, dataset.c_str(), H5P_DEFAULT), H5Dclose);
    if (!data) return std::nullopt;
    const Handle type(H5Dget_type(data.get()), H5Tclose);
    const Handle space(H5Dget_space(data.get()), H5Sclose);
    const H5T_class_t kind = type ? H5Tget_class(type.get()) : H5T_NO_CLASS;
    if (!space || (kind != H5T_FLOAT && kind != H5T_INTEGER)) return std::nullopt;
    const int dimensions = H5Sget_simple_extent_ndims(space.get());
    if (dimensions < 0 || dimensions > 8) return std::nullopt;
    std::vector<hsize_t> extent(static_cast<std::size_t>(dimensions));
    if (dimensions > 0) H5Sget_simple_extent_dims(space.get(), extent.data(), nullptr);
    NumberArray found;
    hsize_t count = 1;
    for (const hsize_t size : extent) {
        if (size == 0 || size > most_values / count) return std::nullopt;
        count *= size;
        found.shape.push_back(static_cast<std::size_t>(size));
    }
    found.values.resize(static_cast<std::size_t>(count));
    if (H5Dread(data.get(), H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, found.values.data()) < 0) return std::nullopt;
    return found;
}

std::string Hdf5Reader::text(const std::string& dataset, const std::string& attribute) const {
    const hid_t file = file_->handle.get();
    const std::string object = dataset.empty() ? "/" : dataset;
    if (!dataset.empty() && H5Lexists(file, dataset.c_str(), H5P_DEFAULT) <= 0) return {};
    if (H5Aexists_by_name(file, object.c_str(), attribute.c_str(), H5P_DEFAULT) <= 0) return {};
    const Handle id(H5Aopen_by_name(file, object.c_str(), attribute.c_str(), H5P_DEFAULT, H5P_DEFAULT), H5Aclose);
    return id ? text_of(id.get()) : std::string{};
}

}  // namespace proofwalk::acoustics
