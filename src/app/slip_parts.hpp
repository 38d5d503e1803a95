// What slips are made of: the paper with its title, and its answers.
#pragma once

#include "app/sheets.hpp"

namespace proofwalk::app {

// Lays a slip over the sheet and gives what is free below its title.
[[nodiscard]] Rect lay_slip(const Stage& stage, Rect whole, float width, float height, std::string_view title);

// Two buttons at the bottom; gives what was pressed. Escape is a no.
enum class Answer { none, yes, no };
[[nodiscard]] Answer slip_answer(const Stage& stage, Rect& rest, std::string_view yes, bool ready, std::string_view no = "Put away");

void draw_note_slip(const Stage& stage, Rect whole);
void draw_audit_slip(const Stage& stage, Rect whole);
void draw_certificate_slip(const Stage& stage, Rect whole);
// A loopback, match or calibrator take; set up by open_proof, which chooses what is likely wanted.
void open_proof(const Stage& stage, signal::TakeKind kind);
void draw_proof_slip(const Stage& stage, Rect whole);
void draw_photo_slip(const Stage& stage, Rect whole);
// One proof of the gear with its mark, as many lines as it needs.
void draw_proof_line(const Stage& stage, Rect& rest, verify::Verdict verdict, const std::string& words);

}  // namespace proofwalk::app
