// Pictures as textures of the window's OpenGL context, which must be current.
#pragma once

#include <GLFW/glfw3.h>

#include "app/pictures.hpp"

namespace proofwalk::app {

class ScreenShelf : public PictureShelf {
public:
    std::uintptr_t put(const Pixels& pixels, bool smooth) override {
        GLuint number = 0;
        glGenTextures(1, &number);
        glBindTexture(GL_TEXTURE_2D, number);
        const GLint filter = smooth ? GL_LINEAR : GL_NEAREST;
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, filter);
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, filter);
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_S, GL_CLAMP_TO_EDGE);
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_T, GL_CLAMP_TO_EDGE);
        glPixelStorei(GL_UNPACK_ROW_LENGTH, 0);
        glPixelStorei(GL_UNPACK_ALIGNMENT, 4);
        glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA, pixels.width, pixels.height, 0, GL_RGBA, GL_UNSIGNED_BYTE, pixels.colours.data());
        glBindTexture(GL_TEXTURE_2D, 0);
        ++kept_;
        is_new_ = true;
        return number;
    }
    void drop(std::uintptr_t number) override {
        const auto texture = static_cast<GLuint>(number);
        glDeleteTextures(1, &texture);
        --kept_;
    }
    // True once after a picture was put here: its number may be one that another had before.
    [[nodiscard]] bool take_new() { return std::exchange(is_new_, false); }

private:
    bool is_new_ = false;
};

}  // namespace proofwalk::app
