// The window itself: GLFW, OpenGL, and when to draw. It sleeps until something happens, draws a few frames and sleeps again.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>

#include "app/app.hpp"

namespace proofwalk::app {

struct WindowOptions {
    AppOptions app;
    int width = 1280, height = 800;
    bool report_timing = false;  // says on standard error when the first frame stood and what frames cost
};

class Window {
public:
    // A fault when there is no display, no OpenGL 3 or no font.
    [[nodiscard]] static Result<std::unique_ptr<Window>> open(WindowOptions options);
    ~Window();
    Window(const Window&) = delete;
    Window& operator=(const Window&) = delete;

    // Waits for the next event (at most this long, or for ever), then draws what is due. False when it was closed.
    bool turn(std::optional<double> longest_s = std::nullopt);
    [[nodiscard]] App& app();
    [[nodiscard]] InputQueue& input();  // the same queue that the real keys and pointer go through
    void resize(int width, int height);
    void repaint();  // the next frame is painted even if nothing on it has changed
    [[nodiscard]] bool settled() const;  // nothing to draw, nothing running
    // What stands on the screen, as a PNG.
    [[nodiscard]] Result<void> save_picture(const std::filesystem::path& file);

    struct Timing {
        double first_frame_ms = 0.0;  // from open() to the first frame shown
        double build_ms = 0.0;        // newest frame: building the interface
        double frame_ms = 0.0;        // newest painted frame: the whole, with drawing
        long frames = 0, painted = 0; // built; and of them those that differed from what stood on the screen
    };
    [[nodiscard]] Timing timing() const;

private:
    struct Impl;
    explicit Window(std::unique_ptr<Impl> impl);
    std::unique_ptr<Impl> impl_;
};

// Opens the window and stays until it is closed. The exit status of the program.
struct Launch {
    std::optional<std::filesystem::path> file;
    bool report_timing = false;
};
[[nodiscard]] int run(const Launch& launch);
// A display is named in the environment.
[[nodiscard]] bool has_display();

}  // namespace proofwalk::app
