#include <gtest/gtest.h>

#include "capture/device.hpp"

// The capture child is this same program, so it is recognised before the tests begin.
int main(int argc, char** argv) {
    if (const auto status = proofwalk::capture::run_as_capture_child(argc, argv)) return *status;
    testing::InitGoogleTest(&argc, argv);
    return RUN_ALL_TESTS();
}
