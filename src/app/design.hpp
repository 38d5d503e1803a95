// Parts of the design desk: the drawing with its tools is the sheet, the panel beside it sets what is chosen, slips answer
// questions about it.
#pragma once

#include "app/sheets.hpp"

namespace proofwalk::app {

// After every edit: the drawing and the prediction follow the draft.
void draft_changed(const Stage& stage);
// Tells the faults of a refused edit; true when it was done.
bool draft_done(const Stage& stage, const Checked<void>& done);

// What is chosen on the desk, with every figure and word that can be set.
void draw_design_panel(const Stage& stage, Rect rect);

void draw_estimate_slip(const Stage& stage, Rect rest);
void draw_place_slip(const Stage& stage, Rect rest);
// Takes over mic places that were worked out for this draft.
void take_placed_mics(const Stage& stage);

// An estimate's drawing in ink, to scale.
void draw_sketch(const Stage& stage, Rect rect, const report::EstimateSketch& sketch);

}  // namespace proofwalk::app
