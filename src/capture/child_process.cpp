#include "capture/child_process.hpp"

#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <string>
#include <thread>
#include <utility>
#include <vector>

namespace proofwalk::capture {
namespace {

constexpr off_t most_chatter = 256 * 1024;
constexpr int above_child_descriptors = 10;

Fault cannot_start(const char* what, int error) {
    return {FaultKind::device, "", "", std::string("the capture process cannot be started: ") + what + ": " + std::strerror(error),
            "close other programs and try again"};
}

void shut(int& descriptor) {
    if (descriptor >= 0) close(descriptor);
    descriptor = -1;
}

// A file for what libraries print; it can't grow, so a flood ends in failed writes and not in lost memory.
int chatter_file() {
    const int file = memfd_create("proofwalk-chatter", MFD_CLOEXEC | MFD_ALLOW_SEALING);
    if (file < 0) return file;
    if (ftruncate(file, most_chatter) != 0 || fcntl(file, F_ADD_SEALS, F_SEAL_GROW | F_SEAL_SHRINK) != 0) {
        close(file);
        return -1;
    }
    return file;
}

// Away from the numbers that the child uses, so that moving one there never closes another.
void lift(int& descriptor) {
    const int lifted = fcntl(descriptor, F_DUPFD_CLOEXEC, above_child_descriptors);
    close(descriptor);
    descriptor = lifted;
}

std::vector<std::string> child_environment() {
    std::vector<std::string> list;
    for (char** entry = environ; *entry; ++entry) list.emplace_back(*entry);
    // A missing server is a device that is not there, nothing to start behind a person's back.
    list.emplace_back("JACK_NO_START_SERVER=1");
    return list;
}

}  // namespace

ChildProcess::ChildProcess(ChildProcess&& other) noexcept
    : id_(std::exchange(other.id_, -1)), life_(std::exchange(other.life_, -1)), chatter_(std::exchange(other.chatter_, -1)) {}

ChildProcess::~ChildProcess() {
    end();
    shut(life_);
    shut(chatter_);
}

Result<ChildProcess> ChildProcess::start(const SharedStream& stream) {
    std::array<int, 2> life{-1, -1};
    if (pipe2(life.data(), O_CLOEXEC) != 0) return std::unexpected(cannot_start("pipe", errno));
    int chatter = chatter_file();
    int shared = fcntl(stream.file_descriptor(), F_DUPFD_CLOEXEC, above_child_descriptors);
    if (chatter >= 0) lift(chatter);
    lift(life[0]);
    lift(life[1]);

    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 0, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_adddup2(&actions, chatter, 1);
    posix_spawn_file_actions_adddup2(&actions, chatter, 2);
    posix_spawn_file_actions_adddup2(&actions, shared, child_stream_descriptor);
    posix_spawn_file_actions_adddup2(&actions, life[0], child_life_descriptor);
    posix_spawn_file_actions_addclosefrom_np(&actions, child_life_descriptor + 1);

    std::string program = "proofwalk", argument{child_argument};
    std::array<char*, 3> arguments{program.data(), argument.data(), nullptr};
    auto environment = child_environment();
    std::vector<char*> entries;
    for (auto& entry : environment) entries.push_back(entry.data());
    entries.push_back(nullptr);

    pid_t id = -1;
    const int error = posix_spawn(&id, "/proc/self/exe", &actions, nullptr, arguments.data(), entries.data());
    posix_spawn_file_actions_destroy(&actions);
    shut(life[0]);
    shut(shared);
    if (error != 0) {
        shut(life[1]);
        shut(chatter);
        return std::unexpected(cannot_start("posix_spawn", error));
    }
    return ChildProcess(id, life[1], chatter);
}

bool ChildProcess::running() {
    if (id_ < 0) return false;
    const pid_t ended = waitpid(id_, nullptr, WNOHANG);
    if (ended == 0) return true;
    id_ = -1;
    return false;
}

bool ChildProcess::wait(std::chrono::milliseconds longest) {
    const auto until = std::chrono::steady_clock::now() + longest;
    while (running()) {
        if (std::chrono::steady_clock::now() >= until) return false;
        std::this_thread::sleep_for(std::chrono::milliseconds(2));
    }
    return true;
}

void ChildProcess::end() {
    if (!running()) return;
    kill(id_, SIGKILL);
    waitpid(id_, nullptr, 0);
    id_ = -1;
}

std::string ChildProcess::chatter() const {
    std::string text(static_cast<std::size_t>(most_chatter), '\0');
    const ssize_t got = pread(chatter_, text.data(), text.size(), 0);
    text.resize(got > 0 ? static_cast<std::size_t>(got) : 0);
    text.resize(text.find_last_not_of('\0') + 1);
    return text;
}

}  // namespace proofwalk::capture
