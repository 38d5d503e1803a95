// What must not wait for a round of takes, on a thread and a connection of its own: notes and photos, whose time counts, a look
// at one, and the audit. And the certificates of the gear, which are judged and so stand in the queue.
#include <fmt/format.h>

#include "app/desk.hpp"
#include "walk/gear.hpp"
#include "walk/remarks.hpp"

namespace proofwalk::app {

void Desk::keep(const Remark& remark, const Settings& settings) {
    if (!records_) return;
    aside_.run("writing the note", [=, this, log = records_->log_file](Job& job) {
        auto show = walk::open_show(log, log::Mode::write);
        if (!show) return tell(job, show.error());
        const bool attached = !remark.file.empty();
        if (remark.incident || !attached)
            if (auto noted = walk::note(*show, remark.about, settings.who, remark.text.empty() ? remark.file.filename().string() : remark.text, remark.incident); !noted)
                return tell(job, {noted.error()});
        if (attached)
            if (auto kept = walk::attach(*show, remark.file, remark.about, settings.who, remark.text); !kept) return tell(job, {kept.error()});
        job.hand_back([this, remark, attached, settings] {
            note(fmt::format("{} about {} is in the log", attached ? remark.file.filename().string() : remark.incident ? "The incident" : "The note", remark.about));
            refresh(settings);
        });
    });
}

void Desk::look_at(const std::string& sha256, const std::string& name) {
    if (!records_) return;
    photo_ = {sha256, std::nullopt};
    aside_.run("reading the picture", [=, this, log = records_->log_file](Job& job) {
        auto show = walk::open_show(log, log::Mode::read);
        if (!show) return tell(job, show.error());
        auto bytes = walk::attached_bytes(*show, sha256);
        auto pixels = bytes ? photo_from_bytes(*bytes, name) : Result<Pixels>{std::unexpected(bytes.error())};
        job.hand_back([this, sha256, pixels = std::move(pixels)]() mutable {
            if (photo_.sha256 == sha256) photo_.found = std::move(pixels);
        });
    });
}

void Desk::audit(const std::string& against, bool recordings) {
    if (!records_) return;
    aside_.run("auditing the log", [=, this, file = records_->log_file](Job& job) {
        auto found = log::audit(file, {against, recordings});
        job.hand_back([this, recordings, found = std::move(found)] { audited_ = Audited{found, recordings, now()}; });
    });
}

void Desk::certify(const std::string& subject, const std::string& until, const Settings& settings) {
    run("writing the certificate", [=, this](Job& job, Back& back) {
        if (!log_is_there(back)) return tell_gone(job, back);
        const auto certificate = walk::certificate_from_text(fmt::format("{}={}", subject, until));
        if (!certificate) return tell(job, {certificate.error()});
        if (auto proven = walk::prove_gear(*back.show, {*certificate}, settings.who); !proven) return tell(job, {proven.error()});
        hand_back_records(job, walk_setup(settings));
    });
}

}  // namespace proofwalk::app
