#include "app/worker.hpp"

#include <utility>

namespace proofwalk::app {

Worker::Worker(std::function<void()> wake) : wake_(std::move(wake)), thread_([this] { loop(); }) {}

Worker::~Worker() {
    {
        const std::lock_guard lock{mutex_};
        closing_ = true;
        waiting_.clear();
        stop_ = true;
    }
    there_is_work_.notify_all();
    thread_.join();
}

void Worker::run(std::string what, std::function<void(Job&)> work) {
    {
        const std::lock_guard lock{mutex_};
        waiting_.push_back({std::move(what), std::move(work)});
    }
    there_is_work_.notify_all();
}

void Worker::stop() {
    const std::lock_guard lock{mutex_};
    if (running_) stop_ = true;
}

void Worker::loop() {
    for (;;) {
        Waiting next;
        {
            std::unique_lock lock{mutex_};
            there_is_work_.wait(lock, [this] { return closing_ || !waiting_.empty(); });
            if (closing_) return;
            next = std::move(waiting_.front());
            waiting_.pop_front();
            running_ = Running{next.what, 0.0, 0.0};
            stop_ = false;
        }
        wake_();
        Job job{*this};
        next.work(job);
        {
            const std::lock_guard lock{mutex_};
            running_.reset();
        }
        wake_();
    }
}

void Worker::Job::progress(double done, double whole) {
    {
        const std::lock_guard lock{worker_->mutex_};
        if (worker_->running_) {
            worker_->running_->done = done;
            worker_->running_->whole = whole;
        }
    }
    worker_->wake_();
}

void Worker::Job::hand_back(std::function<void()> on_screen) {
    {
        const std::lock_guard lock{worker_->mutex_};
        worker_->handed_back_.push_back(std::move(on_screen));
    }
    worker_->wake_();
}

bool Worker::deliver() {
    std::vector<std::function<void()>> results;
    {
        const std::lock_guard lock{mutex_};
        results.swap(handed_back_);
    }
    for (auto& result : results) result();
    return !results.empty();
}

std::optional<Worker::Running> Worker::running() const {
    const std::lock_guard lock{mutex_};
    return running_;
}

bool Worker::idle() const {
    const std::lock_guard lock{mutex_};
    return !running_ && waiting_.empty() && handed_back_.empty();
}

}  // namespace proofwalk::app
