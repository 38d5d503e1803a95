#include "app/keys.hpp"

#include <GLFW/glfw3.h>
#include <fmt/format.h>

#include <array>
#include <cctype>
#include <fstream>
#include <iterator>
#include <vector>

#include "units/nearest.hpp"

namespace proofwalk::app {
namespace {

struct Named {
    Act act;
    std::string_view word, chord, explained;
};
constexpr std::array<Named, 38> acts = {{
    {Act::go, "go", "space", "the main action of the sheet"},
    {Act::stop, "stop", "escape", "stop what runs, close a slip"},
    {Act::sheet_1, "sheet-1", "1", "Next"},
    {Act::sheet_2, "sheet-2", "2", "Room"},
    {Act::sheet_3, "sheet-3", "3", "Take"},
    {Act::sheet_4, "sheet-4", "4", "Curves"},
    {Act::sheet_5, "sheet-5", "5", "Tally"},
    {Act::sheet_6, "sheet-6", "6", "Sign"},
    {Act::sheet_7, "sheet-7", "7", "Look back"},
    {Act::sheet_8, "sheet-8", "8", "Design desk"},
    {Act::sheet_9, "sheet-9", "9", "Gear"},
    {Act::earlier, "earlier", "page-up", "the step before"},
    {Act::later, "later", "page-down", "the step after"},
    {Act::position_before, "position-before", "shift+page-up", "the position before, in the room"},
    {Act::position_after, "position-after", "shift+page-down", "the position after, in the room"},
    {Act::skip, "skip", "s", "leave out, with a reason"},
    {Act::retake, "retake", "t", "take again"},
    {Act::explain, "explain", "e", "explain a verdict"},
    {Act::filter, "filter", "f", "show fewer"},
    {Act::sort, "sort", "o", "sort in another order"},
    {Act::changed, "changed", "c", "something was moved or repatched"},
    {Act::report, "report", "r", "write the report"},
    {Act::paper, "paper", "p", "hall, day or print paper"},
    {Act::larger, "larger", "ctrl+=", "larger type"},
    {Act::smaller, "smaller", "ctrl+-", "smaller type"},
    {Act::open, "open", "ctrl+o", "open a plan or a log"},
    {Act::keys, "keys", "f1", "this list of keys"},
    {Act::undo, "undo", "ctrl+z", "take an edit back"},
    {Act::redo, "redo", "ctrl+y", "do it again"},
    {Act::export_curves, "export", "x", "write the drawn curves to files"},
    {Act::phase, "phase", "h", "draw the phase, or put it away"},
    {Act::round, "round", "g", "the whole round, one take after another"},
    {Act::copy, "copy", "ctrl+d", "a copy of the chosen box or position"},
    {Act::remove, "remove", "delete", "take the chosen box or position out"},
    {Act::estimate, "estimate", "a", "estimate aim, splay, spacing or delay"},
    {Act::place_mics, "place-mics", "m", "work out mic places"},
    {Act::note, "note", "n", "write down a note or an incident, attach a photo"},
    {Act::audit, "audit", "u", "audit the log: is it still what was written?"},
}};

struct KeyName {
    std::string_view name;
    int key;
};
constexpr std::array<KeyName, 19> key_names = {{
    {"space", GLFW_KEY_SPACE}, {"escape", GLFW_KEY_ESCAPE}, {"enter", GLFW_KEY_ENTER}, {"tab", GLFW_KEY_TAB},
    {"backspace", GLFW_KEY_BACKSPACE}, {"insert", GLFW_KEY_INSERT}, {"delete", GLFW_KEY_DELETE},
    {"right", GLFW_KEY_RIGHT}, {"left", GLFW_KEY_LEFT}, {"down", GLFW_KEY_DOWN}, {"up", GLFW_KEY_UP},
    {"page-up", GLFW_KEY_PAGE_UP}, {"page-down", GLFW_KEY_PAGE_DOWN}, {"home", GLFW_KEY_HOME}, {"end", GLFW_KEY_END},
    {"pad-enter", GLFW_KEY_KP_ENTER}, {"pad-0", GLFW_KEY_KP_0}, {"pad-add", GLFW_KEY_KP_ADD}, {"pad-subtract", GLFW_KEY_KP_SUBTRACT},
}};
constexpr std::array<std::pair<std::string_view, int>, 4> modifier_names = {
    {{"ctrl", modifier_control}, {"shift", modifier_shift}, {"alt", modifier_alt}, {"super", modifier_super}}};

std::string lower(std::string_view text) {
    std::string result{text};
    for (char& c : result) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return result;
}

std::string_view trimmed(std::string_view text) {
    while (!text.empty() && std::isspace(static_cast<unsigned char>(text.front())) != 0) text.remove_prefix(1);
    while (!text.empty() && std::isspace(static_cast<unsigned char>(text.back())) != 0) text.remove_suffix(1);
    return text;
}

const Named& named(Act act) {
    for (const Named& entry : acts)
        if (entry.act == act) return entry;
    return acts[0];
}

}  // namespace

std::string_view word(Act act) { return named(act).word; }
std::string_view explained(Act act) { return named(act).explained; }

std::span<const Act> all_acts() {
    static const auto list = [] {
        std::array<Act, acts.size()> result{};
        for (std::size_t i = 0; i < acts.size(); ++i) result[i] = acts[i].act;
        return result;
    }();
    return list;
}

Result<Chord> chord_from_text(std::string_view text) {
    Chord chord;
    std::string rest = lower(trimmed(text));
    for (bool found = true; found;) {
        found = false;
        for (const auto& [name, modifier] : modifier_names)
            if (rest.size() > name.size() + 1 && rest.starts_with(name) && rest[name.size()] == '+') {
                chord.modifiers |= modifier;
                rest.erase(0, name.size() + 1);
                found = true;
            }
    }
    for (const auto& [name, key] : key_names)
        if (rest == name) chord.key = key;
    // GLFW names letters, digits and signs by their ASCII code in upper case.
    if (rest.size() == 1 && rest[0] > ' ' && rest[0] < 127)
        chord.key = std::toupper(static_cast<unsigned char>(rest[0]));
    for (int f = 1; f <= 24; ++f)
        if (rest == fmt::format("f{}", f)) chord.key = GLFW_KEY_F1 + f - 1;
    if (chord.key == 0)
        return std::unexpected(Fault{FaultKind::input, "", "", fmt::format("\"{}\" is no key", text),
                                     "write for example space, s, ctrl+z, f5 or page-down"});
    return chord;
}

std::string to_text(Chord chord) {
    std::string text;
    for (const auto& [name, modifier] : modifier_names)
        if ((chord.modifiers & modifier) != 0)
            text += fmt::format("{}{}+", static_cast<char>(std::toupper(static_cast<unsigned char>(name[0]))), name.substr(1));
    for (const auto& [name, key] : key_names)
        if (key == chord.key)
            return text + static_cast<char>(std::toupper(static_cast<unsigned char>(name[0]))) + std::string{name.substr(1)};
    if (chord.key >= GLFW_KEY_F1 && chord.key <= GLFW_KEY_F1 + 23) return text + fmt::format("F{}", chord.key - GLFW_KEY_F1 + 1);
    return text + static_cast<char>(chord.key);
}

Keys::Keys() {
    for (const Named& entry : acts) chords_[entry.act] = *chord_from_text(entry.chord);
}

Faults Keys::read(std::string_view text, const std::string& file) {
    Faults faults;
    int number = 0;
    while (!text.empty()) {
        ++number;
        const std::size_t end = std::min(text.find('\n'), text.size());
        std::string_view line = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        line = trimmed(line.substr(0, line.find('#')));
        if (line.empty()) continue;
        const std::string place = fmt::format("line {}", number);
        const std::size_t equals = line.find('=');
        if (equals == std::string_view::npos) {
            faults.push_back({FaultKind::input, file, place, fmt::format("\"{}\" names no key", line), "write: skip = s"});
            continue;
        }
        const std::string act = lower(trimmed(line.substr(0, equals)));
        std::vector<std::string_view> known;
        const Named* found = nullptr;
        for (const Named& entry : acts) {
            known.push_back(entry.word);
            if (entry.word == act) found = &entry;
        }
        if (found == nullptr) {
            faults.push_back({FaultKind::input, file, place, fmt::format("unknown action \"{}\"", act),
                              nearest_remedy(act, known, "action")});
            continue;
        }
        auto chord = chord_from_text(line.substr(equals + 1));
        if (!chord) {
            Fault fault = chord.error();
            fault.file = file;
            fault.place = place;
            faults.push_back(std::move(fault));
            continue;
        }
        chords_[found->act] = *chord;
    }
    return faults;
}

Faults Keys::load(const std::filesystem::path& file) {
    std::ifstream stream{file, std::ios::binary};
    if (!stream) return {};
    return read(std::string{std::istreambuf_iterator<char>{stream}, {}}, file.string());
}

bool Keys::asks(const KeyStroke& stroke, Act act) const {
    const Chord& chord = chords_.at(act);
    return chord.key == stroke.key && chord.modifiers == (stroke.modifiers & 0xF);
}

std::string Keys::shown(Act act) const { return to_text(chords_.at(act)); }

std::string Keys::as_file() const {
    std::string text = "# Keys of the proofwalk window: action = key (space, s, ctrl+z, f5, page-down ...)\n";
    for (const Named& entry : acts)
        text += fmt::format("{} = {}  # {}\n", entry.word, lower(to_text(chords_.at(entry.act))), entry.explained);
    return text;
}

}  // namespace proofwalk::app
