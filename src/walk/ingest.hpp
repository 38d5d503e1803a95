// Recorded takes into the log: what can be used is verified, what can't is named.
#pragma once

#include <filesystem>
#include <functional>

#include "walk/store_take.hpp"

namespace proofwalk::walk {

// Called as soon as a take is durable.
using Logged = std::function<void(const StoredTake& take, std::size_t done, std::size_t whole)>;

// Gives the faults of single takes; the others are in the log and judged. A fault of the takes file as a whole, or of the
// log, ends it.
[[nodiscard]] Checked<Faults> ingest(Show& show, const std::filesystem::path& takes_file, const Logged& logged);

}  // namespace proofwalk::walk
