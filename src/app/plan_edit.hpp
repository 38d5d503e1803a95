// Changes of single figures in the text of a plan: comments, order and spacing of everything else stay as they are.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "plan/read.hpp"

namespace proofwalk::app {

enum class PlanTable { box, position };

// The value of a key in the table of that id replaced (or the key added at its end). Absent when the text has no such table,
// or the value goes over several lines.
[[nodiscard]] std::optional<std::string> with_value(std::string_view text, PlanTable table, std::string_view id, std::string_view key,
                                                    std::string_view value);

// A plan under the pencil: its text, what it says, and every state before and after.
class Draft {
public:
    Draft(std::string text, std::string folder);

    [[nodiscard]] const plan::Plan& plan() const { return plan_; }
    [[nodiscard]] const std::string& text() const { return text_; }
    [[nodiscard]] bool changed() const { return text_ != first_; }
    [[nodiscard]] bool can_undo() const { return !before_.empty(); }
    [[nodiscard]] bool can_redo() const { return !after_.empty(); }

    // Sets a figure ("pan_deg") or a place ("at"); the plan that follows must be sound, else nothing changes and the faults
    // say why.
    [[nodiscard]] Checked<void> set(PlanTable table, const std::string& id, const std::string& key, double value, int decimals);
    [[nodiscard]] Checked<void> set_place(PlanTable table, const std::string& id, Vec3 at);
    void undo();
    void redo();

private:
    [[nodiscard]] Checked<void> take(std::optional<std::string> text);
    [[nodiscard]] bool read(const std::string& text, Faults* faults);

    std::string text_, first_, folder_;
    plan::Plan plan_;
    std::vector<std::string> before_, after_;
};

}  // namespace proofwalk::app
