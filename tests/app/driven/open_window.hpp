// The real window for a test, with its settings in a folder of its own.
#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <optional>

#include "app/window.hpp"
#include "place.hpp"

namespace proofwalk::app {

inline std::unique_ptr<Window> open_window(const Place& place, const std::optional<std::filesystem::path>& file, int width = 1280,
                                           int height = 800) {
    WindowOptions options;
    options.app.file = file;
    options.app.settings_file = place / "window.conf";
    options.width = width;
    options.height = height;
    auto window = Window::open(std::move(options));
    EXPECT_TRUE(window.has_value()) << (window ? "" : sentence(window.error()));
    return window ? std::move(*window) : nullptr;
}

inline const Records& records(Window& window) { return *window.app().desk().records(); }

}  // namespace proofwalk::app
