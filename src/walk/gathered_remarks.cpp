#include "walk/gathered_remarks.hpp"

#include <algorithm>
#include <fstream>
#include <string_view>

#include "units/sha256.hpp"

namespace proofwalk::walk {
namespace {

constexpr std::size_t most_bytes_a_picture = 600'000, most_bytes_of_pictures = 2'000'000;

std::string base64(std::string_view bytes) {
    constexpr std::string_view digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string text;
    text.reserve((bytes.size() + 2) / 3 * 4);
    for (std::size_t at = 0; at < bytes.size(); at += 3) {
        const std::size_t left = std::min<std::size_t>(3, bytes.size() - at);
        std::uint32_t group = 0;
        for (std::size_t next = 0; next < 3; ++next)
            group = group << 8 | (next < left ? static_cast<unsigned char>(bytes[at + next]) : 0u);
        for (std::size_t digit = 0; digit < 4; ++digit) text += digit <= left ? digits[group >> (18 - 6 * digit) & 63u] : '=';
    }
    return text;
}

// By its first bytes, whatever its name says; empty for anything else.
std::string_view picture_type(std::string_view bytes) {
    using namespace std::string_view_literals;
    if (bytes.starts_with("\xff\xd8\xff"sv)) return "image/jpeg";
    if (bytes.starts_with("\x89PNG\r\n\x1a\n"sv)) return "image/png";
    return {};
}

std::string picture_of(const log::Attachment& attachment, const std::filesystem::path& folder, std::size_t& room) {
    if (attachment.bytes <= 0 || static_cast<std::size_t>(attachment.bytes) > std::min(room, most_bytes_a_picture)) return {};
    if (attachment.stored_as.find('/') != std::string::npos) return {};
    std::ifstream stream(folder / attachment.stored_as, std::ios::binary);
    const std::string bytes{std::istreambuf_iterator<char>(stream), {}};
    const std::string_view type = picture_type(bytes);
    if (type.empty() || sha256(bytes) != attachment.sha256) return {};
    room -= bytes.size();
    return "data:" + std::string(type) + ";base64," + base64(bytes);
}

struct Dated {
    Moment when;
    report::RemarkLine line;
};

}  // namespace

Result<std::vector<report::RemarkLine>> gathered_remarks(const Show& show) {
    const auto notes = show.log.notes();
    if (!notes) return std::unexpected(notes.error());
    const auto attachments = show.log.attachments();
    if (!attachments) return std::unexpected(attachments.error());
    std::vector<Dated> remarks;
    for (const log::Note& note : *notes)
        remarks.push_back({note.happened, {to_text(note.happened), note.subject, note.incident ? "incident" : "remark", note.text, note.origin.who}});
    std::size_t room = most_bytes_of_pictures;
    for (const log::Attachment& attachment : *attachments) {
        report::RemarkLine line{to_text(attachment.origin.when), attachment.subject, "document", attachment.note, attachment.origin.who,
                                attachment.name, attachment.sha256, picture_of(attachment, show.log.takes_folder(), room)};
        if (!line.picture.empty()) line.what = "photo";
        remarks.push_back({attachment.origin.when, std::move(line)});
    }
    std::ranges::stable_sort(remarks, {}, [](const Dated& remark) { return remark.when.utc_s; });
    std::vector<report::RemarkLine> lines;
    for (Dated& remark : remarks) lines.push_back(std::move(remark.line));
    return lines;
}

}  // namespace proofwalk::walk
