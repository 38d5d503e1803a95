// Like work on many things, by as many threads as the machine has cores; the calling thread is one of them.
#pragma once

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <future>
#include <system_error>
#include <thread>
#include <vector>

namespace proofwalk {

// Calls work(0) to work(count - 1), each once, in any order and at the same time: no call may write what another one touches.
// Returns when all are done; what a call throws is thrown here, after the others have ended.
template <class Work>
void side_by_side(std::size_t count, const Work& work) {
    std::atomic<std::size_t> next{0};
    const auto take_part = [&] {
        for (std::size_t at = next++; at < count; at = next++) work(at);
    };
    const std::size_t threads = std::min<std::size_t>(count, std::max(1u, std::thread::hardware_concurrency()));
    std::vector<std::future<void>> others;
    try {
        while (others.size() + 1 < threads) others.push_back(std::async(std::launch::async, take_part));
    } catch (const std::system_error&) {
        // No more threads are to be had: those there are do it.
    }
    take_part();
    for (auto& other : others) other.get();
}

}  // namespace proofwalk
