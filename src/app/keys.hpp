// Which key does what: defaults, and the person's own from keys.conf ("skip = s", one a line).
#pragma once

#include <filesystem>
#include <map>
#include <span>
#include <string>
#include <string_view>

#include "app/input_queue.hpp"
#include "units/fault.hpp"

namespace proofwalk::app {

// What a key can ask for. "go" is the main action of a screen: the largest key, for gloves.
enum class Act {
    go, stop, sheet_1, sheet_2, sheet_3, sheet_4, sheet_5, sheet_6, sheet_7, sheet_8, sheet_9,
    earlier, later, skip, retake, explain, filter, sort, changed, report, paper, larger, smaller, open, keys, undo, redo, export_curves, phase,
    copy, remove, estimate, place_mics, round, note, audit, position_before, position_after,
};
[[nodiscard]] std::string_view word(Act act);          // "go", "sheet-1", ...
[[nodiscard]] std::string_view explained(Act act);     // what it does, for the list of keys
[[nodiscard]] std::span<const Act> all_acts();

struct Chord {
    int key = 0;
    int modifiers = 0;
    friend bool operator==(const Chord&, const Chord&) = default;
};
[[nodiscard]] Result<Chord> chord_from_text(std::string_view text);  // "space", "ctrl+z", "f5", "page-down"
[[nodiscard]] std::string to_text(Chord chord);                      // "Space", "Ctrl+Z"

class Keys {
public:
    Keys();  // the defaults
    // Lines "act = key"; "#" starts a comment. Every fault is told; sound lines count all the same.
    Faults read(std::string_view text, const std::string& file);
    [[nodiscard]] Faults load(const std::filesystem::path& file);  // a file that is not there changes nothing

    [[nodiscard]] bool asks(const KeyStroke& stroke, Act act) const;
    [[nodiscard]] std::string shown(Act act) const;  // "Space"
    [[nodiscard]] std::string as_file() const;       // all bindings in the form that read() takes

private:
    std::map<Act, Chord> chords_;
};

}  // namespace proofwalk::app
