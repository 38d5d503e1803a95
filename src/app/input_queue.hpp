// What hands did, in order. A frame is given one change only, so that a press and its release, or ten quick strokes, are
// never folded into one. Key and button codes are those of GLFW.
#pragma once

#include <deque>
#include <optional>
#include <variant>

#include "app/shapes.hpp"

struct ImGuiIO;

namespace proofwalk::app {

enum Modifier : int { modifier_shift = 1, modifier_control = 2, modifier_alt = 4, modifier_super = 8 };

struct KeyStroke {
    int key = 0;
    int modifiers = 0;
    bool repeat = false;
};

class InputQueue {
public:
    void key(int key, int modifiers, bool down, bool repeat);
    void character(unsigned codepoint);
    void pointer(Point at);
    void button(int button, bool down);
    void wheel(float lines);
    void left_window();  // every key and button counts as released

    [[nodiscard]] bool empty() const { return events_.empty(); }
    // Hands the next change to the frame that is about to begin; gives the key that went down in it, if one did.
    std::optional<KeyStroke> feed(ImGuiIO& io);

private:
    struct Key { int key, modifiers; bool down, repeat; };
    struct Character { unsigned codepoint; };
    struct Pointer { Point at; };
    struct Button { int button; bool down; };
    struct Wheel { float lines; };
    struct Left {};
    using Event = std::variant<Key, Character, Pointer, Button, Wheel, Left>;
    std::deque<Event> events_;
};

// Which of ImGui's editing keys are which (text fields only; moving between widgets is ours, see focus.hpp).
void map_editing_keys(ImGuiIO& io);

}  // namespace proofwalk::app
