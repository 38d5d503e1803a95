#include "app/ui.hpp"

#include <GLFW/glfw3.h>
#include <fmt/format.h>
#include <imgui.h>
#include <imgui_internal.h>
#include <imgui_stdlib.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace proofwalk::app {
namespace {

Point pointer() {
    const ImVec2 at = ImGui::GetIO().MousePos;
    return {at.x, at.y};
}

}  // namespace

void Ui::begin(Ink& ink, const Keys& keys, std::optional<KeyStroke> stroke) {
    ink_ = &ink;
    keys_ = &keys;
    stroke_ = stroke;
    if (stroke) by_keyboard_ = true;
    if (ImGui::GetIO().MouseClicked[0]) by_keyboard_ = false;
    live_ = true;
    typing_ = typing_next_;
    typing_next_ = false;
    stops_.clear();
    next_places_.clear();
    next_pressables_.clear();
}

void Ui::end() {
    if (stroke_ && stroke_->key == GLFW_KEY_TAB && !stops_.empty()) {
        const bool back = (stroke_->modifiers & modifier_shift) != 0;
        const auto here = std::ranges::find(stops_, focused_);
        const std::size_t count = stops_.size();
        const std::size_t at = static_cast<std::size_t>(here - stops_.begin());
        const std::size_t next = here == stops_.end() ? (back ? count - 1 : 0) : (at + (back ? count - 1 : 1)) % count;
        focus(stops_[next]);
        if (typing_) ImGui::ClearActiveID();
        stroke_.reset();
    }
    if (!focused_.empty() && std::ranges::find(stops_, focused_) == stops_.end()) focused_.clear();
    places_ = std::move(next_places_);
    pressables_ = std::move(next_pressables_);
    std::erase_if(pictures_, [](const auto& kept) { return !kept.second.drawn; });
    for (auto& [id, kept] : pictures_) kept.drawn = false;
}

const Picture& Ui::picture(std::string_view id, std::string looks, bool smooth, const std::function<Pixels()>& make) {
    auto at = pictures_.find(id);
    if (at == pictures_.end() || at->second.looks != looks)
        at = pictures_.insert_or_assign(std::string{id}, Kept{std::move(looks), Picture{*shelf_, make(), smooth}}).first;
    at->second.drawn = true;
    return at->second.picture;
}

bool Ui::asked(Act act) {
    if (!live_ || !stroke_ || !keys_->asks(*stroke_, act)) return false;
    if (stroke_->repeat && act == Act::go) return false;  // a key held down starts one take, and does not stop it again
    // What has the keyboard is pressed first, wherever on the sheet it stands.
    const bool presses = stroke_->key == GLFW_KEY_SPACE || stroke_->key == GLFW_KEY_ENTER || stroke_->key == GLFW_KEY_KP_ENTER;
    if (presses && !by_pointer_ && pressables_.contains(focused_)) return false;
    // While somebody types, plain keys are text; F-keys and those with Ctrl still act.
    if (typing_ && (stroke_->modifiers & modifier_control) == 0 && stroke_->key < GLFW_KEY_F1) return false;
    stroke_.reset();
    return true;
}

bool Ui::escape() {
    if (!live_ || !stroke_ || stroke_->key != GLFW_KEY_ESCAPE) return false;
    stroke_.reset();
    focused_.clear();  // the main key of the sheet is free again
    if (!typing_) return true;
    ImGui::ClearActiveID();
    typing_ = typing_next_ = false;
    return false;
}

void Ui::focus(std::string_view id) {
    focused_ = id;
    start_typing_ = true;
    by_keyboard_ = true;
    by_pointer_ = false;
}

bool Ui::key_pressed(int key) {
    if (!live_ || !stroke_ || stroke_->key != key) return false;
    stroke_.reset();
    return true;
}

bool Ui::stop_at(std::string_view id, Rect rect) {
    if (!live_) return false;
    stops_.emplace_back(id);
    next_places_.insert_or_assign(std::string{id}, rect);
    return focused_ == id;
}

bool Ui::hovered(Rect rect) const { return live_ && rect.contains(pointer()); }
bool Ui::pressed_now() const { return live_ && ImGui::GetIO().MouseClicked[0]; }
int Ui::sideways() {
    if (typing_) return 0;
    return key_pressed(GLFW_KEY_RIGHT) ? 1 : key_pressed(GLFW_KEY_LEFT) ? -1 : 0;
}
bool Ui::clicked(Rect rect) const { return hovered(rect) && ImGui::GetIO().MouseClicked[0]; }

// Corner ticks outside the widget: seen on every paper, mistaken for no state.
void Ui::draw_focus(Rect rect) {
    if (!by_keyboard_) return;
    const Rect outer = rect.inset(-px(3.0F));
    const float arm = px(9.0F);
    const Colour colour = ink_->paper().ink;
    const auto corner = [&](Point at, float x, float y) {
        ink_->line(at, {at.x + x * arm, at.y}, colour, 2.0F);
        ink_->line(at, {at.x, at.y + y * arm}, colour, 2.0F);
    };
    corner(outer.min, 1.0F, 1.0F);
    corner({outer.max.x, outer.min.y}, -1.0F, 1.0F);
    corner({outer.min.x, outer.max.y}, 1.0F, -1.0F);
    corner(outer.max, -1.0F, -1.0F);
}

// A smaller size where the wanted one has no room: a cut word is worse than a small one.
void Ui::draw_label(Rect room, Size size, Colour colour, std::string_view label) {
    while (size != Size::small && ink_->width(size, label) > room.width()) size = static_cast<Size>(static_cast<int>(size) - 1);
    if (size == Size::small && ink_->width(size, label) > room.width()) room = room.inset(-px(6.0F), 0.0F);
    ink_->text_centred(room, size, colour, label);
}

bool Ui::region(std::string_view id, Rect rect, bool keeps) {
    const bool has_keyboard = stop_at(id, rect);
    if (has_keyboard) draw_focus(rect);
    if (live_) next_pressables_.emplace(id);
    if (clicked(rect)) {
        focused_ = id;  // Tab goes on from here
        by_pointer_ = !keeps;
        return true;
    }
    return has_keyboard && !by_pointer_ && !typing_ && (key_pressed(GLFW_KEY_ENTER) || key_pressed(GLFW_KEY_KP_ENTER) || key_pressed(GLFW_KEY_SPACE));
}

bool Ui::button(std::string_view id, Rect rect, std::string_view label, Weight weight, bool enabled, std::string_view key) {
    const Paper& paper = ink_->paper();
    const bool over = enabled && hovered(rect);
    if (over) ink_->fill(rect, paper.selected);
    const Colour colour = enabled ? paper.ink : paper.hairline;
    const Size size = weight == Weight::main ? Size::head : Size::body;
    if (weight != Weight::quiet) ink_->frame(rect, enabled ? paper.ink : paper.hairline, weight == Weight::main ? 2.5F : 1.0F);
    if (weight == Weight::main && enabled) ink_->frame(rect.inset(px(4.0F)), paper.hairline);
    Rect room = rect.inset(px(10.0F), 0.0F);
    if (!key.empty()) {
        const float wide = ink_->width(Size::small, key);
        if (room.width() > wide + ink_->width(size, label) + px(12.0F)) {
            const Rect at = cut_right(room, wide);
            ink_->text({at.min.x, at.centre().y - 0.5F * ink_->line_height(Size::small)}, Size::small,
                       enabled ? paper.faint : paper.hairline, key);
        }
    }
    draw_label(room, size, colour, label);
    return enabled && region(id, rect);
}

bool Ui::tick(std::string_view id, Rect rect, std::string_view label, bool& on) {
    const Paper& paper = ink_->paper();
    Rect room = rect;
    const float side = px(18.0F);
    Rect box = cut_left(room, side);
    box.min.y = rect.centre().y - 0.5F * side;
    box.max.y = box.min.y + side;
    ink_->frame(box, paper.ink);
    if (on) {
        const std::array<Point, 3> strokes = {Point{box.min.x + 0.2F * side, box.min.y + 0.55F * side},
                                              Point{box.min.x + 0.42F * side, box.min.y + 0.78F * side},
                                              Point{box.min.x + 0.82F * side, box.min.y + 0.22F * side}};
        ink_->path(strokes, paper.ink, 2.0F);
    }
    cut_left(room, px(8.0F));
    ink_->text_in(room, Size::body, paper.ink, label);
    if (!region(id, rect, true)) return false;
    on = !on;
    return true;
}

bool Ui::choice(std::string_view id, Rect rect, std::span<const std::string> words, std::size_t& chosen) {
    const Paper& paper = ink_->paper();
    const bool has_keyboard = stop_at(id, rect);
    if (has_keyboard) draw_focus(rect);
    bool changed = false;
    if (has_keyboard && !typing_ && !words.empty()) {
        if (key_pressed(GLFW_KEY_RIGHT)) chosen = (chosen + 1) % words.size(), changed = true;
        if (key_pressed(GLFW_KEY_LEFT)) chosen = (chosen + words.size() - 1) % words.size(), changed = true;
    }
    Rect rest = rect;
    for (std::size_t i = 0; i < words.size(); ++i) {
        const Rect cell = cut_left(rest, rect.width() / static_cast<float>(words.size()));
        if (live_) next_places_.insert_or_assign(fmt::format("{}:{}", id, words[i]), cell);
        if (hovered(cell)) ink_->fill(cell, paper.selected);
        ink_->frame(cell, paper.hairline);
        if (i == chosen) ink_->line({cell.min.x, cell.max.y - px(1.5F)}, {cell.max.x, cell.max.y - px(1.5F)}, paper.ink, 3.0F);
        draw_label(cell.inset(px(4.0F), 0.0F), Size::body, i == chosen ? paper.ink : paper.faint, words[i]);
        if (clicked(cell)) {
            focused_ = id;
            changed = changed || chosen != i;
            chosen = i;
        }
    }
    return changed;
}

bool Ui::field(std::string_view id, Rect rect, std::string_view caption, std::string& text, std::string_view hint) {
    const Paper& paper = ink_->paper();
    Rect room = rect;
    if (!caption.empty()) ink_->text_in(cut_top(room, ink_->line_height(Size::small)), Size::small, paper.faint, caption);
    ink_->fill(room, paper.field);
    ink_->line({room.min.x, room.max.y}, room.max, paper.ink);
    const bool has_keyboard = stop_at(id, room);
    if (!live_) {
        ink_->text_in(room.inset(px(6.0F), 0.0F), Size::body, paper.ink, text);
        return false;
    }
    static_cast<void>(ink_->width(Size::body, text));  // its characters are wanted in the atlas
    ImGui::SetCursorScreenPos({room.min.x, room.min.y});
    ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {px(6.0F), std::max(0.0F, 0.5F * (room.height() - ImGui::GetFontSize()))});
    ImGui::PushStyleColor(ImGuiCol_FrameBg, 0);
    ImGui::PushStyleColor(ImGuiCol_Text, paper.ink);
    ImGui::PushStyleColor(ImGuiCol_TextDisabled, paper.faint);
    ImGui::PushStyleColor(ImGuiCol_TextSelectedBg, with_alpha(paper.faint, 110));
    ImGui::SetNextItemWidth(room.width());
    if (has_keyboard && start_typing_) {
        ImGui::SetKeyboardFocusHere();
        start_typing_ = false;
    }
    const std::string name = fmt::format("##{}", id);
    ImGui::InputTextWithHint(name.c_str(), std::string{hint}.c_str(), &text);
    const bool active = ImGui::IsItemActive();
    ImGui::PopStyleColor(4);
    ImGui::PopStyleVar();
    if (active) {
        typing_next_ = true;
        focused_ = id;
    }
    if (has_keyboard || active) draw_focus(room);
    return active && (key_pressed(GLFW_KEY_ENTER) || key_pressed(GLFW_KEY_KP_ENTER));
}

bool Ui::stepper(std::string_view id, Rect rect, std::string_view caption, double& value, double step, double low, double high,
                 std::string_view unit, int decimals) {
    const Paper& paper = ink_->paper();
    Rect room = rect;
    ink_->text_in(cut_top(room, ink_->line_height(Size::small)), Size::small, paper.faint, caption);
    const bool has_keyboard = stop_at(id, room);
    if (has_keyboard) draw_focus(room);
    const double before = value;
    if (has_keyboard && !typing_) {
        if (key_pressed(GLFW_KEY_UP) || key_pressed(GLFW_KEY_RIGHT)) value += step;
        if (key_pressed(GLFW_KEY_DOWN) || key_pressed(GLFW_KEY_LEFT)) value -= step;
    }
    ink_->frame(room, paper.hairline);
    const Rect less = cut_left(room, std::min({room.height(), 0.24F * rect.width(), px(44.0F)}));
    const Rect more = cut_right(room, less.width());
    for (const auto& [side, sign, direction] : {std::tuple{less, "\u2212", -1.0}, std::tuple{more, "+", 1.0}}) {
        if (hovered(side)) ink_->fill(side, paper.selected);
        ink_->frame(side, paper.hairline);
        ink_->text_centred(side, Size::body, paper.ink, sign);
        if (live_) next_places_.insert_or_assign(fmt::format("{}:{}", id, direction < 0 ? "less" : "more"), side);
        if (clicked(side)) {
            focused_ = id;
            value += direction * step;
        }
    }
    value = std::clamp(value, low, high);
    std::string figure = fmt::format("{:.{}f}", std::abs(value), decimals);
    if (value < 0.0 && figure.find_first_not_of("0.") != std::string::npos) figure = "\u2212" + figure;
    draw_label(room, Size::body, paper.ink, unit.empty() ? figure : figure + (unit == "\u00b0" ? "" : " ") + std::string{unit});
    return value != before;
}

bool Ui::list(std::string_view id, Rect rect, std::size_t count, float row_height, ListState& state,
              const std::function<void(std::size_t, Rect, bool)>& draw) {
    const Paper& paper = ink_->paper();
    const bool has_keyboard = stop_at(id, rect);
    const float whole = row_height * static_cast<float>(count), most = std::max(0.0F, whole - rect.height());
    if (state.selected && *state.selected >= count)
        state.selected = count == 0 ? std::nullopt : std::optional<std::size_t>{count - 1};
    bool pressed = false;
    if (has_keyboard) {
        draw_focus(rect);
        if (!typing_ && count > 0) {
            const auto page = static_cast<std::ptrdiff_t>(std::max(1.0F, rect.height() / row_height - 1.0F));
            const auto move = [&](std::ptrdiff_t by) {
                const auto from = state.selected ? static_cast<std::ptrdiff_t>(*state.selected) : (by > 0 ? -1 : 1);
                state.selected = static_cast<std::size_t>(std::clamp(from + by, std::ptrdiff_t{0}, static_cast<std::ptrdiff_t>(count) - 1));
                state.show_selected = true;
            };
            if (key_pressed(GLFW_KEY_DOWN)) move(1);
            if (key_pressed(GLFW_KEY_UP)) move(-1);
            if (key_pressed(GLFW_KEY_PAGE_DOWN)) move(page);
            if (key_pressed(GLFW_KEY_PAGE_UP)) move(-page);
            if (key_pressed(GLFW_KEY_HOME)) move(-static_cast<std::ptrdiff_t>(count));
            if (key_pressed(GLFW_KEY_END)) move(static_cast<std::ptrdiff_t>(count));
            if (state.selected && (key_pressed(GLFW_KEY_ENTER) || key_pressed(GLFW_KEY_KP_ENTER))) pressed = true;
        }
    }
    if (hovered(rect)) state.scroll -= ImGui::GetIO().MouseWheel * 3.0F * row_height;
    if (state.show_selected && state.selected) {
        const float top = row_height * static_cast<float>(*state.selected);
        state.scroll = std::clamp(state.scroll, top + row_height - rect.height(), top);
        state.show_selected = false;
    }
    state.scroll = std::clamp(state.scroll, 0.0F, most);
    ink_->clip(rect);
    const auto first = static_cast<std::size_t>(state.scroll / row_height);
    for (std::size_t i = first; i < count; ++i) {
        const float y = rect.min.y + row_height * static_cast<float>(i) - state.scroll;
        if (y >= rect.max.y) break;
        const Rect row{{rect.min.x, y}, {rect.max.x - (most > 0.0F ? px(10.0F) : 0.0F), y + row_height}};
        const bool selected = state.selected == i;
        if (selected) ink_->fill(row, paper.selected);
        draw(i, row, selected);
        const Rect seen{{row.min.x, std::max(row.min.y, rect.min.y)}, {row.max.x, std::min(row.max.y, rect.max.y)}};
        if (live_) next_places_.insert_or_assign(fmt::format("{}:{}", id, i), seen);
        if (clicked(seen)) {
            pressed = pressed || (selected && ImGui::GetIO().MouseDoubleClicked[0]);
            state.selected = i;
            focused_ = id;
        }
    }
    ink_->unclip();
    if (most > 0.0F) {
        const float x = rect.max.x - px(3.0F), share = rect.height() / whole;
        const float top = rect.min.y + state.scroll * share;
        ink_->line({x, rect.min.y}, {x, rect.max.y}, paper.hairline);
        ink_->line({x, top}, {x, top + std::max(px(16.0F), rect.height() * share)}, paper.ink, 3.0F);
    }
    return pressed;
}

Ui::Drag Ui::drag(std::string_view id, Rect rect) {
    Drag result;
    const ImGuiIO& io = ImGui::GetIO();
    result.at = pointer();
    if (stop_at(id, rect)) {
        draw_focus(rect);
        if (!typing_) {
            result.step.x = key_pressed(GLFW_KEY_RIGHT) ? 1.0F : key_pressed(GLFW_KEY_LEFT) ? -1.0F : 0.0F;
            result.step.y = key_pressed(GLFW_KEY_DOWN) ? 1.0F : key_pressed(GLFW_KEY_UP) ? -1.0F : 0.0F;
            result.whole = key_pressed(GLFW_KEY_HOME);
            const bool plain = stroke_ && (stroke_->modifiers & modifier_control) == 0;  // with Ctrl they change the type's size
            const bool in = plain && (key_pressed(GLFW_KEY_EQUAL) || key_pressed(GLFW_KEY_KP_ADD)), out = !in && plain && (key_pressed(GLFW_KEY_MINUS) || key_pressed(GLFW_KEY_KP_SUBTRACT));
            if (in || out) result.wheel = in ? 1.0F : -1.0F, result.at = rect.centre();
        }
    }
    if (clicked(rect)) {
        dragging_ = id;
        focused_ = id;
        result.pressed = true;
    }
    if (dragging_ == id) {
        result.active = true;
        result.by = {io.MouseDelta.x, io.MouseDelta.y};
        if (!io.MouseDown[0]) {
            result.released = true;
            dragging_.clear();
        }
    }
    if (hovered(rect) && io.MouseWheel != 0.0F) result.wheel = io.MouseWheel;
    return result;
}

}  // namespace proofwalk::app
