#include "units/fault.hpp"

namespace proofwalk {

std::string sentence(const Fault& fault) {
    std::string where = fault.file;
    if (!fault.place.empty()) where += (where.empty() ? "" : ", ") + fault.place;
    std::string text = where.empty() ? fault.reason : where + ": " + fault.reason;
    if (!fault.remedy.empty()) text += "; " + fault.remedy;
    return text;
}

int exit_status(const Fault& fault) { return fault.kind == FaultKind::input ? 2 : 3; }

}  // namespace proofwalk
