#include "walk/show.hpp"

#include <unistd.h>

#include <array>
#include <utility>

namespace proofwalk::walk {
namespace {

std::string machine_name() {
    std::array<char, 256> name{};
    return gethostname(name.data(), name.size() - 1) == 0 ? name.data() : "unknown";
}

}  // namespace

std::string tool_name() { return "proofwalk " PROOFWALK_VERSION; }

log::Origin origin(std::string who, std::string device) {
    return {std::move(who), machine_name(), tool_name(), std::move(device), now()};
}

Checked<Show> open_show(const std::filesystem::path& log_file, log::Mode mode) {
    auto log = log::Log::open(log_file, mode);
    if (!log) return std::unexpected(Faults{log.error()});
    auto newest = log->newest_plan();
    if (!newest) return std::unexpected(Faults{newest.error()});
    if (!*newest)
        return std::unexpected(Faults{{FaultKind::input, log_file.string(), "", "the log holds no plan yet",
                                       "name the plan, for example: proofwalk ingest PLAN TAKES --log LOG"}});
    const log::PlanRevision& stored = **newest;
    auto plan = plan::read(stored.bytes, log_file.string() + " (plan revision " + std::to_string(stored.revision) + ")",
                           stored.folder);
    if (!plan) return std::unexpected(plan.error());
    return Show{std::move(*log), std::move(*plan), stored.revision};
}

Checked<Show> open_show(const std::filesystem::path& plan_file, const std::filesystem::path& log_file) {
    auto plan = plan::load(plan_file);
    if (!plan) return std::unexpected(plan.error());
    auto log = log::Log::open(log_file, log::Mode::write);
    if (!log) return std::unexpected(Faults{log.error()});
    std::error_code ignored;
    const auto folder = std::filesystem::absolute(plan_file, ignored).parent_path();
    auto revision = log->add_plan({0, plan->plan.name, plan->bytes, plan->sha256, folder.string(), origin("")});
    if (!revision) return std::unexpected(Faults{revision.error()});
    return Show{std::move(*log), std::move(*plan), *revision};
}

}  // namespace proofwalk::walk
