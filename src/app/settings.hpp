// What the window remembers between starts: the last show, the paper, who walks, where takes come from. Kept as "name =
// value" lines; nothing of a show's record is in it.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "app/paper.hpp"
#include "rehearsal/rehearsal.hpp"
#include "units/fault.hpp"

namespace proofwalk::app {

struct Settings {
    std::filesystem::path last_log;
    std::vector<std::filesystem::path> recent;  // newest first
    PaperKind paper = PaperKind::hall;
    double larger = 1.0;          // type size on top of the screen's own scale
    std::string who, role = "system engineer";
    bool rehearse = true;         // takes come from the simulated room, else from `device`
    std::string device;
    int reference = 1;            // capture channel of the loopback
    int mics = 8;                 // carried at once
    double level_dbfs = -20.0, length_s = 3.0;
    unsigned seed = 1;
    double snr_db = 40.0;
    std::string faults;           // planted in the rehearsal, separated by spaces
    double count_in_s = 3.0;      // before each take of a round
    bool by_hand = true;          // one output feeds all circuits and somebody unmutes
    std::optional<std::int64_t> until_utc_s;  // the clock that the walk is against
    std::size_t sheet = 0;
};

[[nodiscard]] std::filesystem::path config_folder();  // XDG_CONFIG_HOME/proofwalk or ~/.config/proofwalk
[[nodiscard]] std::filesystem::path state_folder();   // XDG_STATE_HOME/proofwalk or ~/.local/state/proofwalk

// What can't be read keeps its default; a settings file is never a reason not to start.
[[nodiscard]] Settings settings_from_text(std::string_view text);
[[nodiscard]] std::string to_text(const Settings& settings);
[[nodiscard]] Settings load_settings(const std::filesystem::path& file);
// Written beside and put in place at once, so that a crash leaves the old or the new one.
[[nodiscard]] Result<void> save_settings(const Settings& settings, const std::filesystem::path& file);

// A file as people type, paste or drop it: "~/", quotes, "file://" and spaces around it are understood.
[[nodiscard]] std::filesystem::path path_from_typed(std::string_view text);

void remember(Settings& settings, const std::filesystem::path& log);

}  // namespace proofwalk::app
