// The few widgets that the sheets are made of, with a keyboard of our own: Tab moves between stops, arrows inside a list,
// Enter and Space press, Escape steps back. Rectangles are given by the sheet; nothing here knows what a widget is for.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "app/ink.hpp"
#include "app/input_queue.hpp"
#include "app/keys.hpp"

namespace proofwalk::app {

enum class Weight { quiet, normal, main };

struct ListState {
    float scroll = 0.0F;                   // pixels above the view
    std::optional<std::size_t> selected;
    bool show_selected = false;            // bring it into view in the next frame
};

class Ui {
public:
    Ui(Ink& ink, const Keys& keys, PictureShelf& shelf) : ink_(&ink), keys_(&keys), shelf_(&shelf) {}

    Ink& ink() { return *ink_; }
    const Keys& keys() const { return *keys_; }
    [[nodiscard]] float px(float at_scale_one) const { return ink_->px(at_scale_one); }

    // A frame: begin, draw the sheet (dead while a slip lies on it), draw the slip, end.
    void begin(Ink& ink, const Keys& keys, std::optional<KeyStroke> stroke);
    void set_live(bool live) { live_ = live; }
    void end();

    // True once when the key of this frame asks for it and nobody types.
    [[nodiscard]] bool asked(Act act);
    [[nodiscard]] bool typing() const { return typing_; }
    [[nodiscard]] bool escape();                     // Escape was pressed and nothing else took it
    void focus(std::string_view id);                 // moves the keyboard there
    void leave() { focused_.clear(); }               // no widget has it: keys go to the sheet
    [[nodiscard]] const std::string& focused() const { return focused_; }

    bool button(std::string_view id, Rect rect, std::string_view label, Weight weight = Weight::normal, bool enabled = true,
                std::string_view key = {});
    // A label with a tick box; true when it was turned.
    bool tick(std::string_view id, Rect rect, std::string_view label, bool& on);
    // One of a few words, side by side.
    bool choice(std::string_view id, Rect rect, std::span<const std::string> words, std::size_t& chosen);
    // One line of text under its caption; true when Enter was pressed in it.
    bool field(std::string_view id, Rect rect, std::string_view caption, std::string& text, std::string_view hint = {});
    // A number in a field with smaller and larger beside it.
    bool stepper(std::string_view id, Rect rect, std::string_view caption, double& value, double step, double low, double high,
                 std::string_view unit, int decimals = 0);
    // Rows of one height; `draw` is called for those in view. True when the selected row was pressed (Enter, double click).
    bool list(std::string_view id, Rect rect, std::size_t count, float row_height, ListState& state,
              const std::function<void(std::size_t, Rect, bool)>& draw);
    // A region that can be pressed and focused without a look of its own. What the pointer pressed leaves Space and Enter to the
    // sheet's main action, unless it `keeps` them.
    bool region(std::string_view id, Rect rect, bool keeps = false);
    [[nodiscard]] bool hovered(Rect rect) const;
    [[nodiscard]] bool pressed_now() const;          // the pointer went down in this frame
    [[nodiscard]] int sideways();                    // -1 or +1 when left or right was pressed and nothing else took it

    struct Drag {
        Point by;
        float wheel = 0.0F;
        bool pressed = false, released = false, active = false;
        Point at;
        Point step;          // arrow keys: -1, 0 or +1, y down
        bool whole = false;  // Home: everything in view again
    };
    // Pointer moves and wheel over a drawing; a press that starts in it belongs to it until released. With the keyboard on it
    // arrows step, + and - turn the wheel about its middle, Home asks for the whole.
    [[nodiscard]] Drag drag(std::string_view id, Rect rect);

    // What `make` gives, made anew when `looks` is not what it was in the frame before and freed when a frame goes without it.
    const Picture& picture(std::string_view id, std::string looks, bool smooth, const std::function<Pixels()>& make);

    // Where the live widgets of the last frame stood, by id: for tests that press what a person would.
    [[nodiscard]] const std::map<std::string, Rect, std::less<>>& places() const { return places_; }

private:
    bool stop_at(std::string_view id, Rect rect);    // registers a Tab stop; true when it has the keyboard
    [[nodiscard]] bool clicked(Rect rect) const;
    [[nodiscard]] bool key_pressed(int key);         // takes the stroke
    void draw_focus(Rect rect);
    void draw_label(Rect room, Size size, Colour colour, std::string_view label);

    Ink* ink_;
    const Keys* keys_;
    PictureShelf* shelf_;
    std::optional<KeyStroke> stroke_;
    bool live_ = true, typing_ = false, typing_next_ = false, by_keyboard_ = false, by_pointer_ = false;
    std::string focused_, dragging_;
    bool start_typing_ = false;
    std::vector<std::string> stops_;
    std::map<std::string, Rect, std::less<>> places_, next_places_;
    std::set<std::string, std::less<>> pressables_, next_pressables_;  // of the last frame: what Space and Enter press
    struct Kept {
        std::string looks;
        Picture picture;
        bool drawn = true;  // in this frame
    };
    std::map<std::string, Kept, std::less<>> pictures_;
};

}  // namespace proofwalk::app
