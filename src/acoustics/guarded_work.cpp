#include "acoustics/guarded_work.hpp"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdint>
#include <span>

namespace proofwalk::acoustics {
namespace {

bool write_all(int to, const void* from, std::size_t size) {
    const auto* at = static_cast<const char*>(from);
    while (size > 0) {
        const ssize_t written = ::write(to, at, size);
        if (written < 0 && errno == EINTR) continue;
        if (written <= 0) return false;
        at += written;
        size -= static_cast<std::size_t>(written);
    }
    return true;
}

// No trace of a crash is left lying about, a process that is gone needs no answer, and of all processes this is the one to
// go when memory runs out. What libraries print is nobody's to read.
void settle_in_child(pid_t parent) {
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);
    if (::getppid() != parent) ::_exit(1);
    const rlimit no_core{0, 0};
    ::setrlimit(RLIMIT_CORE, &no_core);
    for (const int number : {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGALRM, SIGPIPE, SIGTERM, SIGINT}) ::signal(number, SIG_DFL);
    if (const int score = ::open("/proc/self/oom_score_adj", O_WRONLY | O_CLOEXEC); score >= 0) {
        (void)write_all(score, "1000", 4);
        ::close(score);
    }
    if (const int nowhere = ::open("/dev/null", O_RDWR | O_CLOEXEC); nowhere >= 0) {
        ::dup2(nowhere, STDOUT_FILENO);
        ::dup2(nowhere, STDERR_FILENO);
    }
}

[[noreturn]] void run_child(const std::function<std::vector<std::byte>()>& work, int to, pid_t parent) {
    settle_in_child(parent);
    int status = 1;
    try {
        const std::vector<std::byte> answer = work();
        const std::uint64_t size = answer.size();
        if (write_all(to, &size, sizeof size) && write_all(to, answer.data(), answer.size())) status = 0;
    } catch (...) {
        status = 1;
    }
    ::_exit(status);
}

// The answer, after its size. A crash ends it early; another copy that was forked meanwhile may keep the pipe open, so the
// end of the file alone is not waited for.
class Answer {
public:
    Answer(int from, const GuardedLimits& limits) : from_(from), limits_(limits), until_(std::chrono::steady_clock::now() + limits.longest) {}

    Guarded read() {
        std::uint64_t size = 0;
        if (const GuardedEnd end = fill(std::as_writable_bytes(std::span{&size, 1})); end != GuardedEnd::answered) return {end, {}};
        if (size > limits_.most_bytes) return {GuardedEnd::too_much, {}};
        Guarded result{GuardedEnd::answered, std::vector<std::byte>(static_cast<std::size_t>(size))};
        result.end = fill(result.answer);
        if (result.end != GuardedEnd::answered) result.answer.clear();
        return result;
    }

private:
    GuardedEnd fill(std::span<std::byte> part) {
        while (!part.empty()) {
            const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(until_ - std::chrono::steady_clock::now());
            if (left.count() <= 0) return GuardedEnd::too_slow;
            pollfd waiting{from_, POLLIN, 0};
            const int ready = ::poll(&waiting, 1, static_cast<int>(left.count()));
            if (ready == 0) return GuardedEnd::too_slow;
            if (ready < 0 && errno == EINTR) continue;
            const ssize_t got = ready < 0 ? -1 : ::read(from_, part.data(), part.size());
            if (got < 0 && errno == EINTR) continue;
            if (got <= 0) return GuardedEnd::crashed;
            part = part.subspan(static_cast<std::size_t>(got));
        }
        return GuardedEnd::answered;
    }

    int from_;
    const GuardedLimits& limits_;
    std::chrono::steady_clock::time_point until_;
};

}  // namespace

Guarded guarded(const std::function<std::vector<std::byte>()>& work, const GuardedLimits& limits) {
    std::array<int, 2> ends{-1, -1};
    if (::pipe2(ends.data(), O_CLOEXEC) != 0) return {};
    const pid_t parent = ::getpid();
    const pid_t child = ::fork();
    if (child == 0) {
        ::close(ends[0]);
        run_child(work, ends[1], parent);
    }
    ::close(ends[1]);
    Guarded result;
    if (child > 0) {
        result = Answer(ends[0], limits).read();
        if (result.end != GuardedEnd::answered) ::kill(child, SIGKILL);
        while (::waitpid(child, nullptr, 0) < 0 && errno == EINTR) {
        }
    }
    ::close(ends[0]);
    return result;
}

}  // namespace proofwalk::acoustics
