#include "walk/likelihoods.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <set>
#include <sstream>

#include "log/log.hpp"

namespace proofwalk::walk {
namespace {

using CheckName = std::pair<std::string, std::string>;  // subject, check

Result<void> count(const std::filesystem::path& file, route::Outcomes& outcomes) {
    const auto log = log::Log::open(file, log::Mode::read);
    if (!log) return std::unexpected(log.error());
    const auto judgement = log->newest_judgement();
    if (!judgement) return std::unexpected(judgement.error());
    const auto failed = log->ever_failed();
    if (!failed) return std::unexpected(failed.error());
    std::set<CheckName> bad(failed->begin(), failed->end()), judged = bad;
    if (*judgement)
        for (const verify::CheckResult& check : (*judgement)->judgement.checks)
            if (check.verdict == verify::Verdict::pass || check.verdict == verify::Verdict::fail)
                judged.emplace(check.subject, std::string(plan::word(check.kind)));
    for (const auto& [subject, word] : judged)
        if (const auto kind = plan::check_from_word(word)) ++outcomes.judged[static_cast<std::size_t>(*kind)];
    for (const auto& [subject, word] : bad)
        if (const auto kind = plan::check_from_word(word)) ++outcomes.failed[static_cast<std::size_t>(*kind)];
    return {};
}

std::string_view trimmed(std::string_view text) {
    const auto first = text.find_first_not_of(" \t\r");
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

}  // namespace

EarlierShows earlier_shows(const std::vector<std::filesystem::path>& logs) {
    EarlierShows earlier;
    for (const auto& file : logs) {
        if (const auto counted = count(file, earlier.outcomes))
            ++earlier.logs;
        else
            earlier.faults.push_back(counted.error());
    }
    return earlier;
}

std::string likelihoods_text(const route::Odds& defaults, const EarlierShows& earlier) {
    const route::Odds learnt = route::learnt(defaults, earlier.outcomes);
    std::string text = fmt::format(
        "# How likely a check of each kind hides a fault before anyone has checked it, 0 to 1. Edit freely.\n"
        "# Read by: proofwalk next LOG --likelihoods FILE\n"
        "# Learnt from {} {}; the defaults count as 20 earlier checks of each kind (common practice, no source).\n\n",
        earlier.logs, earlier.logs == 1 ? "log" : "logs");
    for (std::size_t kind = 0; kind < route::check_kinds; ++kind)
        text += fmt::format("{:<9} = {:.4f}  # {} of {} earlier checks failed\n", plan::word(static_cast<plan::CheckKind>(kind)), learnt.fault[kind],
                            earlier.outcomes.failed[kind], earlier.outcomes.judged[kind]);
    return text;
}

Checked<route::Odds> likelihoods_of(const route::Odds& defaults, std::string_view text, const std::string& name) {
    route::Odds odds = defaults;
    Faults faults;
    for (std::size_t line = 1; !text.empty(); ++line) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        const std::string_view whole = text.substr(0, end), content = trimmed(whole.substr(0, whole.find('#')));
        text.remove_prefix(std::min(end + 1, text.size()));
        if (content.empty()) continue;
        const std::size_t equals = content.find('=');
        const std::string asked = equals == std::string_view::npos ? std::string(content)
                                                                  : fmt::format("{}={}", trimmed(content.substr(0, equals)), trimmed(content.substr(equals + 1)));
        if (auto set = route::set_odds(odds, asked); !set) {
            set.error().file = name;
            set.error().place = fmt::format("line {}", line);
            faults.push_back(std::move(set.error()));
        }
    }
    if (!faults.empty()) return std::unexpected(std::move(faults));
    return odds;
}

Result<void> write_likelihoods(const std::filesystem::path& file, const std::string& text) {
    std::ofstream out(file, std::ios::binary);
    out << text;
    out.close();
    if (!out)
        return std::unexpected(Fault{FaultKind::input, file.string(), "", "the file can't be written", "give a file in a folder that exists and may be written"});
    return {};
}

Checked<route::Odds> read_likelihoods(const route::Odds& defaults, const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::ostringstream text;
    if (in) text << in.rdbuf();
    if (!in || std::filesystem::is_directory(file))
        return std::unexpected(Faults{{FaultKind::input, file.string(), "", "the file can't be read", "write it with proofwalk review LOG --likelihoods FILE"}});
    return likelihoods_of(defaults, text.str(), file.string());
}

}  // namespace proofwalk::walk
