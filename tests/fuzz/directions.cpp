// What stands behind the HDF5 library. An even first byte: the rest is the answer of the child process. An odd one: the
// rest describes the arrays of a file, however contradictory, and its directions are worked out.
#include <cmath>
#include <cstring>

#include "acoustics/sofa_content.hpp"
#include "fuzz/outside.hpp"

namespace {

using namespace proofwalk;

class Bytes {
public:
    Bytes(const std::uint8_t* data, std::size_t size) : data_(data), left_(size) {}
    std::uint8_t byte() {
        if (left_ == 0) return 0;
        --left_;
        return *data_++;
    }
    // Small numbers of every sign, zero, huge ones and those that are none.
    double number() {
        const std::uint8_t form = byte();
        if (form % 8 != 0) return (static_cast<double>(form) - 128.0) * (form % 8 == 7 ? 1000.0 : 0.125);
        double value = 0.0;
        for (std::size_t at = 0; at < sizeof value; ++at) {
            const std::uint8_t next = byte();
            std::memcpy(reinterpret_cast<char*>(&value) + at, &next, 1);
        }
        return value;
    }
    [[nodiscard]] bool empty() const { return left_ == 0; }

private:
    const std::uint8_t* data_;
    std::size_t left_;
};

// Shapes as the reader of HDF5 gives them: no extent is zero, and there are as many values as they say.
acoustics::NumberArray array(Bytes& bytes) {
    acoustics::NumberArray array;
    std::size_t count = 1;
    for (int dimension = bytes.byte() % 6; dimension > 0; --dimension) {
        const std::size_t extent = 1 + bytes.byte() % 12;
        if (count * extent > 4096) break;
        array.shape.push_back(extent);
        count *= extent;
    }
    array.values.reserve(count);
    while (array.values.size() < count) array.values.push_back(bytes.number());
    return array;
}

acoustics::SofaContent content(Bytes& bytes) {
    acoustics::SofaContent content;
    const std::uint8_t form = bytes.byte();
    content.convention = form % 4 == 0 ? "SimpleFreeFieldHRIR" : std::string(acoustics::sofa_convention);
    content.data_type = form % 3 == 0 ? "FIR" : form % 3 == 1 ? "TF" : "SOS";
    constexpr const char* names[] = {"Data.Real", "Data.Imag", "N", "Data.IR", "Data.SamplingRate", "SourcePosition", "SourceView", "SourceUp",
                                     "ListenerPosition", "ListenerView", "ListenerUp", "ReceiverPosition"};
    while (!bytes.empty()) {
        const std::uint8_t which = bytes.byte();
        const std::string name = names[which % std::size(names)];
        content.types[name] = which >= 128 ? "spherical" : "cartesian";
        content.arrays[name] = array(bytes);
    }
    return content;
}

void look_at(const Result<std::vector<acoustics::SofaDirection>>& directions) {
    if (!directions) {
        fuzz::demand_sentence(directions.error());
        return;
    }
    fuzz::demand(directions->size() >= acoustics::fewest_directions, "enough directions");
    for (const acoustics::SofaDirection& direction : *directions) {
        const Vec3& towards = direction.towards;
        fuzz::demand(std::fabs(std::hypot(towards.x, towards.y, towards.z) - 1.0) < 2e-6, "a direction has length one");
        for (std::size_t band = 0; band < band_count; ++band)
            fuzz::demand(!direction.level_db.has(band) || std::isfinite(direction.level_db[band]), "a level is a number");
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    if (size == 0) return 0;
    if (data[0] % 2 == 0) {
        look_at(acoustics::from_reply({reinterpret_cast<const std::byte*>(data + 1), size - 1}));
        return 0;
    }
    Bytes bytes(data + 1, size - 1);
    const auto directions = acoustics::directions_of(content(bytes));
    look_at(directions);
    const auto reply = acoustics::from_reply(acoustics::reply_of(directions));
    fuzz::demand(reply.has_value() == directions.has_value(), "an answer comes through as it was given");
    fuzz::demand(!reply || reply->size() == directions->size(), "with as many directions");
    return 0;
}
