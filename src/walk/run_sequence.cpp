#include "walk/run_sequence.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <thread>

namespace proofwalk::walk {
namespace {

constexpr auto look_every = std::chrono::milliseconds(10);

double clock_s() { return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count(); }

class Runner {
public:
    Runner(Show& show, const TakeSource& source, const std::vector<Step>& steps, const Setup& setup, SequenceControl& control,
           const SequenceHooks& hooks)
        : show_(show), source_(source), steps_(steps), setup_(setup), control_(control), hooks_(hooks) {}

    [[nodiscard]] const std::optional<Fault>& last_loss() const { return last_loss_; }

    SequenceResult run(Sequence sequence) {
        sequence.start(clock_s());
        while (sequence.phase() != SequencePhase::over) {
            press(sequence);
            tell(sequence);
            if (!sequence.due(clock_s())) {
                if (sequence.phase() != SequencePhase::over) std::this_thread::sleep_for(look_every);
                continue;
            }
            control_.lift_halt();
            tell(sequence);
            const TakeOutcome outcome = play(steps_[sequence.at()]);
            press(sequence);  // what was pressed while it played
            sequence.played(outcome, clock_s());
        }
        tell(sequence);
        result_.entries = sequence.entries();
        return std::move(result_);
    }

private:
    void press(Sequence& sequence) {
        const std::uint32_t keys = control_.take_keys();
        for (const auto key : {SequenceKey::pause, SequenceKey::go, SequenceKey::skip, SequenceKey::repeat, SequenceKey::stop})
            if ((keys & static_cast<std::uint32_t>(key)) != 0) sequence.press(key, clock_s());
    }

    void tell(const Sequence& sequence) {
        const double left_s = sequence.count_in_left_s(clock_s());
        const State now{sequence.phase(), sequence.at(), std::ceil(left_s), sequence.says()};
        if (now == told_) return;
        told_ = now;
        if (hooks_.moved) hooks_.moved(sequence, left_s);
    }

    TakeOutcome play(const Step& step) {
        auto stored = take_step(show_, source_, step, setup_, hooks_.progress, control_.halt());
        if (!stored) {
            if (control_.halt()) return TakeOutcome::stopped;
            if (hooks_.trouble) hooks_.trouble(stored.error());
            if (stored.error().kind == FaultKind::device) {
                last_loss_ = stored.error();
                return TakeOutcome::device_lost;
            }
            result_.ended = stored.error();
            return TakeOutcome::failed;
        }
        result_.labels.push_back(stored->label);
        if (hooks_.stored) hooks_.stored(*stored);
        for (const Fault& fault : stored->faults)
            if (hooks_.trouble) hooks_.trouble(fault);
        if (auto judgement = judged(show_, origin(setup_.armed_by, stored->record.origin.device)); !judgement) {
            result_.ended = judgement.error();
            return TakeOutcome::failed;
        }
        if (hooks_.judged) hooks_.judged(*stored);
        if (stored->ended_early) last_loss_ = stored->faults.back();
        return outcome_of(*stored);
    }

    struct State {
        SequencePhase phase = SequencePhase::over;
        std::size_t at = 0;
        double second = -1.0;
        std::string says;
        friend bool operator==(const State&, const State&) = default;
    };

    Show& show_;
    const TakeSource& source_;
    const std::vector<Step>& steps_;
    const Setup& setup_;
    SequenceControl& control_;
    const SequenceHooks& hooks_;
    SequenceResult result_;
    std::optional<Fault> last_loss_;
    State told_;
};

}  // namespace

TakeOutcome outcome_of(const StoredTake& stored) {
    if (stored.ended_early) return TakeOutcome::device_lost;
    if (stored.lost_samples) return TakeOutcome::lost_samples;
    const auto has = [&](Flag flag) {
        return std::ranges::any_of(stored.record.evidence, [&](const log::EvidenceRecord& heard) { return heard.reading.flags.has(flag); });
    };
    if (has(Flag::dropped)) return TakeOutcome::lost_samples;
    return has(Flag::burst) ? TakeOutcome::burst : TakeOutcome::good;
}

SequenceResult run_sequence(Show& show, const TakeSource& source, const std::vector<Step>& steps, const Setup& setup, bool by_hand,
                            const SequenceRules& rules, SequenceControl& control, const SequenceHooks& hooks) {
    std::vector<bool> hands;
    for (const Step& step : steps) hands.push_back(by_hand && !step.circuit.empty());
    Runner runner(show, source, steps, setup, control, hooks);
    SequenceResult result = runner.run(Sequence(hands, rules));
    const bool lost = std::ranges::any_of(result.entries, [](const auto& entry) { return !entry.done && !entry.skipped && entry.last == TakeOutcome::device_lost; });
    if (!result.ended && lost) result.ended = runner.last_loss();
    return result;
}

}  // namespace proofwalk::walk
