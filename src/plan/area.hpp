// Audience planes.
#pragma once

#include <optional>

#include "plan/plan.hpp"

namespace proofwalk::plan {

// Where a point lies on an area as seen from above: along 0 at the near row .. 1 at the far row (unbounded), across from
// -1 (the end of the row to the right when looking from near to far) to +1.
struct OnArea {
    double along = 0.0;
    double across = 0.0;
};
[[nodiscard]] OnArea on_area(const Area& area, Vec3 point);
// The point at ear height of the plane; along and across as above.
[[nodiscard]] Vec3 point_on(const Area& area, OnArea place);
// Inside its outline, seen from above, and within 1.5 m of its plane in height.
[[nodiscard]] bool covers(const Area& area, Vec3 point);
[[nodiscard]] const Area* area_under(const Plan& plan, Vec3 point);  // the first that covers the point; null: none

// Where a ray meets an area's plane; nothing when it runs along it or away from it. It may lie outside the outline.
[[nodiscard]] std::optional<OnArea> landing(const Area& area, Vec3 from, Vec3 along);

}  // namespace proofwalk::plan
