// The example plan of the tests, read.
#pragma once

#include <string>

#include <gtest/gtest.h>

#include "plan/example_text.hpp"
#include "plan/read.hpp"

namespace proofwalk::plan {

inline Plan plan_from(const std::string& text) {
    auto found = read(text, "plan.toml", ".");
    if (!found) {
        for (const Fault& fault : found.error()) ADD_FAILURE() << sentence(fault);
        return {};
    }
    return found->plan;
}

// The example with one text put in place of another, once.
inline std::string example_with(const std::string& old_text, const std::string& new_text) {
    std::string text = example_text;
    const auto at = text.find(old_text);
    EXPECT_NE(at, std::string::npos) << old_text;
    if (at != std::string::npos) text.replace(at, old_text.size(), new_text);
    return text;
}

}  // namespace proofwalk::plan
