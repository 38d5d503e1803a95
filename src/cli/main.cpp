#include "app/window.hpp"
#include "capture/device.hpp"
#include "cli/commands.hpp"
#include "cli/console.hpp"

int main(int argc, char** argv) {
    using namespace proofwalk;
    // The stream lives in a child process of this same program; that child is recognised before anything else.
    if (const auto status = capture::run_as_capture_child(argc, argv)) return *status;
    // Without arguments on a desktop the window opens with the last show.
    if (argc == 1 && app::has_display()) return app::run({});
    auto console = cli::Console::of_process();
    return cli::run(argc, argv, console, [](const cli::WindowWish& wish) {
        return app::run({wish.file.empty() ? std::nullopt : std::optional<std::filesystem::path>{wish.file}, wish.timing});
    });
}
