// Inside this folder a failure is thrown as the fault that it is and becomes a value at every public function.
#pragma once

#include <type_traits>
#include <utility>

#include "units/fault.hpp"

namespace proofwalk::log {

struct StoreError {
    Fault fault;
};

// Runs the body of a public function: what it throws comes back as a Fault.
template <class Body>
[[nodiscard]] auto as_result(Body&& body) -> Result<std::invoke_result_t<Body>> {
    using Value = std::invoke_result_t<Body>;
    try {
        if constexpr (std::is_void_v<Value>) {
            std::forward<Body>(body)();
            return {};
        } else {
            return std::forward<Body>(body)();
        }
    } catch (StoreError& error) {
        return std::unexpected(std::move(error.fault));
    }
}

}  // namespace proofwalk::log
