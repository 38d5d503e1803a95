// What people add to the record beside verdicts: notes, incidents, photos; and how a check was judged over time.
#pragma once

#include <filesystem>
#include <string>

#include "report/record_document.hpp"
#include "walk/show.hpp"

namespace proofwalk::walk {

// `about`: anything that has a name here, "box M1", "position p3", "take t01"; "show" where it is empty. An incident is
// noted with the time at which it is written down.
[[nodiscard]] Result<void> note(Show& show, const std::string& about, const std::string& who, const std::string& text,
                                bool incident);

// Copies the file beside the log under its hash. `text`: what it shows; may be empty.
[[nodiscard]] Result<log::Attachment> attach(Show& show, const std::filesystem::path& file, const std::string& about,
                                             const std::string& who, const std::string& text = {});

// The bytes of what was attached, by its hash. Faults: unknown to the log; the file beside it is gone or is not what was attached.
[[nodiscard]] Result<std::string> attached_bytes(const Show& show, const std::string& sha256);

// Every change of a check's verdict, and every skip, oldest first. The check must be one of the plan's or have a past.
[[nodiscard]] Result<report::RecordDocument> history(const Show& show, const std::string& check, const std::string& subject);

}  // namespace proofwalk::walk
