// Takes from the window: one step, a round as a sequence, what proves the gear. Each is on the disk before it is judged, and its cards
// are on the screen before the verdicts.
#include <fmt/format.h>

#include <algorithm>
#include <sstream>

#include "app/desk.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::app {
namespace {

using Steady = std::chrono::steady_clock;

double ms_since(Steady::time_point start) { return std::chrono::duration<double, std::milli>(Steady::now() - start).count(); }

// Faults are separated by spaces in the settings; each is told by itself.
Checked<rehearsal::Settings> room_of(const plan::Plan& plan, const Settings& settings) {
    rehearsal::Settings room;
    room.seed = settings.seed;
    room.snr_db = settings.snr_db;
    Faults faults;
    std::istringstream words{settings.faults};
    for (std::string word; words >> word;) {
        auto fault = rehearsal::fault_from_text(word, plan);
        if (fault)
            room.faults.push_back(*fault);
        else
            faults.push_back(fault.error());
    }
    if (!faults.empty()) return std::unexpected(faults);
    return room;
}

std::string name_of(const walk::Step& step) { return step.circuit.empty() ? "listening to the noise" : fmt::format("taking {}", step.circuit); }

}  // namespace

Result<walk::TakeSource*> Desk::source(Back& back, const Settings& settings) {
    const std::string key = settings.rehearse
                                ? fmt::format("rehearsal {} {} {}", settings.seed, settings.snr_db, settings.faults)
                                : "device " + settings.device;
    if (!back.source || back.source_key != key) {
        back.source.reset();
        if (settings.rehearse) {
            auto room = room_of(back.show->plan.plan, settings);
            if (!room) return std::unexpected(room.error().front());
            auto made = walk::TakeSource::rehearsal(back.show->plan.plan, *room);
            if (!made) return std::unexpected(made.error());
            back.source.emplace(std::move(*made));
        } else {
            auto made = walk::TakeSource::device(settings.device);
            if (!made) return std::unexpected(made.error());
            back.source.emplace(std::move(*made));
        }
        back.source_key = key;
    }
    return &*back.source;
}

// Circuits play where the show's log says; the person names reference and mics on the gear sheet.
walk::Setup Desk::setup_of(Job& job, const Back& back, const walk::TakeSource& from, const Settings& settings) {
    walk::Setup setup;
    if (!settings.rehearse)
        if (const auto kept = walk::kept_channels(*back.show); kept && *kept) {
            setup.outputs = (*kept)->outputs;
            setup.loopback_output = (*kept)->loopback_output;
        }
    setup.reference = settings.reference;
    setup.armed_by = settings.who;
    setup.drive.rate_hz = from.device().info().rate_hz;
    setup.drive.length_s = settings.length_s;
    setup.drive.level_dbfs = settings.level_dbfs;
    setup.say = [this, &job](const std::string& text) { job.hand_back([this, text] { note(text); }); };
    setup.ask = [this, &job](const std::string& question) {
        job.hand_back([] {});  // wakes the screen
        return ask(question);
    };
    return setup;
}

void Desk::follow(const capture::Progress& progress, int reference) {
    const bool last = progress.done_s >= progress.whole_s;
    if (last) last_sample_ = Steady::now();
    change_view([&](TakeView& view) {
        view.done_s = progress.done_s;
        view.whole_s = progress.whole_s;
        view.phase = last ? TakeView::Phase::storing : TakeView::Phase::capturing;
        const auto first = static_cast<std::size_t>(reference);
        if (progress.peak.size() > first - 1) view.reference_peak = progress.peak[first - 1];
        view.peak.assign(view.positions.size(), 0.0F);
        view.highest.resize(view.positions.size(), 0.0F);
        for (std::size_t mic = 0; mic < view.positions.size() && first + mic < progress.peak.size(); ++mic) {
            view.peak[mic] = progress.peak[first + mic];
            view.highest[mic] = std::max(view.highest[mic], view.peak[mic]);
        }
    });
}

void Desk::hand_back_cards(Job& job, const walk::StoredTake& stored, const walk::TakeSource& from) {
    change_view([](TakeView& view) { view.phase = TakeView::Phase::judging; });
    const double stored_ms = ms_since(last_sample_);
    job.hand_back([this, stored_ms, cards = cards_of(stored.record), hung = from.hung(), exposure = from.simulated() ? std::string{} : from.sound().exposure_line(), last = last_sample_] {
        cards_ = cards;
        hung_ = hung;
        exposure_ = exposure;
        cards_after_ = CardsAfter{stored_ms, ms_since(last), 0.0};
        card_since_ = last;
    });
}

void Desk::take(std::size_t index, const Settings& settings) {
    if (records_ && index < records_->path.steps.size()) take_steps({records_->path.steps[index]}, index, false, settings);
}

void Desk::take_round(std::size_t index, const Settings& settings) {
    if (!records_ || index >= records_->path.steps.size()) return;
    const auto& all = records_->path.steps;
    std::vector<walk::Step> steps;
    for (std::size_t i = index; i < all.size() && all[i].round == all[index].round; ++i)
        if (all[i].state == walk::StepState::now || all[i].state == walk::StepState::to_come) steps.push_back(all[i]);
    if (!steps.empty()) take_steps(std::move(steps), index, true, settings);
}

void Desk::take_steps(std::vector<walk::Step> steps, std::size_t index, bool as_run, const Settings& settings) {
    change_view([&](TakeView& view) {
        view = {};
        view.phase = TakeView::Phase::capturing;
        view.step = index;
        view.circuit = steps.front().circuit;
        view.positions = steps.front().positions;
        if (as_run) view.run = TakeView::Run{walk::SequencePhase::count_in, 0, steps.size(), settings.count_in_s, {}};
    });
    static_cast<void>(control_.take_keys());
    control_.lift_halt();
    std::string what = as_run ? fmt::format("a round of {} takes", steps.size()) : name_of(steps.front());
    run(std::move(what), [=, this](Job& job, Back& back) {
        const auto finish = [this] {
            change_view([](TakeView& view) {
                view.phase = TakeView::Phase::none;
                view.run.reset();
            });
        };
        if (!log_is_there(back)) {
            finish();
            return tell_gone(job, back);
        }
        auto from = source(back, settings);
        if (!from) {
            finish();
            return tell(job, {from.error()});
        }
        const walk::Setup setup = setup_of(job, back, **from, settings);
        walk::SequenceHooks hooks;
        hooks.progress = [&](const capture::Progress& progress) {
            follow(progress, setup.reference);
            job.progress(progress.done_s, progress.whole_s);
        };
        hooks.moved = [&](const walk::Sequence& now, double left_s) {
            change_view([&](TakeView& view) {
                const walk::Step& step = steps[std::min(now.at(), steps.size() - 1)];
                if (step.circuit != view.circuit) view.peak.clear(), view.highest.clear(), view.done_s = 0.0;
                view.circuit = step.circuit;
                view.positions = step.positions;
                if (view.run) view.run = TakeView::Run{now.phase(), now.at(), steps.size(), left_s, now.says()};
            });
            job.progress(0.0, 0.0);
        };
        hooks.stored = [&](const walk::StoredTake& stored) { hand_back_cards(job, stored, **from); };
        hooks.judged = [&](const walk::StoredTake&) {
            if (as_run) hand_back_records(job, walk_setup(settings));
        };
        std::string told;
        hooks.trouble = [&](const Fault& fault) {
            told = sentence(fault);
            tell(job, {fault});
        };
        // A single take goes at once and is not repeated by itself.
        walk::SequenceRules rules;
        rules.count_in_s = as_run ? settings.count_in_s : 0.0;
        rules.automatic_repeats = as_run ? rules.automatic_repeats : 0;
        rules.attended = as_run;
        const bool by_hand = as_run && settings.by_hand && !settings.rehearse;
        const auto result = walk::run_sequence(*back.show, **from, steps, setup, by_hand, rules, control_, hooks);
        finish();
        if (result.ended && sentence(*result.ended) != told) tell(job, {*result.ended});
        hand_back_records(job, walk_setup(settings));
        if (!log_is_there(back)) tell_gone(job, back);
    });
}

void Desk::prove(const walk::GearTake& asked, const Settings& settings) {
    static_cast<void>(control_.take_keys());
    control_.lift_halt();
    proof_.reset();
    run(fmt::format("the {} take", capture::word(asked.kind)), [=, this](Job& job, Back& back) {
        if (!log_is_there(back)) return tell_gone(job, back);
        auto from = source(back, settings);
        if (!from) return tell(job, {from.error()});
        const walk::Setup setup = setup_of(job, back, **from, settings);
        auto proof = walk::prove_by_take(*back.show, **from, asked, setup, [&](const capture::Progress& progress) { job.progress(progress.done_s, progress.whole_s); }, job.stop());
        if (!proof) {
            tell(job, {proof.error()});
            job.hand_back([this, asked, words = sentence(proof.error())] { proof_ = Proof{asked.kind, {}, words}; });
        } else {
            tell(job, proof->take.faults);
            job.hand_back([this, asked, checks = proof->checks, label = proof->take.label] { proof_ = Proof{asked.kind, checks, fmt::format("The take {} is in the log", label)}; });
        }
        hand_back_records(job, walk_setup(settings));
    });
}

void Desk::stop() {
    control_.press(walk::SequenceKey::stop);
    answer(false);
    worker_.stop();
}

std::optional<std::string> Desk::question() const {
    const std::lock_guard lock{question_mutex_};
    return question_;
}

void Desk::answer(bool yes) {
    {
        const std::lock_guard lock{question_mutex_};
        if (question_) answer_ = yes;
    }
    answered_.notify_all();
}

bool Desk::ask(const std::string& question) {
    std::unique_lock lock{question_mutex_};
    question_ = question;
    answer_.reset();
    answered_.wait(lock, [this] { return answer_.has_value() || closing_; });
    question_.reset();
    return answer_.value_or(false);
}

}  // namespace proofwalk::app
