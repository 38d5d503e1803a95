#include "capture/device.hpp"
#include "cli/commands.hpp"
#include "cli/console.hpp"

int main(int argc, char** argv) {
    // The stream lives in a child process of this same program; that child is recognised before anything else.
    if (const auto status = proofwalk::capture::run_as_capture_child(argc, argv)) return *status;
    auto console = proofwalk::cli::Console::of_process();
    return proofwalk::cli::run(argc, argv, console);
}
