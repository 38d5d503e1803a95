// A recording that its log could not take, put away as a recorded take: `proofwalk ingest` takes it in later.
#pragma once

#include <filesystem>
#include <span>

#include "capture/recording.hpp"

namespace proofwalk::capture {

// $XDG_STATE_HOME/proofwalk/rescued, else ~/.local/state/proofwalk/rescued, else in the folder for temporary files.
[[nodiscard]] std::filesystem::path rescue_folder();

// Writes the recording, what was played and a takes.toml (proofwalk.takes/1) into a folder of their own under `folder`; gives the
// takes.toml. Overlapped sweeps are put away with the signal in the place of the reference, which carries all of them at once.
[[nodiscard]] Result<std::filesystem::path> rescue(const Recording& recording, std::span<const Mic> mics, const std::filesystem::path& folder = rescue_folder());

}  // namespace proofwalk::capture
