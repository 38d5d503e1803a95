// A log of the small invented room in a folder of its own, gone afterwards.
#pragma once

#include <gtest/gtest.h>
#include <stdlib.h>

#include <filesystem>
#include <string>

#include "walk/show.hpp"

namespace proofwalk::walk {

class ScratchShow {
public:
    ScratchShow() {
        std::string pattern = (std::filesystem::temp_directory_path() / "proofwalk-walk-XXXXXX").string();
        folder_ = mkdtemp(pattern.data());
    }
    ScratchShow(const ScratchShow&) = delete;
    ScratchShow& operator=(const ScratchShow&) = delete;
    ~ScratchShow() {
        std::error_code ignored;
        std::filesystem::remove_all(folder_, ignored);
    }

    [[nodiscard]] Show open(const std::string& name = "show.db") const {
        auto show = open_show(PROOFWALK_SOURCE_DIR "/fixtures/small/plan.toml", folder_ / name);
        EXPECT_TRUE(show.has_value());
        return std::move(*show);
    }

private:
    std::filesystem::path folder_;
};

}  // namespace proofwalk::walk
