// One show: its log and the plan revision that it is judged against. Both programs start here.
#pragma once

#include <filesystem>
#include <memory>
#include <string>

#include "log/log.hpp"
#include "plan/read.hpp"

namespace proofwalk::walk {

struct JudgingAhead;  // see judged.hpp

struct Show {
    log::Log log;
    plan::PlanFile plan;
    int revision = 0;
    std::shared_ptr<JudgingAhead> ahead = {};
};

// Who does something and with what, now. `device`: "recorded", "rehearsal" or the audio device's name.
[[nodiscard]] log::Origin origin(std::string who, std::string device = {});
[[nodiscard]] std::string tool_name();  // "proofwalk 0.1.0"

// A log that holds a plan already.
[[nodiscard]] Checked<Show> open_show(const std::filesystem::path& log_file, log::Mode mode);
// A log for this plan: made when there is none, given a new plan revision when the bytes differ from its newest.
[[nodiscard]] Checked<Show> open_show(const std::filesystem::path& plan_file, const std::filesystem::path& log_file);

}  // namespace proofwalk::walk
