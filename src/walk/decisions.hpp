// What people decide: leave a check out, say that something was changed, sign.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "walk/judged.hpp"

namespace proofwalk::walk {

// Needs who and why; the check must be one of the plan's. Never a pass, and taken up again by any newer take.
[[nodiscard]] Result<void> skip(Show& show, const std::string& check, const std::string& subject,
                                const std::string& who, const std::string& why);

// What people usually give as a reason, each with the short word that stands for it.
struct SkipReason {
    std::string_view word, says;
};
[[nodiscard]] std::span<const SkipReason> usual_skip_reasons();
// The sentence of a short word; any other text as it is.
[[nodiscard]] std::string skip_reason(const std::string& why);

// A skipped check is asked again, as it was measured last. Needs who; refused when no skip of it stands.
[[nodiscard]] Result<void> take_up(Show& show, const std::string& check, const std::string& subject, const std::string& who);

// Something was re-tilted, moved, repatched or repaired: earlier takes of the subject (box, pair, circuit, array or
// position) retire and its checks reopen. Gives the number of checks that are open again.
[[nodiscard]] Result<int> change(Show& show, const std::string& subject, const std::string& who,
                                 const std::string& what);

struct Signing {
    std::string who, role;
    std::vector<std::string> exceptions;  // "CHECK:SUBJECT" each
    std::vector<std::string> scope = {};  // boxes or arrays that are signed; none: the whole plan
};
// Refused while a check in its scope is open, failed, unsure or skipped and not among the exceptions: one fault for each.
[[nodiscard]] Checked<log::SignOff> sign(Show& show, const Signing& signing);

// "the whole plan, revision 2, takes up to t34": what a signature covers.
[[nodiscard]] std::string covered_by(const log::SignOff& sign_off, const std::vector<log::TakeRecord>& takes);

// Why a sign-off no longer covers what is in the log; empty while it does.
[[nodiscard]] std::string stale_because(const log::SignOff& sign_off, const Show& show, const verify::Tally& tally,
                                        const Evidence& evidence);

}  // namespace proofwalk::walk
