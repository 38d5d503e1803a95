// The child process that talks to the audio system: this same program, started with a hidden argument. A crash or a hang in
// an audio driver takes the child, never the log or the screen.
#pragma once

#include <sys/types.h>

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

#include "capture/shared_stream.hpp"
#include "units/fault.hpp"

namespace proofwalk::capture {

inline constexpr std::string_view child_argument = "--capture-child";
inline constexpr int child_stream_descriptor = 3;  // the shared memory
inline constexpr int child_life_descriptor = 4;    // closes when the parent is gone

class ChildProcess {
public:
    [[nodiscard]] static Result<ChildProcess> start(const SharedStream& stream);

    ChildProcess(ChildProcess&& other) noexcept;
    ChildProcess& operator=(ChildProcess&&) = delete;
    ~ChildProcess();  // ends the child if it still runs

    [[nodiscard]] bool running();
    // True when it left by itself in time.
    bool wait(std::chrono::milliseconds longest);
    void end();  // at once
    [[nodiscard]] pid_t id() const { return id_; }
    // What the audio libraries printed so far.
    [[nodiscard]] std::string chatter() const;

private:
    ChildProcess(pid_t id, int life, int chatter) : id_(id), life_(life), chatter_(chatter) {}

    pid_t id_ = -1;
    int life_ = -1;
    int chatter_ = -1;
};

}  // namespace proofwalk::capture
