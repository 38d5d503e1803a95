// The gear of a show, proven from its loopback, match and calibrator takes; kept as gear records.
#pragma once

#include <string>
#include <vector>

#include "verify/gear.hpp"
#include "walk/show.hpp"

namespace proofwalk::walk {

struct CertificateNote {
    std::string subject;  // "m1 0417", "calibrator 2231"
    std::string until;    // "2027-03-01"
};
// "m1 0417=2027-03-01"
[[nodiscard]] Result<CertificateNote> certificate_from_text(const std::string& text);

// Judges the gear as the log knows it and keeps the verdicts; certificates given are kept too.
[[nodiscard]] Result<std::vector<verify::GearCheck>> prove_gear(Show& show, const std::vector<CertificateNote>& certificates,
                                                                const std::string& who);

// Why passes are withheld: a failed check of the newest proof. Nothing while none failed or nothing was proven yet.
[[nodiscard]] std::optional<std::string> gear_fault(const std::vector<log::GearRecord>& records);

}  // namespace proofwalk::walk
