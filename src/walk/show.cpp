#include "walk/show.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <array>
#include <utility>

#include "plan/diff.hpp"

namespace proofwalk::walk {
namespace {

std::string machine_name() {
    std::array<char, 256> name{};
    return gethostname(name.data(), name.size() - 1) == 0 ? name.data() : "unknown";
}

// What was hung or set by an earlier plan is no evidence for a box or position that the new revision changes; all else
// is judged again as it was measured.
std::optional<Fault> retire_what_changed(log::Log& log, const log::PlanRevision& before, const plan::Plan& after,
                                         int revision) {
    const auto earlier = plan::read(before.bytes, before.name, before.folder);
    if (!earlier) return std::nullopt;  // an older plan that can't be read any more has no targets to compare with
    for (const plan::Difference& difference : plan::differences(earlier->plan, after)) {
        std::vector<std::string> subjects;
        if (difference.section == "box" || difference.section == "position") subjects.push_back(difference.subject);
        if (difference.section == "model")
            for (const plan::Box& box : after.boxes)
                if (box.model == difference.subject) subjects.push_back(box.id);
        for (const std::string& subject : subjects)
            if (auto added = log.add_change({subject, fmt::format("plan revision {}: {}", revision, difference.words),
                                             origin(""), 0});
                !added)
                return added.error();
    }
    return std::nullopt;
}

}  // namespace

std::string tool_name() { return "proofwalk " PROOFWALK_VERSION; }

log::Origin origin(std::string who, std::string device) {
    return {std::move(who), machine_name(), tool_name(), std::move(device), now()};
}

Checked<Show> open_show(const std::filesystem::path& log_file, log::Mode mode) {
    // Only a plan begins a log: a mistyped name must not make an empty one.
    std::error_code ignored;
    auto log = log::Log::open(log_file, std::filesystem::exists(log_file, ignored) ? mode : log::Mode::read);
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
    auto before = log->newest_plan();
    if (!before) return std::unexpected(Faults{before.error()});
    std::error_code ignored;
    const auto folder = std::filesystem::absolute(plan_file, ignored).parent_path();
    auto revision = log->add_plan({0, plan->plan.name, plan->bytes, plan->sha256, folder.string(), origin("")});
    if (!revision) return std::unexpected(Faults{revision.error()});
    if (*before && (*before)->sha256 != plan->sha256)
        if (auto fault = retire_what_changed(*log, **before, plan->plan, *revision)) return std::unexpected(Faults{*fault});
    return Show{std::move(*log), std::move(*plan), *revision};
}

}  // namespace proofwalk::walk
