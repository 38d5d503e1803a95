// Built with AVX2 and FMA where the compiler knows them; called only when the processor has both.
#include "signal/fft_lanes.hpp"

namespace proofwalk::signal::lanes {

#include "signal/fft_lanes.ipp"

void transform_wide(const Plan& plan, const float* real, const float* imaginary, std::size_t distance, float* out_real, float* out_imaginary,
                  float* turned_real, float* turned_imaginary, float* short_scratch) {
    whole_transform(plan, real, imaginary, distance, out_real, out_imaginary, turned_real, turned_imaginary, short_scratch);
}
void split_wide(std::size_t half, const float* factors, const float* z_real, const float* z_imaginary, float* spectrum) {
    whole_split(half, factors, z_real, z_imaginary, spectrum);
}
void join_wide(std::size_t half, const float* factors, const float* spectrum, float scale, float* z_real, float* z_imaginary) {
    whole_join(half, factors, spectrum, scale, z_real, z_imaginary);
}

void multiply_wide(std::size_t count, const float* a, const float* b, float* out) { whole_multiply(count, a, b, out); }
void accumulate_wide(std::size_t count, const float* x, const float* y, float* gxx, float* gyy, float* gxy) { whole_accumulate(count, x, y, gxx, gyy, gxy); }

}  // namespace proofwalk::signal::lanes
