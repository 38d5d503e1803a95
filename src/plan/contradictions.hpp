// What the sections of a plan say against each other. Internal to the folder.
#pragma once

#include <vector>

#include "plan/plan.hpp"

namespace proofwalk::plan {

struct Findings;

// Lines of the file, one entry per area, model, box, ... in the order of the plan.
struct SourceLines {
    struct OfBox {
        int id = 0, model = 0, circuit = 0, output = 0;
    };
    struct OfArray {
        int id = 0, boxes = 0;
    };
    struct OfPosition {
        int id = 0, at = 0;
        std::vector<int> serves;
    };
    std::vector<int> areas, models;
    std::vector<OfBox> boxes;
    std::vector<OfArray> arrays;
    std::vector<OfPosition> positions;
};

// Faults for what can't be; warnings for what is allowed and probably not meant.
void find_contradictions(const Plan& plan, const SourceLines& lines, Findings& findings);

}  // namespace proofwalk::plan
