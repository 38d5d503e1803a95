#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <memory>

#include "cli/commands.hpp"
#include "plan/checks.hpp"
#include "plan/read.hpp"
#include "plan/targets.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string plan;
    bool json = false;
};

int check(Console& console, const Options& options) {
    const auto file = plan::load(options.plan);
    if (!file) return console.tell(file.error());
    for (const auto& warning : file->warnings) console.note("warning: " + warning);
    const plan::Plan& plan = file->plan;
    console.out() << fmt::format("{}: sound. \"{}\", {} boxes on {} circuits, {} positions, {} checks, sha256 {}\n", options.plan,
                                 plan.name, plan.boxes.size(), plan.circuits().size(), plan.positions.size(),
                                 plan::checks(plan).size(), file->sha256);
    return status_done;
}

int show(Console& console, const Options& options) {
    const auto file = plan::load(options.plan);
    if (!file) return console.tell(file.error());
    for (const auto& warning : file->warnings) console.note("warning: " + warning);
    const auto targets = plan::targets(file->plan, file->plan.air);
    const auto checks = plan::checks(file->plan);
    console.out() << (options.json ? report::plan_json(file->plan, file->sha256, targets, checks)
                                   : report::plan_text(file->plan, targets, checks, console.style()));
    return status_done;
}

}  // namespace

void add_plan_command(CLI::App& app, Console& console, Action& action) {
    CLI::App* plan = app.add_subcommand("plan", "Check a plan, or show what follows from it");
    plan->require_subcommand(1);
    auto options = std::make_shared<Options>();

    CLI::App* checking = plan->add_subcommand("check", "Every fault of a plan in one run, with line, reason and the nearest known key");
    checking->add_option("PLAN", options->plan, "the plan, a TOML file")->required();
    checking->footer("Example: proofwalk plan check hall.toml");
    checking->callback([=, &console, &action] { action = [=, &console] { return check(console, *options); }; });

    CLI::App* showing = plan->add_subcommand("show", "What each position should hear of each box, and the checks that follow");
    showing->add_option("PLAN", options->plan, "the plan, a TOML file")->required();
    showing->add_flag("--json", options->json, "for programs");
    showing->footer("Example: proofwalk plan show hall.toml --json");
    showing->callback([=, &console, &action] { action = [=, &console] { return show(console, *options); }; });

    add_plan_desk_commands(*plan, console, action);
}

}  // namespace proofwalk::cli
