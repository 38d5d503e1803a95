// How likely a kind of check hides a fault, learnt from the logs of earlier shows and kept in a file that people can edit.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "units/fault.hpp"
#include "walk/route/stakes.hpp"

namespace proofwalk::walk {

// What the walks of these logs judged: a check counts once a show, as failed where it failed at least once there, also when
// it was put right later. Logs that can't be read are named in `faults` and left out.
struct EarlierShows {
    route::Outcomes outcomes;
    std::size_t logs = 0;
    Faults faults;
};
[[nodiscard]] EarlierShows earlier_shows(const std::vector<std::filesystem::path>& logs);

// One line a kind of check, "aim-v = 0.061  # 5 of 62 earlier checks failed", with a word on how to use it.
[[nodiscard]] std::string likelihoods_text(const route::Odds& defaults, const EarlierShows& earlier);
// Every line a fault can be in is checked; `name` is for the faults. Kinds that the text does not name stay as in `defaults`.
[[nodiscard]] Checked<route::Odds> likelihoods_of(const route::Odds& defaults, std::string_view text, const std::string& name);

[[nodiscard]] Result<void> write_likelihoods(const std::filesystem::path& file, const std::string& text);
[[nodiscard]] Checked<route::Odds> read_likelihoods(const route::Odds& defaults, const std::filesystem::path& file);

}  // namespace proofwalk::walk
