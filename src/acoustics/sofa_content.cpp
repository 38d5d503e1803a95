#include "acoustics/sofa_content.hpp"

#include <fmt/format.h>

namespace proofwalk::acoustics {

Result<SofaContent> sofa_content(const std::filesystem::path& path) {
    const auto file = Hdf5Reader::open(path);
    if (!file)
        return std::unexpected(Fault{FaultKind::input, "", "",
                                     std::filesystem::exists(path) ? "this is no AES69 file (not HDF5)" : "there is no such file",
                                     fmt::format("give an AES69 file of convention {}", sofa_convention)});
    SofaContent content;
    content.convention = file->text("", "SOFAConventions");
    content.data_type = file->text("", "DataType");
    for (const char* name : {"Data.Real", "Data.Imag", "N", "Data.IR", "Data.SamplingRate", "SourcePosition", "SourceView", "SourceUp",
                             "ListenerPosition", "ListenerView", "ListenerUp", "ReceiverPosition"}) {
        auto numbers = file->numbers(name);
        if (!numbers) continue;
        content.arrays.emplace(name, std::move(*numbers));
        content.types.emplace(name, file->text(name, "Type"));
    }
    return content;
}

}  // namespace proofwalk::acoustics
