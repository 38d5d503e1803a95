#include "signal/fft.hpp"

#include <kiss_fftr.h>

#include <algorithm>
#include <cassert>

namespace proofwalk::signal {

namespace {

struct Release {
    void operator()(kiss_fftr_state* state) const { kiss_fftr_free(state); }
};
using Plan = std::unique_ptr<kiss_fftr_state, Release>;

Plan make_plan(std::size_t size, bool inverse) {
    return Plan(kiss_fftr_alloc(static_cast<int>(size), inverse ? 1 : 0, nullptr, nullptr));
}

}  // namespace

struct RealFft::Plans {
    Plan forward, inverse;
    std::vector<float> padded;
};

RealFft::RealFft(std::size_t size) : size_(size), plans_(std::make_unique<Plans>()) {
    assert(size >= 2 && size % 2 == 0);
    plans_->forward = make_plan(size, false);
    plans_->inverse = make_plan(size, true);
}
RealFft::RealFft(RealFft&&) noexcept = default;
RealFft& RealFft::operator=(RealFft&&) noexcept = default;
RealFft::~RealFft() = default;

void RealFft::forward(std::span<const float> time, std::span<std::complex<float>> spectrum) const {
    assert(time.size() <= size_ && spectrum.size() == bins());
    const float* samples = time.data();
    if (time.size() < size_) {
        plans_->padded.assign(size_, 0.0F);
        std::copy(time.begin(), time.end(), plans_->padded.begin());
        samples = plans_->padded.data();
    }
    kiss_fftr(plans_->forward.get(), samples, reinterpret_cast<kiss_fft_cpx*>(spectrum.data()));
}

Spectrum RealFft::forward(std::span<const float> time) const {
    Spectrum spectrum(bins());
    forward(time, spectrum);
    return spectrum;
}

void RealFft::inverse(std::span<const std::complex<float>> spectrum, std::span<float> time) const {
    assert(spectrum.size() == bins() && time.size() == size_);
    kiss_fftri(plans_->inverse.get(), reinterpret_cast<const kiss_fft_cpx*>(spectrum.data()), time.data());
    const float scale = 1.0F / static_cast<float>(size_);
    for (float& sample : time) sample *= scale;
}

std::vector<float> RealFft::inverse(std::span<const std::complex<float>> spectrum) const {
    std::vector<float> time(size_);
    inverse(spectrum, time);
    return time;
}

std::size_t fast_size(std::size_t least) {
    least = std::max<std::size_t>(least, 2);
    std::size_t best = 2;
    while (best < least) best *= 2;
    for (std::size_t five = 1; five < best; five *= 5) {
        for (std::size_t three = five; three < best; three *= 3) {
            std::size_t size = three * 2;
            while (size < least) size *= 2;
            best = std::min(best, size);
        }
    }
    return best;
}

}  // namespace proofwalk::signal
