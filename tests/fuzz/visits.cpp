// What g++ marks (-fsanitize-coverage=trace-pc,trace-cmp) as libFuzzer counts it: one counter a place in the code. Linked
// with --wrap, because libFuzzer keeps an empty function of that name. The counters are shared with forked children, so
// that what the reader of AES69 files does in its own process is seen too.
#include <sys/mman.h>

#include <cstddef>
#include <cstdint>
#include <cstdlib>

namespace {

constexpr std::size_t places = std::size_t{1} << 17;

// Made before any code that is counted runs.
__attribute__((no_sanitize_coverage, no_sanitize("address", "undefined"))) std::uint8_t* shared_counters() {
    void* memory = mmap(nullptr, places, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (memory == MAP_FAILED) std::abort();
    return static_cast<std::uint8_t*>(memory);
}

std::uint8_t* visits = nullptr;

}  // namespace

extern "C" {

void __sanitizer_cov_8bit_counters_init(std::uint8_t* begin, std::uint8_t* end);

__attribute__((no_sanitize_coverage, no_sanitize("address", "undefined"))) void __wrap___sanitizer_cov_trace_pc() {
    if (visits == nullptr) visits = shared_counters();
    const auto place = reinterpret_cast<std::uintptr_t>(__builtin_return_address(0));
    ++visits[(place ^ (place >> 17)) % places];
}

// libFuzzer makes no use of compared fractions.
__attribute__((no_sanitize_coverage)) void __sanitizer_cov_trace_cmpf(float, float) {}
__attribute__((no_sanitize_coverage)) void __sanitizer_cov_trace_cmpd(double, double) {}
}

namespace {

__attribute__((no_sanitize_coverage)) bool count_visits() {
    if (visits == nullptr) visits = shared_counters();
    __sanitizer_cov_8bit_counters_init(visits, visits + places);
    return true;
}
[[maybe_unused]] const bool counted = count_visits();

}  // namespace
