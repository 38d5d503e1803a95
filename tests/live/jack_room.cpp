#include "live/jack_room.hpp"

#include <fcntl.h>
#include <signal.h>
#include <sys/file.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <fstream>

#include <fmt/format.h>

#include "capture/audio_file.hpp"
#include "capture/device.hpp"

namespace proofwalk::live {
namespace {

using std::chrono::milliseconds;

bool on_path(const std::string& program) {
    std::string path = std::getenv("PATH") ? std::getenv("PATH") : "/usr/bin:/bin";
    std::size_t start = 0;
    while (start <= path.size()) {
        const std::size_t end = std::min(path.find(':', start), path.size());
        if (access((path.substr(start, end - start) + "/" + program).c_str(), X_OK) == 0) return true;
        start = end + 1;
    }
    return false;
}

bool listed(const std::string& device) {
    const auto devices = capture::list_devices();
    return devices && std::any_of(devices->begin(), devices->end(), [&](const auto& d) { return d.name == device; });
}

}  // namespace

Program::Program(std::vector<std::string> arguments, const std::filesystem::path& output) {
    std::vector<char*> entries;
    for (auto& argument : arguments) entries.push_back(argument.data());
    entries.push_back(nullptr);
    const pid_t parent = getpid();
    id_ = fork();
    if (id_ != 0) return;
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    if (getppid() != parent) _exit(126);
    const int file = open(output.c_str(), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0644);
    dup2(file, 1);
    dup2(file, 2);
    execvp(entries.front(), entries.data());
    _exit(127);
}

Program::~Program() {
    if (!running()) return;
    kill(id_, SIGKILL);
    waitpid(id_, nullptr, 0);
}

bool Program::running() {
    if (id_ < 0) return false;
    if (waitpid(id_, &status_, WNOHANG) == 0) return true;
    id_ = -1;
    return false;
}

void Program::signal(int number) {
    if (running()) kill(id_, number);
}

int Program::wait(milliseconds longest) {
    if (!comes_true(longest, [&] { return !running(); })) return -1;
    return WIFEXITED(status_) ? WEXITSTATUS(status_) : -1;
}

// A server that was killed keeps its place among the eight that a machine may have, until one of its name starts again. So
// names come from a small set, each locked while it is in use.
void JackRoom::take_name() {
    for (int number = 1; number <= 4 && lock_ < 0; ++number) {
        name_ = fmt::format("proofwalk-test-{}", number);
        const auto file = std::filesystem::temp_directory_path() / (name_ + ".lock");
        lock_ = open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
        if (lock_ >= 0 && flock(lock_, LOCK_EX | LOCK_NB) != 0) {
            close(lock_);
            lock_ = -1;
        }
    }
}

void JackRoom::start_server(const Shape& shape) {
    server_ = std::make_unique<Program>(
        std::vector<std::string>{"jackd", "-n", name_, "-r", "--sync", "-p", "64", "-d", "dummy", "-r", std::to_string(shape.rate_hz),
                                 "-p", std::to_string(shape.period), "-C", "2", "-P", "2"},
        folder_ / "server.txt");
    if (!comes_true(milliseconds(20000), [] { return listed("system"); })) why_not_ = "the JACK server did not start";
}

JackRoom::JackRoom(Shape shape) : shape_(std::move(shape)) {
    take_name();
    folder_ = std::filesystem::temp_directory_path() / fmt::format("{}-{}", name_, getpid());
    std::filesystem::create_directories(folder_);
    write_files(shape_);
    setenv("JACK_DEFAULT_SERVER", name_.c_str(), 1);
    setenv("JACK_NO_START_SERVER", "1", 1);
    start_server(shape_);
    if (!why_not_.empty()) return;
    start_engine();
    ready_ = why_not_.empty();
}

void JackRoom::start_engine() {
    engine_ = std::make_unique<Program>(std::vector<std::string>{"jconvolver", (folder_ / "room.conf").string()},
                                        folder_ / "engine.txt");
    if (!comes_true(milliseconds(20000), [] { return listed(device); })) why_not_ = "the convolution engine did not start";
}

void JackRoom::end_engine() {
    engine_->signal(SIGINT);
    engine_->wait(milliseconds(1000));
}

void JackRoom::write_files(const Shape& shape) {
    std::ofstream conf(folder_ / "room.conf");
    std::size_t longest = 1;
    for (const auto& path : shape.paths) longest = std::max(longest, path.impulse.size());
    conf << "/cd " << folder_.string() << "\n";
    conf << fmt::format("/convolver/new {} {} {} {} 0.5\n", shape.inputs, shape.outputs, shape.period,
                        std::max<std::size_t>(longest, 4096));
    int number = 0;
    for (const auto& path : shape.paths) {
        if (path.impulse.empty()) {
            conf << fmt::format("/impulse/dirac {} {} 1 0\n", path.input, path.output);
            continue;
        }
        const std::string file = fmt::format("ir{}.wav", ++number);
        capture::Audio audio{static_cast<double>(shape.rate_hz), {path.impulse}};
        if (!capture::write_wav_float(folder_ / file, audio)) why_not_ = "the impulse responses could not be written";
        conf << fmt::format("/impulse/read {} {} 1 0 0 0 1 {}\n", path.input, path.output, file);
    }
}

void JackRoom::freewheel() {
    Program tool({"timeout", "-k", "1", "12", "jack_freewheel", "y"}, folder_ / "tool.txt");
    if (tool.wait(milliseconds(15000)) != 0) why_not_ = "the server did not go into freewheel";
}

JackRoom::~JackRoom() {
    // A frozen program has to be woken to end properly; the engine goes first.
    if (engine_) {
        engine_->signal(SIGCONT);
        end_engine();
    }
    server_->signal(SIGCONT);
    server_->signal(SIGTERM);
    if (server_->wait(milliseconds(2500)) != 0) {
        // Killed: the next one of the name clears away what it left.
        server_.reset();
        start_server(shape_);
        server_->signal(SIGTERM);
        server_->wait(milliseconds(2500));
    }
    // Semaphores of clients that were killed.
    std::error_code unread;
    for (const auto& entry : std::filesystem::directory_iterator("/dev/shm", unread))
        if (entry.path().filename().string().starts_with("jack_sem.0_" + name_ + "_")) std::filesystem::remove(entry.path(), unread);
    if (lock_ >= 0) close(lock_);
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
}

std::string missing_programs() {
    for (const char* program : {"jackd", "jconvolver", "jack_freewheel", "timeout"})
        if (!on_path(program)) return std::string(program) + " is not installed";
    return {};
}

}  // namespace proofwalk::live
