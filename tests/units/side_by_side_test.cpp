#include "units/side_by_side.hpp"

#include <gtest/gtest.h>

#include <stdexcept>

namespace proofwalk {
namespace {

TEST(SideBySide, EachIsDoneOnce) {
    for (const std::size_t count : {0u, 1u, 2u, 3u, 1000u}) {
        std::vector<int> done(count, 0);
        side_by_side(count, [&](std::size_t n) { ++done[n]; });
        EXPECT_EQ(done, std::vector<int>(count, 1));
    }
}

TEST(SideBySide, WhatIsThrownArrivesAfterTheOthersHaveEnded) {
    std::atomic<int> running{0};
    const auto work = [&](std::size_t n) {
        ++running;
        if (n == 5) {
            --running;
            throw std::runtime_error("five");
        }
        --running;
    };
    EXPECT_THROW(side_by_side(100, work), std::runtime_error);
    EXPECT_EQ(running, 0);
}

}  // namespace
}  // namespace proofwalk
