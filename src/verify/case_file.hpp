// Everything that the checks of one judgement look at: what was heard, what sounds where, and the joint fit.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "verify/decide.hpp"
#include "verify/hang_fit.hpp"
#include "verify/judge.hpp"
#include "verify/scene.hpp"

namespace proofwalk::verify {

enum class Sounds { not_taken, unusable, silent, unclear, heard };

// What the takes of a circuit say before anything is compared with the plan.
struct CircuitState {
    std::string circuit;
    Sounds sounds = Sounds::not_taken;
    double signal_to_noise_db = 0.0;  // best octave level over noise of the third-best adjacent octave, see check_sounding
    bool has_figure = false;
    std::string reason;               // why unusable or unclear
    // Patch: the circuit of the plan whose boxes really sound; its own when the patch fits.
    std::string drives;
    bool patch_clear = true;   // false: two circuits fit about as well, or none
    bool fits_nothing = false;
    double patch_odds = 0.0;   // log-likelihood of `drives` over the planned circuit
    bool delay_moves = false;  // the delay goes with the box: crossed before the processor
    double missing_db = 0.0;   // largest step of the response of the box that it drives, against its model alone
    bool no_treble = false;    // the high driver is missing: its aim band tells nothing of aim and level
    std::vector<std::string> also_sounding;
    std::vector<std::string> takes, positions;

    [[nodiscard]] bool patched_right() const { return drives == circuit && also_sounding.empty(); }
};

struct CaseFile {
    const Input& input;
    std::vector<const TakenReading*> readings;  // newest usable
    std::vector<CircuitState> circuits;         // in plan order
    std::optional<HangFit> fit;                 // none when nothing was heard

    [[nodiscard]] const CircuitState& circuit(std::string_view id) const;
    [[nodiscard]] const TakenReading* reading(std::string_view circuit, std::string_view position) const;
    [[nodiscard]] const plan::Rules& rules() const { return input.plan.rules; }
};

// as_planned: readings that were made from the plan itself need no search for the box that they come from.
enum class Cables { to_be_found, as_planned };
// What was heard, where it comes from and how it hangs: all that the checks look at.
[[nodiscard]] CaseFile open_case(const Input& input, Cables cables = Cables::to_be_found);
[[nodiscard]] Judgement judge_as_heard(const Input& input, Cables cables);  // judge() without what the plan alone had promised
[[nodiscard]] CheckResult judged(const CaseFile& file, const plan::PlannedCheck& check);

[[nodiscard]] std::vector<CircuitState> circuit_states(const Input& input, const std::vector<const TakenReading*>& readings);
// Fills drives and patch_* of the circuits that are heard; `direct` as from heard_directly.
void find_patches(const Input& input, const std::vector<const TakenReading*>& direct, std::vector<CircuitState>& circuits);

// Fills also_sounding of the circuits that are heard from two places at once; call it after find_patches.
void find_doubles(const Input& input, const std::vector<const TakenReading*>& readings, std::vector<CircuitState>& circuits);

// Fills no_treble; needs `readings` and `circuits`.
void find_missing_treble(CaseFile& file);

// A result with everything that follows from the planned check alone; verdict open.
[[nodiscard]] CheckResult blank(const CaseFile& file, const plan::PlannedCheck& check);
// Open or unsure with its reason when the takes carry no judgement of this check; nothing when it can be judged.
[[nodiscard]] std::optional<CheckResult> without_grounds(const CaseFile& file, const plan::PlannedCheck& check);
// Value, uncertainty, probability and verdict of a two-sided check; `takes` and `positions` as already set.
void settle(CheckResult& result, const Quantity& quantity, double tolerance, const CaseFile& file);
// A pass is earned: where the takes alone could not give it the check becomes unsure, with what they say alone; then true.
[[nodiscard]] bool not_earned(CheckResult& result, const Quantity& alone, const CaseFile& file);

[[nodiscard]] CheckResult judge_sounding(const CaseFile& file, const plan::PlannedCheck& check);
[[nodiscard]] CheckResult judge_polarity(const CaseFile& file, const plan::PlannedCheck& check);
[[nodiscard]] CheckResult judge_response(const CaseFile& file, const plan::PlannedCheck& check);
[[nodiscard]] CheckResult judge_level(const CaseFile& file, const plan::PlannedCheck& check);
[[nodiscard]] CheckResult judge_arrival(const CaseFile& file, const plan::PlannedCheck& check);
[[nodiscard]] CheckResult judge_aim(const CaseFile& file, const plan::PlannedCheck& check);
[[nodiscard]] CheckResult judge_pair(const CaseFile& file, const plan::PlannedCheck& check);

// Hand readings of aim, splay and spacing; oldest first, each combined with what stands.
void take_hand_readings(const CaseFile& file, std::vector<CheckResult>& checks);

// The sources whose level a box is compared with: other circuits of its model that are heard.
[[nodiscard]] std::vector<std::size_t> siblings_of(const CaseFile& file, std::size_t source);
// Where only one of several planned siblings can be compared, the two can't tell which of them is off: half of what parts
// them is a share of any level held against it. None where two siblings or more are heard, and where the plan has no more.
void add_lone_sibling_share(const CaseFile& file, std::size_t source, Quantity& level_db);
[[nodiscard]] double median(std::vector<double> values);
// Level per unit of planned gain of the model as the other boxes (or all, or the plan) show it; nothing when unknown.
[[nodiscard]] std::optional<HangFit::Formula> model_sensitivity(const CaseFile& file, std::size_t source);

}  // namespace proofwalk::verify
