// AES69 files as the program reads them: in a child process that the HDF5 library may crash or hang (it reads freed memory
// on some malformed files), with an answer that is a reading or a sentence. The field that is fitted through the directions
// takes seconds under the checkers and is tested with the folder; what is made of a file's arrays is the target `directions`.
#include <cmath>

#include "acoustics/sofa_file.hpp"
#include "fuzz/outside.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace proofwalk;
    static const fuzz::Folder folder;
    const auto directions = acoustics::read_sofa(folder.write("box.sofa", fuzz::as_text(data, size)));
    if (!directions) {
        fuzz::demand_sentence(directions.error());
        return 0;
    }
    fuzz::demand(directions->size() >= 6, "six directions or more");
    for (const acoustics::SofaDirection& direction : *directions) {
        const Vec3& towards = direction.towards;
        const double length = std::hypot(towards.x, towards.y, towards.z);
        fuzz::demand(std::fabs(length - 1.0) < 1e-6, "a direction has length one");
        for (std::size_t band = 0; band < band_count; ++band)
            fuzz::demand(!direction.level_db.has(band) || std::isfinite(direction.level_db[band]), "a level is a number");
    }
    return 0;
}
