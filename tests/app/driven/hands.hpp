// A person's hands for tests: they press what is on the screen, through the queue that real keys and pointers go through.
#pragma once

#include <GLFW/glfw3.h>
#include <gtest/gtest.h>

#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <string>

#include "app/window.hpp"

namespace proofwalk::app {

// Where pictures are left for people to look at.
inline std::filesystem::path picture_file(const std::string& name) {
    const char* folder = std::getenv("PROOFWALK_PICTURES");
    const std::filesystem::path at = folder != nullptr ? folder : PROOFWALK_BINARY_DIR "/pictures";
    std::filesystem::create_directories(at);
    return at / (name + ".png");
}

class Hands {
public:
    explicit Hands(Window& window) : window_(window) {}

    // Until nothing is drawn, runs or waits. False after `longest_s`.
    bool rest(double longest_s = 240.0) {
        const auto end = std::chrono::steady_clock::now() + std::chrono::duration<double>(longest_s);
        do {
            window_.turn(0.02);
            if (std::chrono::steady_clock::now() > end) return false;
        } while (!window_.settled());
        return true;
    }

    void press(const std::string& id) {
        ASSERT_TRUE(rest()) << "the window never came to rest before pressing " << id;
        const auto& places = window_.app().ui().places();
        const auto place = places.find(id);
        ASSERT_NE(place, places.end()) << "nothing to press is called " << id;
        point(place->second.centre());
        window_.input().button(0, true);
        window_.input().button(0, false);
        ASSERT_TRUE(rest()) << "the window never came to rest after pressing " << id;
    }
    [[nodiscard]] bool sees(const std::string& id) { return window_.app().ui().places().contains(id); }

    void point(Point at) { window_.input().pointer(at); }

    void key(int key, int modifiers = 0) {
        window_.input().key(key, modifiers, true, false);
        window_.input().key(key, modifiers, false, false);
        ASSERT_TRUE(rest());
    }

    // As fast as a machine types: every stroke must arrive.
    void type(const std::string& text) {
        for (const char c : text) {
            const int key = c == ' ' ? GLFW_KEY_SPACE : std::toupper(static_cast<unsigned char>(c));
            window_.input().key(key, 0, true, false);
            window_.input().character(static_cast<unsigned>(static_cast<unsigned char>(c)));
            window_.input().key(key, 0, false, false);
        }
        ASSERT_TRUE(rest());
    }

    void picture(const std::string& name) {
        rest();
        const auto saved = window_.save_picture(picture_file(name));
        EXPECT_TRUE(saved.has_value()) << (saved ? "" : sentence(saved.error()));
    }

private:
    Window& window_;
};

}  // namespace proofwalk::app
