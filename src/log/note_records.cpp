// Photos, documents, notes, and how a check was judged over time.
#include <fmt/format.h>

#include "log/durable_file.hpp"
#include "log/open_log.hpp"
#include "units/sha256.hpp"

namespace proofwalk::log {
namespace {

// Extension of a file name where it is plain; a strange one is left out, the hash is name enough.
std::string plain_extension(const std::filesystem::path& file) {
    const std::string extension = file.extension().string();
    const bool plain = extension.size() > 1 && extension.size() <= 6 &&
                       extension.find_first_not_of("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789", 1) ==
                           std::string::npos;
    return plain ? extension : "";
}

}  // namespace

Result<Attachment> Log::attach(const Attachment& attachment, const std::filesystem::path& source) {
    return as_result([&] {
        const auto bytes = bytes_of(source);
        if (!bytes)
            throw StoreError{{FaultKind::input, source.string(), "", "cannot be read", "check the path of the file to attach"}};
        Attachment stored = attachment;
        stored.name = source.filename().string();
        stored.bytes = static_cast<std::int64_t>(bytes->size());
        stored.sha256 = sha256(*bytes);
        stored.stored_as = stored.sha256 + plain_extension(source);
        write_durably(impl_->takes_folder() / stored.stored_as, *bytes);
        impl_->add("attachment", attachment.origin, [&](std::int64_t number) {
            stored.number = number;
            impl_->db().run("INSERT INTO attachment (record, subject, name, note, stored_as, bytes, sha256) "
                            "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                            number, stored.subject, stored.name, stored.note, stored.stored_as, stored.bytes, stored.sha256);
        });
        return stored;
    });
}

Result<std::vector<Attachment>> Log::attachments() const {
    return as_result([&] {
        std::vector<Attachment> list;
        Statement rows = impl_->db().prepare(
            fmt::format("SELECT record, subject, name, note, stored_as, bytes, sha256, {} FROM attachment JOIN record "
                        "ON record.number = attachment.record ORDER BY record",
                        origin_columns));
        while (rows.step())
            list.push_back({rows.integer(0), rows.text(1), rows.text(2), rows.text(3), rows.text(4), rows.integer(5),
                            rows.text(6), origin_from(rows, 7)});
        return list;
    });
}

Result<void> Log::add_note(const Note& note) {
    return as_result([&] {
        impl_->add("note", note.origin, [&](std::int64_t number) {
            impl_->db().run("INSERT INTO note (record, subject, text, incident, happened_utc_s, happened_offset_min) "
                            "VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                            number, note.subject, note.text, static_cast<int>(note.incident), note.happened.utc_s,
                            std::int64_t{note.happened.offset_min});
        });
    });
}

Result<std::vector<Note>> Log::notes() const {
    return as_result([&] {
        std::vector<Note> list;
        Statement rows = impl_->db().prepare(
            fmt::format("SELECT record, subject, text, incident, happened_utc_s, happened_offset_min, {} FROM note "
                        "JOIN record ON record.number = note.record ORDER BY record",
                        origin_columns));
        while (rows.step())
            list.push_back({rows.integer(0), rows.text(1), rows.text(2), rows.integer(3) != 0,
                            {rows.integer(4), static_cast<std::int32_t>(rows.integer(5))}, origin_from(rows, 6)});
        return list;
    });
}

Result<std::vector<PastVerdict>> Log::history(const std::string& check, const std::string& subject) const {
    return as_result([&] {
        std::vector<PastVerdict> list;
        Statement rows = impl_->db().prepare(
            fmt::format("SELECT record, verdict, value, uncertainty, unit, says, {} FROM verdict JOIN record "
                        "ON record.number = verdict.record WHERE subject = ?1 AND \"check\" = ?2 ORDER BY record",
                        origin_columns));
        rows.bind(subject).bind(check);
        while (rows.step()) {
            const auto verdict = verify::verdict_from_word(rows.text(1));
            if (!verdict) throw damaged_record(impl_->db(), rows.integer(0), "an unknown verdict");
            list.push_back({rows.integer(0), check, subject, *verdict, rows.maybe_real(2), rows.maybe_real(3), rows.text(4),
                            rows.text(5), origin_from(rows, 6)});
        }
        return list;
    });
}

}  // namespace proofwalk::log
