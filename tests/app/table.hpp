// An ImGui context, fonts and the app on a table: every sheet is drawn with no window and no graphics card.
#pragma once

#include <gtest/gtest.h>
#include <imgui.h>

#include <chrono>
#include <cmath>
#include <thread>

#include "app/app.hpp"
#include "place.hpp"

namespace proofwalk::app {

class Table {
public:
    explicit Table(float width = 1280.0F, float height = 800.0F, AppOptions options = {}) : width_(width), height_(height) {
        context_ = ImGui::CreateContext();
        ImGuiIO& io = ImGui::GetIO();
        io.IniFilename = nullptr;
        io.BackendFlags |= ImGuiBackendFlags_RendererHasVtxOffset;
        map_editing_keys(io);
        fonts_ = std::make_unique<Fonts>(*find_fonts());
        app_ = std::make_unique<App>(*fonts_, std::move(options));
    }
    ~Table() {
        app_.reset();
        ImGui::DestroyContext(context_);
    }
    Table(const Table&) = delete;
    Table& operator=(const Table&) = delete;

    App& app() { return *app_; }
    InputQueue& input() { return input_; }

    void frame() {
        const float scale = app_->scale_for(width_, height_, 1.0F);
        if (!fonts_->built() || fonts_->wants_build() || fonts_->scale() != scale) fonts_->build(scale);
        ImGuiIO& io = ImGui::GetIO();
        io.DisplaySize = {width_, height_};
        io.DeltaTime = 1.0F / 60.0F;
        const auto stroke = input_.feed(io);
        ImGui::NewFrame();
        app_->frame(stroke, width_, height_);
        ImGui::Render();
    }
    // Frames until hands and worker are done and the picture stands.
    void settle() {
        for (int quiet = 0; quiet < 3;) {
            frame();
            quiet = input_.empty() && !app_->desk().busy() && !fonts_->wants_build() ? quiet + 1 : 0;
            if (app_->desk().busy()) std::this_thread::sleep_for(std::chrono::milliseconds(2));
        }
    }
    void key(int key, int modifiers = 0) {
        input_.key(key, modifiers, true, false);
        input_.key(key, modifiers, false, false);
        settle();
    }
    void press(const std::string& id) {
        const auto& places = app_->ui().places();
        const auto place = places.find(id);
        ASSERT_NE(place, places.end()) << "nothing to press is called " << id;
        input_.pointer(place->second.centre());
        input_.button(0, true);
        input_.button(0, false);
        settle();
    }

    // What was drawn: corners, and whether each is a number and none lies absurdly far away.
    [[nodiscard]] int corners() const { return ImGui::GetDrawData()->TotalVtxCount; }
    void check_drawing() const {
        for (int l = 0; l < ImGui::GetDrawData()->CmdListsCount; ++l)
            for (const ImDrawVert& corner : ImGui::GetDrawData()->CmdLists[l]->VtxBuffer)
                ASSERT_TRUE(std::isfinite(corner.pos.x) && std::isfinite(corner.pos.y));
        for (const auto& [id, place] : app_->ui().places()) {
            EXPECT_GE(place.min.x, -1.0F) << id;
            EXPECT_GE(place.min.y, -1.0F) << id;
            EXPECT_LE(place.max.x, width_ + 1.0F) << id;
            EXPECT_LE(place.max.y, height_ + 1.0F) << id;
        }
    }

private:
    float width_, height_;
    ImGuiContext* context_ = nullptr;
    std::unique_ptr<Fonts> fonts_;
    std::unique_ptr<App> app_;
    InputQueue input_;
};

// A rehearsal of the small room, armed.
inline void begin_rehearsal(Table& table, const Place& place, double count_in_s = 0.0) {
    Settings& settings = table.app().state().settings;
    settings.who = "R. Walker";
    settings.length_s = 1.0;
    settings.count_in_s = count_in_s;
    table.app().desk().begin(place.small_plan(), place / "small-rehearsal.db", settings);
    table.settle();
    ASSERT_NE(table.app().desk().records(), nullptr);
    table.app().state().armed = true;
}

}  // namespace proofwalk::app
