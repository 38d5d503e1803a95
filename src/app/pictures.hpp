// Pictures on the screen's side: pixels are handed over once, drawn frame after frame, and freed with their handle.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "app/shapes.hpp"

namespace proofwalk::app {

// Rows from the top, colours not multiplied by their alpha.
struct Pixels {
    int width = 0, height = 0;
    std::vector<Colour> colours;

    Pixels() = default;
    Pixels(int across, int down) : width(across), height(down), colours(static_cast<std::size_t>(across) * static_cast<std::size_t>(down), 0) {}
    [[nodiscard]] Colour& at(int x, int y) { return colours[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x)]; }
};

// Where pictures lie; this one is of a window that nobody sees, a real window's hands them to its graphics card.
class PictureShelf {
public:
    PictureShelf() = default;
    PictureShelf(const PictureShelf&) = delete;
    PictureShelf& operator=(const PictureShelf&) = delete;
    virtual ~PictureShelf() = default;
    // A number that the drawing knows it by, never 0. `smooth`: mixed where it is drawn larger or smaller than it is.
    [[nodiscard]] virtual std::uintptr_t put([[maybe_unused]] const Pixels& pixels, [[maybe_unused]] bool smooth) { return ++kept_, ++last_; }
    virtual void drop([[maybe_unused]] std::uintptr_t number) { --kept_; }
    [[nodiscard]] int kept() const { return kept_; }

protected:
    int kept_ = 0;

private:
    std::uintptr_t last_ = 0;
};

class Picture {
public:
    Picture() = default;
    Picture(PictureShelf& shelf, const Pixels& pixels, bool smooth) : shelf_(&shelf), number_(shelf.put(pixels, smooth)) {}
    Picture(Picture&& other) noexcept : shelf_(std::exchange(other.shelf_, nullptr)), number_(std::exchange(other.number_, 0)) {}
    Picture& operator=(Picture&& other) noexcept {
        std::swap(shelf_, other.shelf_);
        std::swap(number_, other.number_);
        return *this;
    }
    ~Picture() {
        if (shelf_ != nullptr) shelf_->drop(number_);
    }
    [[nodiscard]] std::uintptr_t number() const { return number_; }

private:
    PictureShelf* shelf_ = nullptr;
    std::uintptr_t number_ = 0;
};

}  // namespace proofwalk::app
