#include "app/desk.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <sstream>

#include "app/plot_export.hpp"
#include "walk/live_take.hpp"
#include "walk/next.hpp"
#include "walk/written_report.hpp"

namespace proofwalk::app {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t most_notices = 8;

}  // namespace

WalkSetup walk_setup(const Settings& settings) {
    WalkSetup setup;
    setup.mics = settings.mics;
    setup.until = settings.until_utc_s;
    setup.rehearse = settings.rehearse;
    setup.pace.signal_s = settings.length_s + 2.0;  // quiet before and after the signal, see walk/excite
    if (settings.rehearse) setup.pace.per_mic_s = setup.pace.per_take_s = 0.0;
    return setup;
}

bool is_log(const fs::path& file) {
    std::array<char, 16> start{};
    std::ifstream stream{file, std::ios::binary};
    stream.read(start.data(), start.size());
    return stream.gcount() == start.size() && std::string_view{start.data(), 15} == "SQLite format 3";
}

fs::path log_for_plan(const fs::path& plan, bool rehearsal) {
    fs::path log = plan;
    log.replace_filename(plan.stem().string() + (rehearsal ? "-rehearsal.db" : ".db"));
    return log;
}

Desk::Desk(std::function<void()> wake) : worker_(wake), aside_(wake) {}

Desk::~Desk() {
    control_.press(walk::SequenceKey::stop);
    {
        const std::lock_guard lock{question_mutex_};
        closing_ = true;
    }
    answered_.notify_all();
}

void Desk::run(std::string what, std::function<void(Job&, Back&)> work) {
    worker_.run(std::move(what), [back = back_, work = std::move(work)](Job& job) { work(job, *back); });
}

bool Desk::deliver() {
    const bool taken = worker_.deliver(), noted = aside_.deliver();
    return taken || noted;
}

TakeView Desk::take_view() const {
    const std::lock_guard lock{view_mutex_};
    return view_;
}

void Desk::change_view(const std::function<void(TakeView&)>& change) {
    const std::lock_guard lock{view_mutex_};
    change(view_);
}

void Desk::note(std::string text, bool fault) {
    notices_.push_front({std::move(text), fault});
    if (notices_.size() > most_notices) notices_.pop_back();
}

void Desk::tell(Job& job, const Faults& faults) {
    job.hand_back([this, faults] {
        for (const auto& fault : faults) note(sentence(fault), true);
    });
}

void Desk::tell_gone(Job& job, const Back& back) {
    tell(job, {{FaultKind::log, back.show ? back.show->log.file().string() : "", "", "the log is not there any more",
                "put it back where it was, or open another; until then nothing is taken, so that nothing is lost"}});
}

bool Desk::log_is_there(const Back& back) {
    std::error_code ignored;
    return back.show && fs::exists(back.show->log.file(), ignored);
}

void Desk::hand_back_records(Job& job, const WalkSetup& setup) {
    if (!back_->show) return;
    // The shortest way round is sought once for a plan and a number of mics.
    const std::string key = fmt::format("{} {}", back_->show->plan.sha256, setup.mics);
    if (back_->rounds_key != key) {
        back_->rounds = walk::shortest_rounds(back_->show->plan.plan, setup.mics);
        back_->rounds_key = key;
    }
    std::optional<Clock> clock;
    if (setup.until) {
        auto against = against_the_clock(*back_->show, setup);
        if (against) clock = std::move(*against);
        else tell(job, {against.error()});
    }
    auto records = gather(*back_->show, setup, clock ? clock->rounds : back_->rounds);
    if (!records) return tell(job, {records.error()});
    records->clock = std::move(clock);
    job.hand_back([this, made = std::make_shared<const Records>(std::move(*records))] {
        records_ = made;
        curves_.clear();
        explanation_asked_.reset();
        explanation_.reset();
        if (!cards_.empty()) add_meaning(cards_, records_);
        if (card_since_ && cards_after_) cards_after_->judged_ms = std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - *std::exchange(card_since_, std::nullopt)).count();
    });
}

void Desk::use(walk::Show show, Job& job, const WalkSetup& setup) {
    back_->source.reset();
    back_->source_key.clear();
    back_->show.emplace(std::move(show));
    job.hand_back([this] {
        waiting_plan_.reset();
        waiting_plan_file_.reset();
        report_file_.reset();
        cards_.clear();
        hung_.clear();
        audited_.reset();
    });
    hand_back_records(job, setup);
}

void Desk::open(const fs::path& file, const Settings& settings) {
    run(fmt::format("opening {}", file.filename().string()), [=, this](Job& job, Back& back) {
        if (is_log(file)) {
            back.show.reset();  // one connection that writes is enough
            auto show = walk::open_show(file, log::Mode::write);
            if (!show) return tell(job, show.error());
            return use(std::move(*show), job, walk_setup(settings));
        }
        auto plan = plan::load(file);
        if (!plan) return tell(job, plan.error());
        job.hand_back([this, file, read = std::move(*plan)] {
            waiting_plan_ = file;
            waiting_plan_file_ = read;
        });
    });
}

void Desk::begin(const fs::path& plan, const fs::path& log, const Settings& settings) {
    run(fmt::format("opening {}", log.filename().string()), [=, this](Job& job, Back& back) {
        back.show.reset();
        auto show = walk::open_show(plan, log);
        if (!show) return tell(job, show.error());
        use(std::move(*show), job, walk_setup(settings));
    });
}

void Desk::skip(const std::vector<walk::CheckName>& checks, const std::string& why, const Settings& settings) {
    run("writing the skip", [=, this](Job& job, Back& back) {
        if (!log_is_there(back)) return tell_gone(job, back);
        for (const auto& check : checks)
            if (auto done = walk::skip(*back.show, std::string{plan::word(check.kind)}, check.subject, settings.who, why); !done) {
                tell(job, {done.error()});
                break;
            }
        hand_back_records(job, walk_setup(settings));
    });
}

void Desk::change(const std::string& subject, const std::string& what, const Settings& settings) {
    run("writing the change", [=, this](Job& job, Back& back) {
        if (!log_is_there(back)) return tell_gone(job, back);
        auto reopened = walk::change(*back.show, subject, settings.who, what);
        if (!reopened) return tell(job, {reopened.error()});
        if (auto judgement = walk::judged(*back.show, walk::origin(settings.who)); !judgement) tell(job, {judgement.error()});
        job.hand_back([this, subject, count = *reopened] {
            note(fmt::format("{} was changed: {} check{} open again", subject, count, count == 1 ? " is" : "s are"));
        });
        hand_back_records(job, walk_setup(settings));
    });
}

void Desk::take_up(const walk::CheckName& check, const Settings& settings) {
    run("taking up a check", [=, this](Job& job, Back& back) {
        if (!log_is_there(back)) return tell_gone(job, back);
        if (auto done = walk::take_up(*back.show, std::string{plan::word(check.kind)}, check.subject, settings.who); !done) return tell(job, {done.error()});
        hand_back_records(job, walk_setup(settings));
    });
}

void Desk::sign(const std::vector<std::string>& exceptions, const std::vector<std::string>& scope, const Settings& settings) {
    run("signing", [=, this](Job& job, Back& back) {
        if (!log_is_there(back)) return tell_gone(job, back);
        auto signed_off = walk::sign(*back.show, {settings.who, settings.role, exceptions, scope});
        if (!signed_off) return tell(job, signed_off.error());
        job.hand_back([this, hash = signed_off->hash] { note(fmt::format("Signed. Hash {}", hash)); });
        hand_back_records(job, walk_setup(settings));
    });
}

void Desk::write_report() {
    run("writing the report", [this](Job& job, Back& back) {
        if (!log_is_there(back)) return tell_gone(job, back);
        fs::path folder = back.show->log.file();
        folder.replace_extension(".report");
        auto written = walk::write_report(*back.show, folder);
        if (!written) return tell(job, {written.error()});
        job.hand_back([this, file = *written] {
            report_file_ = file;
            note(fmt::format("The report is written: {}", file.string()));
        });
    });
}

void Desk::predict(const plan::Plan& plan, const std::string& text) {
    {
        const std::lock_guard lock{draft_mutex_};
        newest_draft_ = text;
    }
    run("working out how sure the walk could be", [=, this](Job& job, Back&) {
        {
            const std::lock_guard lock{draft_mutex_};
            if (newest_draft_ != text) return;
        }
        std::vector<verify::PredictedCheck> checks;
        if (plan.boxes.size() <= most_boxes_predicted) checks = verify::predict(plan, verify::takes_of(plan, plan.boxes.size() * plan.positions.size() <= 600));
        job.hand_back([this, text, checks = std::move(checks)] { predicted_ = {text, checks}; });
    });
}

// Where the plan came from, if its name is known by the log's; else beside the log.
fs::path Desk::plan_file_to_write() const {
    if (!records_) return {};
    std::string stem = records_->log_file.stem().string();
    if (const auto at = stem.rfind("-rehearsal"); at != std::string::npos) stem.resize(at);
    const fs::path folder = records_->plan_folder.empty() ? records_->log_file.parent_path() : fs::path{records_->plan_folder};
    return folder / (stem + ".toml");
}

void Desk::save_plan(const std::string& text, const Settings& settings) {
    const fs::path file = plan_file_to_write(), log = records_->log_file;
    run("saving the plan", [=, this](Job& job, Back& back) {
        const fs::path beside = file.string() + ".new";
        {
            std::ofstream stream{beside, std::ios::binary | std::ios::trunc};
            stream << text;
            stream.flush();
            if (!stream) return tell(job, {{FaultKind::input, file.string(), "", "the plan can't be written", "check the folder's permissions and space"}});
        }
        std::error_code error;
        fs::rename(beside, file, error);
        if (error) return tell(job, {{FaultKind::input, file.string(), "", "the plan can't be put in place: " + error.message(), "check the folder's permissions"}});
        back.show.reset();
        auto show = walk::open_show(file, log);
        if (!show) return tell(job, show.error());
        auto judgement = walk::judged(*show, walk::origin(settings.who));
        if (!judgement) tell(job, {judgement.error()});
        job.hand_back([this, file] { note(fmt::format("The plan is saved: {}", file.string())); });
        use(std::move(*show), job, walk_setup(settings));
    });
}

void Desk::refresh(const Settings& settings) {
    const unsigned wish = ++newest_refresh_;
    run("reading the log", [=, this](Job& job, Back&) {
        if (wish == newest_refresh_) hand_back_records(job, walk_setup(settings));  // a newer wish comes after
    });
}

void Desk::list_devices() {
    run("looking for audio devices", [this](Job& job, Back&) {
        auto found = capture::list_devices();
        if (!found) tell(job, {found.error()});
        job.hand_back([this, list = found ? std::move(*found) : std::vector<capture::DeviceInfo>{}] { devices_ = list; });
    });
}

void Desk::look_back(const std::vector<fs::path>& logs) {
    run("reading earlier logs", [=, this](Job& job, Back&) {
        auto past = walk::look_back(logs);
        tell(job, past.faults);
        job.hand_back([this, past = std::move(past)] { past_ = past; });
    });
}

const verify::Explanation* Desk::explanation(const walk::CheckName& check) {
    if (explanation_ && explanation_->check.kind == check.kind && explanation_->check.subject == check.subject) return &*explanation_;
    if (explanation_asked_ == check) return nullptr;
    explanation_asked_ = check;
    run("explaining a verdict", [=, this](Job& job, Back& back) {
        if (!back.show) return;
        const auto evidence = walk::load_evidence(*back.show);
        if (!evidence) return tell(job, {evidence.error()});
        auto why = verify::explain(walk::input_of(*back.show, *evidence), check.kind, check.subject);
        job.hand_back([this, check, why = std::move(why)] {
            if (explanation_asked_ == check) explanation_ = why;
        });
    });
    return nullptr;
}

std::shared_ptr<const std::vector<walk::HeardCurve>> Desk::curves(const CurveAsk& ask) {
    const auto known = curves_.find(ask);
    if (known != curves_.end()) return known->second;
    curves_[ask] = nullptr;  // asked for
    run("reading curves", [=, this](Job& job, Back& back) {
        if (!back.show) return;
        auto heard = walk::heard_curves(*back.show, ask.circuit, ask.position, ask.smoothing);
        if (!heard) return tell(job, {heard.error()});
        job.hand_back([this, ask, curves = std::make_shared<const std::vector<walk::HeardCurve>>(std::move(*heard))] {
            curves_[ask] = curves;
        });
    });
    return nullptr;
}

void Desk::export_plots(const std::vector<Plot>& plots, const std::string& name, PaperKind kind) {
    if (!records_) return;
    fs::path folder = records_->log_file;
    folder.replace_extension(".curves");
    std::error_code error;
    fs::create_directories(folder, error);
    if (!error) picture_wish_ = folder / (name + ".png");
    run("writing curves", [=, this](Job& job, Back&) {
        for (std::size_t i = 0; i < plots.size(); ++i) {
            const std::string stem = name + (plots[i].degrees_y ? "-phase" : plots[i].log_x ? "-magnitude" : "-impulse");
            for (const auto& [file, text] : {std::pair{folder / (stem + ".csv"), plot_csv(plots[i])}, std::pair{folder / (stem + ".svg"), plot_svg(plots[i], kind)}}) {
                std::ofstream stream{file, std::ios::binary | std::ios::trunc};
                stream << text;
                stream.flush();
                if (!stream) return tell(job, {{FaultKind::input, file.string(), "", "can't be written", "check the folder's permissions and space"}});
            }
        }
        job.hand_back([this, folder] { note(fmt::format("The curves are written as SVG, CSV and PNG in {}", folder.string())); });
    });
}

}  // namespace proofwalk::app
