// A room without hardware: a private JACK server with its dummy driver, and a third-party convolution engine that plays
// impulse responses between its inputs and outputs. Both are started and ended here, by their own process ids.
#pragma once

#include <sys/types.h>

#include <chrono>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

namespace proofwalk::live {

// A program of the test's own; it never outlives the test.
class Program {
public:
    Program(std::vector<std::string> arguments, const std::filesystem::path& output);
    Program(const Program&) = delete;
    Program& operator=(const Program&) = delete;
    ~Program();

    [[nodiscard]] bool running();
    void signal(int number);
    // Exit status, or -1 when it was ended by a signal or did not end in time.
    int wait(std::chrono::milliseconds longest);
    [[nodiscard]] pid_t id() const { return id_; }

private:
    pid_t id_ = -1;
    int status_ = -1;
};

// Polls every few milliseconds; false when it does not come true in time.
template <class Condition>
[[nodiscard]] bool comes_true(std::chrono::milliseconds longest, Condition condition);

struct Path {
    int input = 1;   // of the engine: our output
    int output = 1;  // of the engine: our input
    std::vector<float> impulse;  // empty: straight through
};

class JackRoom {
public:
    struct Shape {
        int rate_hz = 48000;
        int period = 1024;
        int inputs = 2, outputs = 2;  // of the engine
        std::vector<Path> paths;
    };

    explicit JackRoom(Shape shape);
    ~JackRoom();

    [[nodiscard]] bool ready() const { return ready_; }
    [[nodiscard]] std::string why_not() const { return why_not_; }
    void freewheel();  // as fast as it can, exact
    [[nodiscard]] Program& server() { return *server_; }
    [[nodiscard]] Program& engine() { return *engine_; }
    void start_engine();
    void end_engine();
    [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }

    static constexpr const char* device = "jconvolver";

private:
    void take_name();
    void start_server(const Shape& shape);
    void write_files(const Shape& shape);

    Shape shape_;
    std::string name_;
    int lock_ = -1;

    std::filesystem::path folder_;
    std::unique_ptr<Program> server_, engine_;
    bool ready_ = false;
    std::string why_not_;
};

// Empty when the server and the engine are installed; else what is missing.
[[nodiscard]] std::string missing_programs();

}  // namespace proofwalk::live

#include <thread>

template <class Condition>
bool proofwalk::live::comes_true(std::chrono::milliseconds longest, Condition condition) {
    const auto until = std::chrono::steady_clock::now() + longest;
    while (!condition()) {
        if (std::chrono::steady_clock::now() >= until) return false;
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    return true;
}
