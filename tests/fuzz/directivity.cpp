// AES69 files, as far as their bytes go: what is accepted has directions of length one and levels that are numbers. The
// field that is fitted through them takes seconds under the checkers and is tested with the folder. HDF5 1.10.8 itself reads freed memory on some malformed files (H5Aexists_by_name): such a
// report, with no frame of ours below the library's call, is that library's fault and ends this target's run.
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
