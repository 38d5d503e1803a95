// Curves of what was heard: one circuit at one position in one take, with what the plan says of it.
#pragma once

#include <string>
#include <vector>

#include "report/report.hpp"
#include "signal/phase_curve.hpp"
#include "walk/show.hpp"

namespace proofwalk::walk {

// Points per octave fraction: 6 means sixth-octave smoothing.
inline constexpr double usual_smoothing = 6.0;

// `box`: whose planned curve is drawn. Without an impulse response the curves are empty.
[[nodiscard]] report::BoxCurves curves_of(const plan::Plan& plan, const plan::Box& box, const log::EvidenceRecord& heard,
                                          const std::string& take_label, const acoustics::Air& air, double smoothing);

// Where each reflection of a reading likely came from: plan::likely_surfaces.
[[nodiscard]] std::vector<std::string> surfaces_of(const plan::Plan& plan, const plan::Box& box, const std::string& position,
                                                   const signal::Reading& reading, const acoustics::Air& air);

struct HeardCurve {
    report::BoxCurves curves;
    std::string circuit;
    std::int64_t take = 0;
    Moment when;
    bool retired = false;    // a change since
    bool newest = false;     // the one that counts
    signal::Reading reading;
    signal::PhaseCurve phase;
};

// Every take of the circuit at the position, oldest first: the newest counts, the others are "before".
[[nodiscard]] Result<std::vector<HeardCurve>> heard_curves(const Show& show, const std::string& circuit,
                                                           const std::string& position, double smoothing);

// Where a circuit was heard so far: its positions in the plan's order.
[[nodiscard]] std::vector<std::string> heard_at(const plan::Plan& plan, const std::vector<report::ReadingRow>& rows,
                                                const std::string& circuit);
// The on-axis position of each box of the same model, with its circuit: what a box is compared with.
struct SiblingPlace {
    std::string box, circuit, position;
};
[[nodiscard]] std::vector<SiblingPlace> siblings(const plan::Plan& plan, const std::string& box);

}  // namespace proofwalk::walk
