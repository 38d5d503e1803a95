#include "walk/remarks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>

#include "plan/checks.hpp"
#include "units/sha256.hpp"

namespace proofwalk::walk {
namespace {

bool is_blank(const std::string& text) { return text.find_first_not_of(" \t\n") == std::string::npos; }

Fault bad_input(const Show& show, std::string place, std::string reason, std::string remedy) {
    return {FaultKind::input, show.log.file().string(), std::move(place), std::move(reason), std::move(remedy)};
}

std::optional<Fault> missing(const Show& show, const std::string& text, std::string_view what, std::string_view option) {
    if (!is_blank(text)) return std::nullopt;
    return bad_input(show, "", fmt::format("{} is missing", what), fmt::format("give it with {}", option));
}

bool planned(const Show& show, const std::string& check, const std::string& subject) {
    return std::ranges::any_of(plan::checks(show.plan.plan), [&](const plan::PlannedCheck& item) {
        return plan::word(item.kind) == check && item.subject == subject;
    });
}

struct Event {
    std::int64_t number = 0;
    std::vector<report::Value> row;
};

}  // namespace

Result<void> note(Show& show, const std::string& about, const std::string& who, const std::string& text, bool incident) {
    if (auto fault = missing(show, who, "the name of who notes it", "--who NAME")) return std::unexpected(*fault);
    if (auto fault = missing(show, text, "the text", "--text TEXT")) return std::unexpected(*fault);
    const log::Origin by = origin(who);
    return show.log.add_note({0, is_blank(about) ? "show" : about, text, incident, by.when, by});
}

Result<log::Attachment> attach(Show& show, const std::filesystem::path& file, const std::string& about,
                               const std::string& who, const std::string& text) {
    if (auto fault = missing(show, who, "the name of who attaches it", "--who NAME")) return std::unexpected(*fault);
    if (auto fault = missing(show, about, "what it is about", "--about SUBJECT")) return std::unexpected(*fault);
    log::Attachment attachment;
    attachment.subject = about;
    attachment.note = text;
    attachment.origin = origin(who);
    return show.log.attach(attachment, file);
}

Result<std::string> attached_bytes(const Show& show, const std::string& hash) {
    const auto attachments = show.log.attachments();
    if (!attachments) return std::unexpected(attachments.error());
    const auto found = std::ranges::find(*attachments, hash, &log::Attachment::sha256);
    if (found == attachments->end() || found->stored_as.find('/') != std::string::npos)
        return std::unexpected(bad_input(show, "", "nothing with this hash is attached", "see whether the log is whole: proofwalk audit LOG"));
    const auto file = show.log.takes_folder() / found->stored_as;
    std::ifstream stream(file, std::ios::binary);
    std::string bytes{std::istreambuf_iterator<char>(stream), {}};
    if (sha256(bytes) == hash) return bytes;
    return std::unexpected(Fault{FaultKind::log, file.string(), "", stream ? fmt::format("is not the {} that was attached", found->name) : fmt::format("{}, which was attached, is not there any more", found->name),
                                 "put the file back from a copy of the log's folder"});
}

Result<report::RecordDocument> history(const Show& show, const std::string& check, const std::string& subject) {
    const auto past = show.log.history(check, subject);
    if (!past) return std::unexpected(past.error());
    const auto skips = show.log.skips();
    if (!skips) return std::unexpected(skips.error());
    std::vector<Event> events;
    for (const log::PastVerdict& judged : *past)
        events.push_back({judged.number,
                          {to_text(judged.origin.when), std::string{verify::word(judged.verdict)},
                           judged.value ? report::Value{*judged.value} : report::Value{},
                           judged.uncertainty ? report::Value{*judged.uncertainty} : report::Value{}, judged.unit,
                           judged.origin.who, judged.says}});
    for (const log::SkipRecord& skip : *skips)
        if (skip.check == check && skip.subject == subject)
            events.push_back({skip.number,
                              {to_text(skip.origin.when), std::string{skip.taken_up ? "taken up" : "skipped"}, report::Value{},
                               report::Value{}, std::string{}, skip.origin.who, skip.why}});
    if (events.empty() && !planned(show, check, subject))
        return std::unexpected(bad_input(show, "", fmt::format("no check \"{}\" of \"{}\" is planned or was ever judged", check, subject),
                                         "see the checks with: proofwalk tally LOG"));
    std::ranges::stable_sort(events, {}, &Event::number);
    report::RecordTable table{"history", "Each time it changed", {"when", "verdict", "value", "uncertainty", "unit", "who", "says"}, {}};
    for (Event& event : events) table.rows.push_back(std::move(event.row));
    return report::RecordDocument{"proofwalk.history/1",
                                  {{"log", show.log.file().string()}, {"check", check}, {"subject", subject}},
                                  {std::move(table)}};
}

}  // namespace proofwalk::walk
