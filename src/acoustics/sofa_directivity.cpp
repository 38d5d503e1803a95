#include "acoustics/directivity.hpp"

namespace proofwalk::acoustics {

Result<std::shared_ptr<const Directivity>> directivity_from_sofa(const std::filesystem::path& file) {
    return std::unexpected(Fault{FaultKind::input, file.string(), "", "AES69 directivity files are not read by this build",
                                 "leave the key directivity out to use the beam model"});
}

}  // namespace proofwalk::acoustics
