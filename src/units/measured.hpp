// A measured figure: the number and its standard uncertainty travel together.
#pragma once

namespace proofwalk {

struct Measured {
    double value = 0.0;
    double u = 0.0;  // standard uncertainty (one sigma), same unit as value, never negative

    friend constexpr bool operator==(const Measured&, const Measured&) = default;
};

}  // namespace proofwalk
