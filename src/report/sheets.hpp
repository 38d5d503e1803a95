// The sheets of the report; each gives the inside of one sheet as HTML.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "report/report.hpp"

namespace proofwalk::report {

struct Sheet {
    std::string name;    // as in the contents and the title block
    std::string anchor;  // id on the page
    std::string head;    // heading, beside the title block
    std::string body;
    bool landscape = false;  // when printed
};

// Numbers of the failed checks, in order: what stands beside a mark on the drawing and in the list.
struct Notes {
    explicit Notes(const Show& show);
    [[nodiscard]] int number_of(const verify::CheckResult& check) const;  // 0: not a fail
    std::vector<const verify::CheckResult*> failed;
    std::map<std::string, std::string> of_box;  // "1, 2"
    std::map<std::string, std::string> when;    // of each take, by its label
};

[[nodiscard]] std::vector<std::string> subjects_of(const verify::CheckResult& check);  // "A+B" as two
[[nodiscard]] std::string box_anchor(const Show& show, const std::string& box);       // empty when the plan has no such box

[[nodiscard]] Sheet tally_sheet(const Show& show, const Notes& notes);
[[nodiscard]] Sheet room_sheet(const Show& show, const Notes& notes);
[[nodiscard]] Sheet box_sheet(const Show& show, const Notes& notes, const plan::Box& box);
[[nodiscard]] Sheet array_sheet(const Show& show, const Notes& notes);  // body empty without arrays and pair checks
[[nodiscard]] Sheet readings_sheet(const Show& show);                   // body empty without readings
[[nodiscard]] Sheet sign_off_sheet(const Show& show);
[[nodiscard]] Sheet lead_sheet(const Show& show, const Notes& notes);       // all on one printed page
[[nodiscard]] Sheet look_back_sheet(const Show& show, const Notes& notes);  // skips, repeats, changes, what never was measured

// Title block in the corner of a sheet.
[[nodiscard]] std::string title_block(const Show& show, const Sheet& sheet, std::size_t number, std::size_t of);

// Pieces that several sheets share.
[[nodiscard]] std::string counts_list(const Show& show);
[[nodiscard]] std::string subject_links(const Show& show, const verify::CheckResult& check);  // to the sheets of its boxes
[[nodiscard]] std::string skipped_table(const Show& show, bool links);
[[nodiscard]] std::string open_table(const Show& show, bool links);
[[nodiscard]] std::string cautions_html(const Show& show);
[[nodiscard]] std::string rehearsal_line(const Show& show);
[[nodiscard]] std::string signature_block();

// Remarks, incidents and attachments: of one thing ("box M1", also as plain "M1"), or all with an empty name. Photos are
// shown below the list.
[[nodiscard]] std::string remarks_html(const Show& show, const std::string& kind, const std::string& id, const std::string& caption);

// A table of checks; empty without any.
[[nodiscard]] std::string checks_table(const std::vector<const verify::CheckResult*>& checks, const Notes& notes,
                                       const std::string& caption);

}  // namespace proofwalk::report
