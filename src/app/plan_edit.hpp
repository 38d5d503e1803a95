// A plan under the pencil: its text, what it says, and every state before and after. Each edit is one step back; what would
// make no sound plan is refused with its faults and changes nothing.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "app/plan_text.hpp"
#include "plan/read.hpp"

namespace proofwalk::app {

// A figure to set, several of them in one step.
struct FigureEdit {
    std::string id;   // of a box
    std::string key;  // "tilt_deg", ...; "x", "y" and "z" are the parts of its place
    double value = 0.0;
    int decimals = 2;
};

class Draft {
public:
    Draft(std::string text, std::string folder);

    [[nodiscard]] const plan::Plan& plan() const { return plan_; }
    [[nodiscard]] const std::string& text() const { return text_; }
    [[nodiscard]] bool changed() const { return text_ != first_; }
    [[nodiscard]] bool can_undo() const { return !before_.empty(); }
    [[nodiscard]] bool can_redo() const { return !after_.empty(); }

    // A figure ("pan_deg"), a place ("at"), a word ("model"), a yes or no ("inverted").
    [[nodiscard]] Checked<void> set(PlanTable table, const std::string& id, const std::string& key, double value, int decimals);
    [[nodiscard]] Checked<void> set_place(PlanTable table, const std::string& id, Vec3 at);
    [[nodiscard]] Checked<void> set_word(PlanTable table, const std::string& id, const std::string& key, const std::string& word);
    [[nodiscard]] Checked<void> set_switch(PlanTable table, const std::string& id, const std::string& key, bool on);
    [[nodiscard]] Checked<void> clear(PlanTable table, const std::string& id, const std::string& key);  // back to its default
    [[nodiscard]] Checked<void> set_figures(const std::vector<FigureEdit>& edits);

    // A new id in place of an old one, wherever the plan names it. For box and position.
    [[nodiscard]] Checked<void> rename(PlanTable table, const std::string& id, const std::string& to);

    // Each gives the id of what is new.
    [[nodiscard]] Checked<std::string> add_box(const std::string& model, Vec3 at, double tilt_deg);
    [[nodiscard]] Checked<std::string> add_position(Vec3 at);
    // For a plan without any model: an assumed one of 90 by 60 degrees, said so beside it, and its first box.
    [[nodiscard]] Checked<std::string> add_model_and_box();
    // A copy a metre beside it, with its comments; output and patch stay with the one that has them.
    [[nodiscard]] Checked<std::string> copy(PlanTable table, const std::string& id);
    // A box leaves its arrays (one that is left with a single box goes too) and the roles that serve it.
    [[nodiscard]] Checked<void> remove(PlanTable table, const std::string& id);

    [[nodiscard]] Checked<void> add_serve(const std::string& position, const plan::Serve& serve);
    [[nodiscard]] Checked<void> remove_serve(const std::string& position, std::size_t index);
    // Two boxes as neighbours: a new array of the two.
    [[nodiscard]] Checked<std::string> add_array(plan::ArrayKind kind, const std::string& first, const std::string& second);
    // These positions instead of the plan's; those that stay as they are keep their lines.
    [[nodiscard]] Checked<void> set_positions(const std::vector<plan::Position>& positions);

    void undo();
    void redo();

private:
    [[nodiscard]] Checked<void> take(std::optional<std::string> text);
    [[nodiscard]] bool read(const std::string& text, Faults* faults);
    void go_to(const std::string& text);
    [[nodiscard]] std::string new_id(const std::string& like) const;
    [[nodiscard]] std::optional<std::string> with_place(std::string_view text, PlanTable table, const std::string& id, Vec3 at) const;

    std::string text_, first_, folder_;
    plan::Plan plan_;
    std::vector<std::string> before_, after_;
};

}  // namespace proofwalk::app
