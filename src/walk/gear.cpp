#include "walk/gear.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <regex>

#include "walk/judged.hpp"
#include "walk/mic_match.hpp"

namespace proofwalk::walk {
namespace {

constexpr double chain_low_hz = 20.0, chain_high_hz = 20000.0;
constexpr std::size_t date_length = 10;  // "2027-03-01"

std::string date_of(Moment moment) { return to_text(moment).substr(0, date_length); }

// Newest record of each check and subject; a proof supersedes the one before.
std::map<std::pair<std::string, std::string>, const log::GearRecord*> newest(const std::vector<log::GearRecord>& records) {
    std::map<std::pair<std::string, std::string>, const log::GearRecord*> latest;
    for (const auto& record : records) latest[{record.check, record.subject}] = &record;
    return latest;
}

void add_match(const plan::Plan& plan, const std::vector<log::TakeRecord>& takes, verify::GearInput& input) {
    const MicMatch match = mic_match(plan, takes);
    for (auto take = takes.rbegin(); take != takes.rend(); ++take) {
        if (take->kind != signal::TakeKind::match || take->evidence.empty()) continue;
        for (const auto& heard : take->evidence) {
            const auto own = match.find(heard.mic);
            input.match.push_back(
                {heard.mic, own == match.end() ? signal::MicDeviation{} : own->second, heard.reading.polarity});
        }
        return;
    }
}

verify::GearInput input_of(const Show& show, const std::vector<log::TakeRecord>& takes,
                           const std::vector<log::GearRecord>& records, const std::vector<CertificateNote>& certificates) {
    verify::GearInput input;
    input.today = date_of(now());
    for (const auto& take : takes) {
        for (const auto& calibration : take.calibrations)
            input.calibrations.push_back({calibration.mic, calibration.pascal_per_fs, calibration.level_db});
        if (take.kind != signal::TakeKind::loopback) continue;
        input.rate_hz = take.rate_hz;
        for (const auto& heard : take.evidence)
            if (const auto figures = signal::chain_figures(heard.evidence, chain_low_hz, chain_high_hz))
                input.loopbacks.push_back(*figures);
    }
    add_match(show.plan.plan, takes, input);
    std::map<std::string, std::string> until;
    for (const auto& record : records)
        if (record.check == "certificate" && record.says.size() >= date_length)
            until[record.subject] = record.says.substr(record.says.size() - date_length);
    for (const auto& certificate : certificates) until[certificate.subject] = certificate.until;
    for (const auto& [subject, date] : until) input.certificates.push_back({subject, date});
    return input;
}

}  // namespace

Result<CertificateNote> certificate_from_text(const std::string& text) {
    static const std::regex form{R"(([^=]+)=(\d{4}-\d{2}-\d{2}))"};
    std::smatch match;
    if (!std::regex_match(text, match, form) || !moment_from_text(match[2].str() + "T00:00:00Z"))
        return std::unexpected(Fault{FaultKind::input, "", "--certificate", fmt::format("\"{}\" is no SUBJECT=DATE", text),
                                     "write for example --certificate \"m1 0417=2027-03-01\""});
    return CertificateNote{match[1].str(), match[2].str()};
}

Result<std::vector<verify::GearCheck>> prove_gear(Show& show, const std::vector<CertificateNote>& certificates,
                                                  const std::string& who) {
    auto takes = show.log.takes(true);
    if (!takes) return std::unexpected(takes.error());
    auto records = show.log.gear();
    if (!records) return std::unexpected(records.error());
    auto checks = verify::judge_gear(input_of(show, *takes, *records, certificates));
    const log::Origin by = origin(who);
    for (const auto& check : checks)
        if (auto added = show.log.add_gear({check.check, check.subject, std::string(verify::word(check.verdict)), check.says, by});
            !added)
            return std::unexpected(added.error());
    if (auto judgement = judged(show, by); !judgement) return std::unexpected(judgement.error());
    return checks;
}

std::optional<std::string> gear_fault(const std::vector<log::GearRecord>& records) {
    for (const auto& [key, record] : newest(records))
        if (record->verdict == verify::word(verify::Verdict::fail))
            return fmt::format("{} of {}: {}", record->check, record->subject, record->says);
    return std::nullopt;
}

}  // namespace proofwalk::walk
