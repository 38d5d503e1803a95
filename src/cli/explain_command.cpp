#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <memory>

#include "cli/commands.hpp"
#include "report/explanation.hpp"
#include "report/file_writing.hpp"
#include "walk/judged.hpp"

namespace proofwalk::cli {
namespace {

struct Options {
    std::string what, log, draw;
    bool json = false;
};

std::string known_words() {
    std::string words;
    for (const auto& entry : report::glossary())
        for (const std::string& word : entry.words)
            if (plan::check_from_word(word)) words += (words.empty() ? "" : ", ") + word;
    return words;
}

int draw(Console& console, const Options& options, const std::vector<verify::Explanation>& all) {
    const std::filesystem::path path = options.draw;
    const auto written = report::write_whole(path.has_parent_path() ? path.parent_path() : std::filesystem::path("."), path.filename().string(),
                                             report::explanations_svg("Why: " + options.what, all));
    if (!written) return console.tell(written.error());
    console.note("drawn: " + written->string());
    return status_done;
}

int teach(Console& console, const Options& options) {
    const report::GlossaryEntry* entry = plan::check_from_word(options.what) ? report::glossary_entry(options.what) : nullptr;
    if (entry == nullptr)
        return console.tell(Fault{FaultKind::input, "", "command line", fmt::format("\"{}\" is no check", options.what),
                                  fmt::format("give one of {}; or a subject and its log", known_words())});
    if (!options.draw.empty())
        return console.tell(Fault{FaultKind::input, "", "command line", "without a log there is nothing to draw", "give the log, or leave --draw out"});
    console.out() << (options.json ? report::explanations_json({}, {entry}) : report::teaching_text(*entry, console.style()));
    return status_done;
}

int explain(Console& console, const Options& options) {
    if (options.log.empty()) return teach(console, options);
    const auto show = walk::open_show(options.log, log::Mode::read);
    if (!show) return console.tell(show.error());
    const auto evidence = walk::load_evidence(*show);
    if (!evidence) return console.tell(evidence.error());
    const std::vector<verify::Explanation> all = verify::explain(walk::input_of(*show, *evidence), options.what);
    if (all.empty())
        return console.tell(Fault{FaultKind::input, options.log, "", fmt::format("\"{}\" is neither a check nor a subject of this plan", options.what),
                                  "give a check (aim-h), a subject (as the tally names it) or both (aim-h:M1)"});
    std::vector<const report::GlossaryEntry*> teaching;
    for (const verify::Explanation& why : all) {
        const report::GlossaryEntry* entry = report::glossary_entry(plan::word(why.check.kind));
        if (entry != nullptr && std::ranges::find(teaching, entry) == teaching.end()) teaching.push_back(entry);
    }
    if (options.json) {
        console.out() << report::explanations_json(all, teaching);
    } else {
        for (const verify::Explanation& why : all) console.out() << report::explanation_text(why, console.style()) << "\n";
        for (const report::GlossaryEntry* entry : teaching) console.out() << report::teaching_text(*entry, console.style()) << "\n";
    }
    return options.draw.empty() ? status_done : draw(console, options, all);
}

}  // namespace

void add_explain_command(CLI::App& app, Console& console, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand("explain", "Why a check came out as it did, or what a check is");
    command->add_option("WHAT", options->what, "a check (aim-h), a subject (M1, M1+M2) or both (aim-h:M1)")->required();
    command->add_option("LOG", options->log, "the show's log; without it the check is taught");
    command->add_flag("--json", options->json, "for programs");
    command->add_option("--draw", options->draw, "write figures and budgets as an SVG file");
    command->footer("Examples: proofwalk explain aim-v\n          proofwalk explain aim-v:M1 show.db --draw why.svg");
    command->callback([=, &console, &action] { action = [=, &console] { return explain(console, *options); }; });
}

}  // namespace proofwalk::cli
