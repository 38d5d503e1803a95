#include "app/window.hpp"

#include "app/drawn_before.hpp"
#include "app/screen_shelf.hpp"

#include <GLFW/glfw3.h>
#include <fmt/format.h>
#include <imgui.h>
#include <imgui_impl_opengl3.h>
#include <stb/stb_image_write.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <thread>
#include <vector>

namespace proofwalk::app {
namespace {

using Steady = std::chrono::steady_clock;
double ms_since(Steady::time_point start) { return std::chrono::duration<double, std::milli>(Steady::now() - start).count(); }

constexpr int frames_after_event = 3;  // one frame a wake loses clicks; three settle every widget
std::string last_glfw_error;

Fault no_window(std::string reason) {
    return {FaultKind::input, "", "app", std::move(reason),
            "use the commands instead: proofwalk rehearse, take, tally, skip, sign, report (proofwalk --help names all)"};
}

float monitor_scale() {
    float x = 1.0F, y = 1.0F;
    if (GLFWmonitor* monitor = glfwGetPrimaryMonitor()) glfwGetMonitorContentScale(monitor, &x, &y);
    return std::max(x, y);
}

}  // namespace

bool has_display() {
    const auto set = [](const char* name) {
        const char* value = std::getenv(name);
        return value != nullptr && *value != '\0';
    };
    return set("DISPLAY") || set("WAYLAND_DISPLAY");
}

struct Window::Impl {
    GLFWwindow* window = nullptr;
    ImGuiContext* context = nullptr;
    bool renderer = false;
    std::unique_ptr<Fonts> fonts;
    std::shared_ptr<ScreenShelf> shelf = std::make_shared<ScreenShelf>();
    std::unique_ptr<App> app;
    InputQueue input;
    int frames_due = frames_after_event;
    DrawnBefore drawn;
    std::atomic<bool> woken{false};
    Steady::time_point opened = Steady::now(), last_frame = Steady::now();
    Timing timing;

    ~Impl() {
        app.reset();
        if (renderer) ImGui_ImplOpenGL3_Shutdown();
        if (context != nullptr) ImGui::DestroyContext(context);
        if (window != nullptr) glfwDestroyWindow(window);
        glfwTerminate();
    }

    static Impl& of(GLFWwindow* window) { return *static_cast<Impl*>(glfwGetWindowUserPointer(window)); }
    void due() { frames_due = frames_after_event; }
    void set_callbacks();
    void draw();
    void paint(int width, int height);
    [[nodiscard]] float screen_scale() const;
};

void Window::Impl::set_callbacks() {
    glfwSetKeyCallback(window, [](GLFWwindow* w, int key, int, int action, int modifiers) {
        // GLFW reports a modifier's own press without itself among the modifiers and its release with it; none of ours is a bare modifier.
        of(w).input.key(key, modifiers, action != GLFW_RELEASE, action == GLFW_REPEAT);
        of(w).due();
    });
    glfwSetCharCallback(window, [](GLFWwindow* w, unsigned codepoint) { of(w).input.character(codepoint), of(w).due(); });
    glfwSetCursorPosCallback(window, [](GLFWwindow* w, double x, double y) {
        int width = 1, height = 1, across = 1, down = 1;
        glfwGetWindowSize(w, &width, &height);
        glfwGetFramebufferSize(w, &across, &down);
        of(w).input.pointer({static_cast<float>(x) * static_cast<float>(across) / static_cast<float>(std::max(width, 1)),
                             static_cast<float>(y) * static_cast<float>(down) / static_cast<float>(std::max(height, 1))});
        of(w).due();
    });
    glfwSetMouseButtonCallback(window, [](GLFWwindow* w, int button, int action, int) { of(w).input.button(button, action == GLFW_PRESS), of(w).due(); });
    glfwSetScrollCallback(window, [](GLFWwindow* w, double, double y) { of(w).input.wheel(static_cast<float>(y)), of(w).due(); });
    glfwSetWindowFocusCallback(window, [](GLFWwindow* w, int focused) {
        if (focused == GLFW_FALSE) of(w).input.left_window();
        of(w).due();
    });
    glfwSetDropCallback(window, [](GLFWwindow* w, int count, const char** files) {
        if (count > 0) of(w).app->drop(files[0]);
        of(w).due();
    });
    glfwSetFramebufferSizeCallback(window, [](GLFWwindow* w, int, int) {
        of(w).drawn.forget();
        of(w).due();
    });
    glfwSetWindowRefreshCallback(window, [](GLFWwindow* w) {
        of(w).drawn.forget();
        of(w).due();
    });
}

float Window::Impl::screen_scale() const {
    float x = 1.0F, y = 1.0F;
    glfwGetWindowContentScale(window, &x, &y);
    return std::max(x, y);
}

void Window::Impl::draw() {
    const auto start = Steady::now();
    int width = 0, height = 0;
    glfwGetFramebufferSize(window, &width, &height);
    if (width <= 0 || height <= 0) return;  // minimised
    const auto w = static_cast<float>(width), h = static_cast<float>(height);
    const float scale = app->scale_for(w, h, screen_scale());
    if (!fonts->built() || fonts->wants_build() || fonts->scale() != scale) {
        fonts->build(scale);
        drawn.forget();
        if (renderer) {
            ImGui_ImplOpenGL3_DestroyFontsTexture();
            ImGui_ImplOpenGL3_CreateFontsTexture();
        }
    }
    ImGuiIO& io = ImGui::GetIO();
    io.DisplaySize = {w, h};
    io.DeltaTime = std::max(1e-4F, static_cast<float>(ms_since(last_frame) * 1e-3));
    last_frame = Steady::now();
    ImGui_ImplOpenGL3_NewFrame();
    const auto stroke = input.feed(io);
    if (!input.empty()) due();
    ImGui::NewFrame();
    app->frame(stroke, w, h);
    ImGui::Render();
    timing.build_ms = ms_since(start);
    if (fonts->wants_build()) due();
    ++timing.frames;
    if (shelf->take_new()) drawn.forget();
    if (!drawn.differs(*ImGui::GetDrawData(), app->paper().ground)) return;
    paint(width, height);
    glfwSwapBuffers(window);
    glFinish();
    timing.frame_ms = ms_since(start);
    if (timing.painted++ == 0) timing.first_frame_ms = ms_since(opened);
}

// The newest draw data onto the back buffer.
void Window::Impl::paint(int width, int height) {
    const ImVec4 ground = ImGui::ColorConvertU32ToFloat4(app->paper().ground);
    glViewport(0, 0, width, height);
    glClearColor(ground.x, ground.y, ground.z, 1.0F);
    glClear(GL_COLOR_BUFFER_BIT);
    ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
}

Window::Window(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Window::~Window() = default;

Result<std::unique_ptr<Window>> Window::open(WindowOptions options) {
    if (!has_display()) return std::unexpected(no_window("there is no display for the window"));
    auto files = find_fonts();
    if (!files) return std::unexpected(files.error());
    auto impl = std::make_unique<Impl>();
    glfwSetErrorCallback([](int, const char* text) { last_glfw_error = text; });
    if (glfwInit() != GLFW_TRUE) return std::unexpected(no_window("no window can be opened: " + last_glfw_error));
    glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
    glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 2);
    glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
    glfwWindowHint(GLFW_SCALE_TO_MONITOR, GLFW_TRUE);
    for (const int unused : {GLFW_DEPTH_BITS, GLFW_STENCIL_BITS, GLFW_ALPHA_BITS}) glfwWindowHint(unused, 0);
    glfwWindowHintString(GLFW_X11_CLASS_NAME, "proofwalk");
    glfwWindowHintString(GLFW_X11_INSTANCE_NAME, "proofwalk");
    impl->context = ImGui::CreateContext();
    ImGuiIO& io = ImGui::GetIO();
    io.IniFilename = nullptr;
    io.ConfigInputTextCursorBlink = false;  // a blinking cursor would keep the machine awake
    map_editing_keys(io);
    impl->fonts = std::make_unique<Fonts>(*files);
    Impl* raw = impl.get();
    options.app.wake = [raw] {
        raw->woken = true;
        glfwPostEmptyEvent();
    };
    options.app.shelf = impl->shelf;
    impl->app = std::make_unique<App>(*impl->fonts, std::move(options.app));  // the last show is read from here on
    // Glyphs are drawn while the screen's driver is loaded: neither needs the other.
    const float of_monitor = monitor_scale(), across = static_cast<float>(options.width) * of_monitor, down = static_cast<float>(options.height) * of_monitor;
    std::jthread glyphs{[raw, scale = raw->app->scale_for(across, down, of_monitor)] { raw->fonts->build(scale); }};
    impl->window = glfwCreateWindow(options.width, options.height, "proofwalk", nullptr, nullptr);
    glyphs.join();
    if (impl->window == nullptr) return std::unexpected(no_window("no window with OpenGL 3.2 can be opened: " + last_glfw_error));
    glfwSetWindowUserPointer(impl->window, impl.get());
    glfwSetWindowSizeLimits(impl->window, 640, 400, GLFW_DONT_CARE, GLFW_DONT_CARE);
    glfwMakeContextCurrent(impl->window);
    glfwSwapInterval(0);
    impl->set_callbacks();
    io.SetClipboardTextFn = [](void* user, const char* text) { glfwSetClipboardString(static_cast<GLFWwindow*>(user), text); };
    io.GetClipboardTextFn = [](void* user) { return glfwGetClipboardString(static_cast<GLFWwindow*>(user)); };
    io.ClipboardUserData = impl->window;
    impl->renderer = ImGui_ImplOpenGL3_Init("#version 150");
    if (!impl->renderer) return std::unexpected(no_window("OpenGL can't be set up"));
    return std::unique_ptr<Window>{new Window{std::move(impl)}};
}

bool Window::turn(std::optional<double> longest_s) {
    Impl& self = *impl_;
    if (self.frames_due <= 0 && !self.woken) {
        if (longest_s)
            glfwWaitEventsTimeout(*longest_s);
        else
            glfwWaitEvents();
    } else {
        glfwPollEvents();
    }
    if (self.woken.exchange(false)) self.due();
    if (glfwWindowShouldClose(self.window) == GLFW_TRUE) return false;
    if (self.frames_due > 0) {
        --self.frames_due;
        self.draw();
        if (self.frames_due == 0)
            if (const auto picture = self.app->desk().take_picture_wish())
                if (auto saved = save_picture(*picture); !saved) self.app->desk().note(sentence(saved.error()), true);
    }
    return true;
}

App& Window::app() { return *impl_->app; }
InputQueue& Window::input() {
    impl_->due();
    return impl_->input;
}
void Window::repaint() {
    impl_->drawn.forget();
    impl_->due();
}
void Window::resize(int width, int height) { glfwSetWindowSize(impl_->window, width, height); }
bool Window::settled() const { return impl_->frames_due <= 0 && impl_->input.empty() && !impl_->woken && !impl_->app->desk().busy(); }
Window::Timing Window::timing() const { return impl_->timing; }

Result<void> Window::save_picture(const std::filesystem::path& file) {
    int width = 0, height = 0;
    glfwGetFramebufferSize(impl_->window, &width, &height);
    std::vector<unsigned char> pixels(static_cast<std::size_t>(width) * static_cast<std::size_t>(height) * 3);
    if (impl_->timing.frames == 0) impl_->draw();
    impl_->paint(width, height);  // what was swapped to the front can't be read everywhere
    glPixelStorei(GL_PACK_ALIGNMENT, 1);
    glReadBuffer(GL_BACK);
    glReadPixels(0, 0, width, height, GL_RGB, GL_UNSIGNED_BYTE, pixels.data());
    stbi_flip_vertically_on_write(1);
    stbi_write_png_compression_level = 4;  // a drawing of flat tones: more effort saves little
    if (stbi_write_png(file.c_str(), width, height, 3, pixels.data(), width * 3) == 0)
        return std::unexpected(Fault{FaultKind::input, file.string(), "", "the picture can't be written", "check the folder's permissions and space"});
    return {};
}

int run(const Launch& launch) {
    WindowOptions options;
    options.app.file = launch.file;
    options.app.settings_file = state_folder() / "window.conf";
    options.app.keys_file = config_folder() / "keys.conf";
    auto window = Window::open(std::move(options));
    if (!window) {
        std::fputs((sentence(window.error()) + "\n").c_str(), stderr);
        return exit_status(window.error());
    }
    bool told = !launch.report_timing;
    while ((*window)->turn()) {
        if (told || (*window)->timing().frames < 4) continue;
        told = true;
        const auto timing = (*window)->timing();
        std::fputs(fmt::format("first frame {:.0f} ms, interface {:.2f} ms, frame {:.1f} ms\n", timing.first_frame_ms, timing.build_ms, timing.frame_ms).c_str(), stderr);
    }
    return 0;
}

}  // namespace proofwalk::app
