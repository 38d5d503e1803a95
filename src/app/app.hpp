// The window's inside: everything between a change of input and what is to be drawn. Needs an ImGui context and fonts, but
// no window: tests drive it with no screen at all.
#pragma once

#include <functional>
#include <optional>

#include "app/sheets.hpp"

namespace proofwalk::app {

struct AppOptions {
    std::optional<std::filesystem::path> file;   // plan or log to open; absent: the last show
    std::filesystem::path settings_file;         // empty: nothing is remembered
    std::filesystem::path keys_file;             // empty: default keys
    std::shared_ptr<PictureShelf> shelf = std::make_shared<PictureShelf>();
    std::function<void()> wake = [] {};          // called from other threads when there is something to show
};

class App {
public:
    App(Fonts& fonts, AppOptions options);
    ~App();

    // One frame, between NewFrame and Render of the current context. `screen_scale`: of the monitor.
    void frame(std::optional<KeyStroke> stroke, float width, float height);
    // A file let go over the window: a plan or a log is opened, anything else is attached to what is chosen.
    void drop(const std::filesystem::path& file);
    // The scale at which fonts are to be built for a window of this size.
    [[nodiscard]] float scale_for(float width, float height, float screen_scale) const;

    [[nodiscard]] State& state() { return state_; }
    [[nodiscard]] Desk& desk() { return desk_; }
    [[nodiscard]] Ui& ui() { return ui_; }
    [[nodiscard]] const Paper& paper() const;

private:
    void draw_index(const Stage& stage, Rect rect);
    void draw_notices(const Stage& stage, Rect rect);
    void take_keys(const Stage& stage);
    void save();

    Fonts* fonts_;
    AppOptions options_;
    Keys keys_;
    State state_;
    Ink ink_;
    Ui ui_;
    std::string saved_;
    Desk desk_;
    RecordsPtr seen_;
};

}  // namespace proofwalk::app
