// One thread beside the screen: measuring, judging, reporting and the database run there, one job after another, with
// progress and a stop. What a job hands back is run on the screen's thread, in order.
#pragma once

#include <atomic>
#include <condition_variable>
#include <deque>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

namespace proofwalk::app {

class Worker {
public:
    // `wake` is called from the worker's thread whenever there is something to show.
    explicit Worker(std::function<void()> wake);
    ~Worker();  // asks the running job to stop and waits for it; what waits is dropped
    Worker(const Worker&) = delete;
    Worker& operator=(const Worker&) = delete;

    class Job {
    public:
        explicit Job(Worker& worker) : worker_(&worker) {}
        [[nodiscard]] const std::atomic<bool>& stop() const { return worker_->stop_; }
        void progress(double done, double whole);             // any unit, both in the same
        void hand_back(std::function<void()> on_screen);      // run by deliver()

    private:
        Worker* worker_;
    };

    void run(std::string what, std::function<void(Job&)> work);
    void stop();  // the running job only
    // Screen's thread: runs what jobs handed back; true when there was something.
    bool deliver();

    struct Running {
        std::string what;
        double done = 0.0, whole = 0.0;  // whole 0: unknown
    };
    [[nodiscard]] std::optional<Running> running() const;
    [[nodiscard]] bool idle() const;  // nothing runs, waits or is to be delivered

private:
    struct Waiting {
        std::string what;
        std::function<void(Job&)> work;
    };
    void loop();

    std::function<void()> wake_;
    mutable std::mutex mutex_;
    std::condition_variable there_is_work_;
    std::deque<Waiting> waiting_;
    std::vector<std::function<void()>> handed_back_;
    std::optional<Running> running_;
    std::atomic<bool> stop_{false};
    bool closing_ = false;
    std::thread thread_;
};

}  // namespace proofwalk::app
