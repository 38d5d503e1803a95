#include "app/input_queue.hpp"

#include <GLFW/glfw3.h>
#include <imgui.h>

#include <algorithm>

namespace proofwalk::app {
namespace {

constexpr int known_keys = IM_ARRAYSIZE(ImGuiIO::KeysDown);

void set_modifiers(ImGuiIO& io, int modifiers) {
    io.KeyShift = (modifiers & modifier_shift) != 0;
    io.KeyCtrl = (modifiers & modifier_control) != 0;
    io.KeyAlt = (modifiers & modifier_alt) != 0;
    io.KeySuper = (modifiers & modifier_super) != 0;
}

}  // namespace

void InputQueue::key(int key, int modifiers, bool down, bool repeat) {
    if (key >= 0 && key < known_keys) events_.emplace_back(Key{key, modifiers, down, repeat});
}
void InputQueue::character(unsigned codepoint) { events_.emplace_back(Character{codepoint}); }
void InputQueue::pointer(Point at) {
    if (!events_.empty() && std::holds_alternative<Pointer>(events_.back())) events_.pop_back();
    events_.emplace_back(Pointer{at});
}
void InputQueue::button(int button, bool down) {
    if (button >= 0 && button < IM_ARRAYSIZE(ImGuiIO::MouseDown)) events_.emplace_back(Button{button, down});
}
void InputQueue::wheel(float lines) { events_.emplace_back(Wheel{lines}); }
void InputQueue::left_window() { events_.emplace_back(Left{}); }

std::optional<KeyStroke> InputQueue::feed(ImGuiIO& io) {
    std::optional<KeyStroke> stroke;
    bool released = false;
    while (!events_.empty()) {
        const Event event = events_.front();
        if (const auto* key = std::get_if<Key>(&event)) {
            // Releases may share a frame; a press ends what may come before it.
            if (stroke || (released && key->down)) break;
            events_.pop_front();
            set_modifiers(io, key->modifiers);
            if (key->down) {
                // A repeat is a fresh press for the text field, which would otherwise time repeats by itself.
                io.KeysDown[key->key] = true;
                if (key->repeat) io.KeysDownDuration[key->key] = -1.0F;
                stroke = KeyStroke{key->key, key->modifiers, key->repeat};
            } else {
                io.KeysDown[key->key] = false;
                released = true;
            }
        } else if (const auto* character = std::get_if<Character>(&event)) {
            if (released) break;
            events_.pop_front();
            io.AddInputCharacter(character->codepoint);
        } else if (stroke || released) {
            break;
        } else if (const auto* pointer = std::get_if<Pointer>(&event)) {
            events_.pop_front();
            io.MousePos = {pointer->at.x, pointer->at.y};
        } else if (const auto* button = std::get_if<Button>(&event)) {
            events_.pop_front();
            io.MouseDown[button->button] = button->down;
            break;
        } else if (const auto* wheel = std::get_if<Wheel>(&event)) {
            events_.pop_front();
            io.MouseWheel += wheel->lines;
            break;
        } else {
            events_.pop_front();
            std::ranges::fill(io.KeysDown, false);
            std::ranges::fill(io.MouseDown, false);
            set_modifiers(io, 0);
            break;
        }
    }
    return stroke;
}

void map_editing_keys(ImGuiIO& io) {
    io.KeyMap[ImGuiKey_LeftArrow] = GLFW_KEY_LEFT;
    io.KeyMap[ImGuiKey_RightArrow] = GLFW_KEY_RIGHT;
    io.KeyMap[ImGuiKey_Home] = GLFW_KEY_HOME;
    io.KeyMap[ImGuiKey_End] = GLFW_KEY_END;
    io.KeyMap[ImGuiKey_Insert] = GLFW_KEY_INSERT;
    io.KeyMap[ImGuiKey_Delete] = GLFW_KEY_DELETE;
    io.KeyMap[ImGuiKey_Backspace] = GLFW_KEY_BACKSPACE;
    io.KeyMap[ImGuiKey_A] = GLFW_KEY_A;
    io.KeyMap[ImGuiKey_C] = GLFW_KEY_C;
    io.KeyMap[ImGuiKey_V] = GLFW_KEY_V;
    io.KeyMap[ImGuiKey_X] = GLFW_KEY_X;
    io.KeyMap[ImGuiKey_Y] = GLFW_KEY_Y;
    io.KeyMap[ImGuiKey_Z] = GLFW_KEY_Z;
}

}  // namespace proofwalk::app
