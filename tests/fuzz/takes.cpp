// Takes files, beside one small calibration; the recordings they name are not there.
#include "capture/takes_file.hpp"
#include "fuzz/outside.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace proofwalk;
    static const fuzz::Folder folder;
    static const auto calibration = folder.write("m1.txt", "20 0.5\n1000 0\n20000 -1.5\n");
    const auto takes = capture::load_takes(folder.write("takes.toml", fuzz::as_text(data, size)));
    if (!takes) {
        fuzz::demand_sentences(takes.error());
        return 0;
    }
    for (const Fault& fault : takes->faults) fuzz::demand_sentence(fault);
    return 0;
}
