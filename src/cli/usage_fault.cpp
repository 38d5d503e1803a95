#include "cli/usage_fault.hpp"

#include <fmt/format.h>

#include <string>
#include <string_view>
#include <vector>

#include "units/nearest.hpp"

namespace proofwalk::cli {
namespace {

const CLI::App& chosen(const CLI::App& app) {
    const CLI::App* at = &app;
    while (!at->get_subcommands().empty()) at = at->get_subcommands().back();
    return *at;
}

// "proofwalk plan check"
std::string full_name(const CLI::App& command) {
    const CLI::App* parent = command.get_parent();
    return parent == nullptr ? command.get_name() : full_name(*parent) + " " + command.get_name();
}

std::vector<std::string> known_words(const CLI::App& command, bool option) {
    std::vector<std::string> words;
    if (option)
        for (const CLI::Option* one : command.get_options())
            for (const std::string& name : one->get_lnames()) words.push_back("--" + name);
    else
        for (const CLI::App* one : command.get_subcommands({})) words.push_back(one->get_name());
    return words;
}

}  // namespace

Fault usage_fault(const CLI::App& app, const CLI::ParseError& error) {
    const CLI::App& command = chosen(app);
    const std::string help = "see: " + full_name(command) + " --help";
    const std::vector<std::string> unknown = app.remaining(true);
    // A word that is no command leaves the command missing.
    const auto code = static_cast<CLI::ExitCodes>(error.get_exit_code());
    if (unknown.empty() || (code != CLI::ExitCodes::ExtrasError && code != CLI::ExitCodes::RequiredError)) return {FaultKind::input, "", "command line", error.what(), help};
    // A parser collects words in whatever order; an unknown option explains the bare words after it.
    std::string word = unknown.front();
    for (const std::string& one : unknown)
        if (one.starts_with("-")) word = one;
    const bool option = word.starts_with("-");
    word = word.substr(0, word.find('='));
    const std::vector<std::string> known = known_words(command, option);
    const std::vector<std::string_view> views(known.begin(), known.end());
    const std::string nearest = nearest_remedy(word, views, option ? "option" : "command");
    return {FaultKind::input, "", "command line", fmt::format("{} does not know \"{}\"", full_name(command), word),
            nearest.empty() ? help : nearest + "; " + help};
}

}  // namespace proofwalk::cli
