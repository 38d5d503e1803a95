#include "report/gear_list.hpp"

#include <fmt/format.h>

#include "report/json.hpp"
#include "report/text_table.hpp"
#include "report/verdict_marks.hpp"

namespace proofwalk::report {

std::string gear_json(const std::vector<verify::GearCheck>& checks) {
    Json list = Json::array();
    for (const auto& check : checks)
        list.push_back({{"check", check.check},
                        {"subject", check.subject},
                        {"verdict", verify::word(check.verdict)},
                        {"value", number(check.value)},
                        {"unit", check.unit},
                        {"limit", number(check.limit)},
                        {"says", check.says},
                        {"advice", check.advice}});
    const auto fault = verify::gear_fault(checks);
    return dumped({{"format", "proofwalk.gear/1"}, {"fault", fault ? Json(*fault) : Json(nullptr)}, {"checks", list}});
}

std::string gear_text(const std::vector<verify::GearCheck>& checks, const TextStyle& style) {
    TextTable table({{.title = ""}, {.title = "check"}, {.title = "subject"}, {.title = "what was found", .takes_rest = true}});
    for (const auto& check : checks) {
        const VerdictMark& mark = mark_of(check.verdict);
        const std::string advice = check.advice.empty() ? "" : " > " + check.advice;
        table.add({{fmt::format("{} {}", mark.glyph, verify::word(check.verdict)), std::string(mark.ansi)},
                   {check.check},
                   {printable(check.subject)},
                   {printable(check.says + advice)}});
    }
    return table.text(style);
}

}  // namespace proofwalk::report
