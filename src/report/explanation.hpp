// Explanations of checks for people, programs and paper, and the teaching text of one check.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "report/glossary.hpp"
#include "report/report.hpp"
#include "verify/explain.hpp"

namespace proofwalk::report {

[[nodiscard]] std::string explanation_text(const verify::Explanation& why, const TextStyle& style);
[[nodiscard]] std::string teaching_text(const GlossaryEntry& entry, const TextStyle& style);

// proofwalk.explain/1: {"format", "checks": [...], "teaching": [...]}
[[nodiscard]] std::string explanations_json(const std::vector<verify::Explanation>& all, const std::vector<const GlossaryEntry*>& teaching);

// Each figure on the scale of its own tolerance, with its interval, and below it the lines of its budget. An SVG file.
[[nodiscard]] std::string explanations_svg(std::string_view title, const std::vector<verify::Explanation>& all);

}  // namespace proofwalk::report
