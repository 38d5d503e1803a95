// What g++ marks (-fsanitize-coverage=trace-pc,trace-cmp) as libFuzzer counts it: one counter a place in the code. Linked
// with --wrap, because libFuzzer keeps an empty function of that name.
#include <array>
#include <cstddef>
#include <cstdint>

namespace {

constexpr std::size_t places = std::size_t{1} << 17;
alignas(4096) std::array<std::uint8_t, places> visits{};

}  // namespace

extern "C" {

void __sanitizer_cov_8bit_counters_init(std::uint8_t* begin, std::uint8_t* end);

__attribute__((no_sanitize_coverage, no_sanitize("address", "undefined"))) void __wrap___sanitizer_cov_trace_pc() {
    const auto place = reinterpret_cast<std::uintptr_t>(__builtin_return_address(0));
    ++visits.data()[(place ^ (place >> 17)) % places];
}

// libFuzzer makes no use of compared fractions.
__attribute__((no_sanitize_coverage)) void __sanitizer_cov_trace_cmpf(float, float) {}
__attribute__((no_sanitize_coverage)) void __sanitizer_cov_trace_cmpd(double, double) {}
}

namespace {

[[maybe_unused]] const bool counted = (__sanitizer_cov_8bit_counters_init(visits.data(), visits.data() + places), true);

}  // namespace
