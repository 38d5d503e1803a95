// What people decide: leave a check out, say that something was changed, sign.
#pragma once

#include <string>
#include <vector>

#include "walk/judged.hpp"

namespace proofwalk::walk {

// Needs who and why; the check must be one of the plan's. Never a pass, and taken up again by any newer take.
[[nodiscard]] Result<void> skip(Show& show, const std::string& check, const std::string& subject,
                                const std::string& who, const std::string& why);

// Something was re-tilted, moved, repatched or repaired: earlier takes of the subject (box, pair, circuit, array or
// position) retire and its checks reopen. Gives the number of checks that are open again.
[[nodiscard]] Result<int> change(Show& show, const std::string& subject, const std::string& who,
                                 const std::string& what);

struct Signing {
    std::string who, role;
    std::vector<std::string> exceptions;  // "CHECK:SUBJECT" each
};
// Refused while a check is open, failed, unsure or skipped and not among the exceptions: one fault for each.
[[nodiscard]] Checked<log::SignOff> sign(Show& show, const Signing& signing);

// Why a sign-off no longer covers what is in the log; empty while it does.
[[nodiscard]] std::string stale_because(const log::SignOff& sign_off, const Show& show, const verify::Tally& tally,
                                        const Evidence& evidence);

}  // namespace proofwalk::walk
