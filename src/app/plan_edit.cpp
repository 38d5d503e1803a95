#include "app/plan_edit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <map>
#include <utility>

namespace proofwalk::app {
namespace {

constexpr std::size_t most_steps = 500;

std::string figure_text(double value, int decimals) {
    const std::string text = fmt::format("{:.{}f}", value, decimals);
    return text.find_first_of("123456789") == std::string::npos && text.starts_with('-') ? text.substr(1) : text;  // no minus zero
}

std::string place_text(Vec3 at) {
    return fmt::format("[{}, {}, {}]", figure_text(at.x, 3), figure_text(at.y, 3), figure_text(at.z, 3));
}

std::string list_text(const std::vector<std::string>& words) {
    std::string text;
    for (const auto& word : words) text += (text.empty() ? "" : ", ") + toml_word(word);
    return "[" + text + "]";
}

std::string serve_text(const plan::Serve& serve) {
    return fmt::format("{{ role = {}, boxes = {} }}", toml_word(plan::word(serve.role)), list_text(serve.boxes));
}

std::string position_lines(const plan::Position& position) {
    std::string text = fmt::format("[[position]]\nid = {}\nat = {}\n", toml_word(position.id), place_text(position.at));
    if (position.place_u_m) text += fmt::format("place_u_m = {}\n", figure_text(*position.place_u_m, 3));
    text += "serves = [";
    for (const auto& serve : position.serves) text += fmt::format("\n  {},", serve_text(serve));
    return text + (position.serves.empty() ? "]" : "\n]");
}

std::string box_lines(const std::string& id, const std::string& model, Vec3 at, double tilt_deg) {
    return fmt::format("[[box]]\nid       = {}\nmodel    = {}\nat       = {}\npan_deg  = 0.00\ntilt_deg = {}\ngain_db  = 0.0\ndelay_ms = 0.00", toml_word(id), toml_word(model), place_text(at),
                       figure_text(tilt_deg, 2));
}

bool contains(const std::vector<std::string>& words, const std::string& word) { return std::ranges::find(words, word) != words.end(); }

// A serve with the box renamed, or left out where `to` is empty; without boxes where nothing of it is left.
plan::Serve without_box(plan::Serve serve, const std::string& id, const std::string& to = {}) {
    if (to.empty()) {
        std::erase(serve.boxes, id);
        if (serve.role == plan::Role::crossover && serve.boxes.size() < 2) serve.boxes.clear();
    } else {
        std::ranges::replace(serve.boxes, id, to);
    }
    return serve;
}

bool same(const plan::Position& a, const plan::Position& b) {
    return a.at.x == b.at.x && a.at.y == b.at.y && a.at.z == b.at.z && a.place_u_m == b.place_u_m &&
           std::ranges::equal(a.serves, b.serves, [](const plan::Serve& one, const plan::Serve& two) { return one.role == two.role && one.boxes == two.boxes; });
}

// A box's name in every list that has it: renamed, or taken out where `to` is empty. Nothing when a list stands in a form
// that is not known here.
std::optional<std::string> with_box_named(std::string text, const plan::Plan& plan, const std::string& id, const std::string& to) {
    for (const auto& array : plan.arrays) {
        if (!contains(array.boxes, id)) continue;
        const auto list = value_of(text, PlanTable::array, array.id, "boxes");
        if (!list) return std::nullopt;
        const auto at = static_cast<std::size_t>(std::ranges::find(array.boxes, id) - array.boxes.begin());
        const auto elements = elements_of(text, *list);
        if (elements.size() != array.boxes.size()) return std::nullopt;
        if (!to.empty()) text.replace(elements[at].begin, elements[at].end - elements[at].begin, toml_word(to));
        else if (array.boxes.size() > 2) text = without_element(text, *list, at);
        else if (auto gone = without_table(text, PlanTable::array, array.id)) text = std::move(*gone);
        else return std::nullopt;
    }
    for (const auto& position : plan.positions)
        for (std::size_t i = position.serves.size(); i-- > 0;) {
            if (!contains(position.serves[i].boxes, id)) continue;
            const auto list = value_of(text, PlanTable::position, position.id, "serves");
            if (!list) return std::nullopt;
            const auto elements = elements_of(text, *list);
            if (i >= elements.size()) return std::nullopt;
            const plan::Serve left = without_box(position.serves[i], id, to);
            if (left.boxes.empty()) text = without_element(text, *list, i);
            else text.replace(elements[i].begin, elements[i].end - elements[i].begin, serve_text(left));
        }
    return text;
}

}  // namespace

Draft::Draft(std::string text, std::string folder) : text_(std::move(text)), first_(text_), folder_(std::move(folder)) {
    static_cast<void>(read(text_, nullptr));
}

bool Draft::read(const std::string& text, Faults* faults) {
    auto plan = plan::read(text, "the draft", folder_);
    if (!plan) {
        if (faults != nullptr) *faults = plan.error();
        return false;
    }
    plan_ = std::move(plan->plan);
    text_ = text;
    return true;
}

Checked<void> Draft::take(std::optional<std::string> text) {
    if (!text)
        return std::unexpected(Faults{{FaultKind::input, "the draft", "", "this stands in a form that can't be changed here",
                                       "change it in the plan's file"}});
    if (*text == text_) return {};
    std::string earlier = text_;
    Faults faults;
    if (!read(*text, &faults)) return std::unexpected(faults);
    before_.push_back(std::move(earlier));
    if (before_.size() > most_steps) before_.erase(before_.begin());
    after_.clear();
    return {};
}

Checked<void> Draft::set(PlanTable table, const std::string& id, const std::string& key, double value, int decimals) {
    return take(with_value(text_, table, id, key, figure_text(value, decimals)));
}

Checked<void> Draft::set_place(PlanTable table, const std::string& id, Vec3 at) { return take(with_value(text_, table, id, "at", place_text(at))); }

Checked<void> Draft::set_word(PlanTable table, const std::string& id, const std::string& key, const std::string& word) {
    return take(with_value(text_, table, id, key, toml_word(word)));
}

Checked<void> Draft::set_switch(PlanTable table, const std::string& id, const std::string& key, bool on) {
    return take(with_value(text_, table, id, key, on ? "true" : "false"));
}

Checked<void> Draft::clear(PlanTable table, const std::string& id, const std::string& key) { return take(without_key(text_, table, id, key)); }

Checked<void> Draft::set_figures(const std::vector<FigureEdit>& edits) {
    std::optional<std::string> text = text_;
    std::map<std::string, Vec3> places;
    for (const FigureEdit& edit : edits) {
        const plan::Box* box = plan_.box(edit.id);
        if (!text || box == nullptr) return take(std::nullopt);
        if (edit.key == "x" || edit.key == "y" || edit.key == "z") {
            Vec3& at = places.try_emplace(edit.id, box->at).first->second;
            (edit.key == "x" ? at.x : edit.key == "y" ? at.y : at.z) = edit.value;
        } else {
            text = with_value(*text, PlanTable::box, edit.id, edit.key, figure_text(edit.value, edit.decimals));
        }
    }
    for (const auto& [id, at] : places)
        if (text) text = with_value(*text, PlanTable::box, id, "at", place_text(at));
    return take(std::move(text));
}

// "M1" gives "M3" when M2 is taken; a name without a number gets one. As many digits as the first had.
std::string Draft::new_id(const std::string& like) const {
    std::string stem = like;
    std::size_t digits = 0;
    while (!stem.empty() && std::isdigit(static_cast<unsigned char>(stem.back())) != 0) stem.pop_back(), ++digits;
    const auto taken = [&](const std::string& id) {
        return plan_.box(id) != nullptr || plan_.position(id) != nullptr || std::ranges::any_of(plan_.boxes, [&](const plan::Box& box) { return box.circuit == id; }) ||
               std::ranges::any_of(plan_.arrays, [&](const plan::Array& array) { return array.id == id; });
    };
    for (int number = digits == 0 ? 2 : 1;; ++number)
        if (const std::string id = fmt::format("{}{:0{}}", stem, number, std::max<std::size_t>(digits, 1)); !taken(id)) return id;
}

Checked<std::string> Draft::add_model_and_box() {
    constexpr std::string_view model = "[[model]]\nid = \"assumed\"  # write its maker's figures in place of these\npattern = \"beam\"\ncoverage_h_deg = 90.0\ncoverage_v_deg = 60.0\n"
                                       "aim_band_hz = [2000.0, 8000.0]\nrange_hz = [60.0, 18000.0]";
    const std::string id = new_id("M1");
    const std::string text = with_table(with_table(text_, PlanTable::model, {}, model), PlanTable::box, {}, box_lines(id, "assumed", {0.0, 0.0, 4.0}, -10.0));
    if (auto done = take(text); !done) return std::unexpected(done.error());
    return id;
}

Checked<std::string> Draft::add_box(const std::string& model, Vec3 at, double tilt_deg) {
    const std::string id = new_id(plan_.boxes.empty() ? "M1" : plan_.boxes.back().id);
    const std::string lines = box_lines(id, model, at, tilt_deg);
    if (auto done = take(with_table(text_, PlanTable::box, {}, lines)); !done) return std::unexpected(done.error());
    return id;
}

Checked<std::string> Draft::add_position(Vec3 at) {
    plan::Position position;
    position.id = new_id(plan_.positions.empty() ? "p01" : plan_.positions.back().id);
    position.at = at;
    if (auto done = take(with_table(text_, PlanTable::position, {}, position_lines(position))); !done) return std::unexpected(done.error());
    return position.id;
}

Checked<std::string> Draft::copy(PlanTable table, const std::string& id) {
    const auto span = table_span(text_, table, id);
    const plan::Box* box = plan_.box(id);
    const plan::Position* position = plan_.position(id);
    const bool is_box = table == PlanTable::box;
    if (!span || (is_box ? box == nullptr : position == nullptr)) return std::unexpected(take(std::nullopt).error());
    const std::string to = new_id(id);
    Vec3 at = is_box ? box->at : position->at;
    at.y += 1.0;
    // The copy is edited by itself, where its id is still the first one's.
    std::optional<std::string> lines{span->of(text_)};
    lines = with_value(*lines, table, id, "at", place_text(at));
    if (lines && is_box && box->circuit == id)
        for (const char* key : {"circuit", "output", "patch"})
            if (lines) lines = without_key(*lines, table, id, key);
    if (lines) lines = with_value(*lines, table, id, "id", toml_word(to));
    if (!lines) return std::unexpected(take(std::nullopt).error());
    if (auto done = take(with_table(text_, table, id, *lines)); !done) return std::unexpected(done.error());
    return to;
}

Checked<void> Draft::remove(PlanTable table, const std::string& id) {
    auto text = without_table(text_, table, id);
    if (text && table == PlanTable::box) text = with_box_named(std::move(*text), plan_, id, {});
    return take(std::move(text));
}

Checked<void> Draft::rename(PlanTable table, const std::string& id, const std::string& to) {
    if (to == id) return {};
    std::optional<std::string> text = text_;
    if (table == PlanTable::box) {
        for (const auto& box : plan_.boxes) {
            if (box.circuit != id || !text) continue;
            if (const auto circuit = value_of(*text, table, box.id, "circuit")) text->replace(circuit->begin, circuit->end - circuit->begin, toml_word(to));
        }
        if (text && !to.empty()) text = with_box_named(std::move(*text), plan_, id, to);
    }
    if (text) text = with_value(*text, table, id, "id", toml_word(to));
    return take(std::move(text));
}

Checked<void> Draft::add_serve(const std::string& position, const plan::Serve& serve) {
    const auto list = value_of(text_, PlanTable::position, position, "serves");
    if (list) return take(with_element(text_, *list, serve_text(serve)));
    return take(with_value(text_, PlanTable::position, position, "serves", fmt::format("[{}]", serve_text(serve))));
}

Checked<void> Draft::remove_serve(const std::string& position, std::size_t index) {
    const auto list = value_of(text_, PlanTable::position, position, "serves");
    if (!list) return take(std::nullopt);
    return take(without_element(text_, *list, index));
}

Checked<std::string> Draft::add_array(plan::ArrayKind kind, const std::string& first, const std::string& second) {
    const std::string id = new_id("pair-1");
    const std::string lines = fmt::format("[[array]]\nid    = {}\nkind  = {}\nboxes = {}", toml_word(id), toml_word(plan::word(kind)), list_text({first, second}));
    if (auto done = take(with_table(text_, PlanTable::array, {}, lines)); !done) return std::unexpected(done.error());
    return id;
}

Checked<void> Draft::set_positions(const std::vector<plan::Position>& positions) {
    std::optional<std::string> text = text_;
    for (const auto& old : plan_.positions) {
        const auto now = std::ranges::find(positions, old.id, &plan::Position::id);
        if (text && (now == positions.end() || !same(*now, old))) text = without_table(*text, PlanTable::position, old.id);
    }
    std::string after;
    for (const auto& position : positions) {
        if (!text) break;
        if (!table_span(*text, PlanTable::position, position.id)) *text = with_table(*text, PlanTable::position, after, position_lines(position));
        after = position.id;
    }
    return take(std::move(text));
}

// A text that is no sound plan (a plan's file before its first box) is kept as it is, with nothing to draw.
void Draft::go_to(const std::string& text) {
    if (read(text, nullptr)) return;
    text_ = text;
    plan_ = {};
}

void Draft::undo() {
    if (before_.empty()) return;
    after_.push_back(text_);
    go_to(before_.back());
    before_.pop_back();
}

void Draft::redo() {
    if (after_.empty()) return;
    before_.push_back(text_);
    go_to(after_.back());
    after_.pop_back();
}

}  // namespace proofwalk::app
