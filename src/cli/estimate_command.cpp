#include <CLI/CLI.hpp>

#include "cli/estimate_kit.hpp"

namespace proofwalk::cli {

void add_estimate_command(CLI::App& app, Console& console, Action& action) {
    CLI::App* estimate = app.add_subcommand("estimate", "Work out aims, splays, spacings, delays and hangs before the show");
    estimate->require_subcommand(1);
    estimate->footer("Lengths: 3.5, \"3.5 m\", \"12 ft\", \"12' 6\\\"\". Formulas and their sources: docs/formulas.md.\n"
                     "Hanging and aiming loads is for competent riggers, by the rules of the place.");
    add_geometry_estimates(*estimate, console, action);
    add_pair_estimates(*estimate, console, action);
    add_chain_estimates(*estimate, console, action);
    add_plan_estimates(*estimate, console, action);
}

}  // namespace proofwalk::cli
