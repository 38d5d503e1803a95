#include "signal/fft.hpp"

#include <kiss_fftr.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstring>
#include <map>
#include <mutex>
#include <new>
#include <numbers>
#include <utility>

#include "signal/fft_lanes.hpp"

namespace proofwalk::signal {

const lanes::Functions& lanes::chosen() {
#if defined(__x86_64__)
    static const bool processor_is_wide = __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma");
    if (processor_is_wide) return wide;
#endif
    return portable;
}

namespace {

constexpr std::size_t large = 4096;      // below it the plain transform is as fast
constexpr std::size_t alignment = 64;

// Floats on a cache line, kept by the thread that uses them and grown as needed.
class Scratch {
public:
    float* of(std::size_t count) {
        if (count > count_) {
            floats_.reset(static_cast<float*>(::operator new[](count * sizeof(float), std::align_val_t(alignment))));
            count_ = count;
        }
        return floats_.get();
    }

private:
    struct Free {
        void operator()(float* floats) const { ::operator delete[](floats, std::align_val_t(alignment)); }
    };
    std::unique_ptr<float[], Free> floats_;
    std::size_t count_ = 0;
};

struct KissFree {
    void operator()(kiss_fftr_state* state) const { kiss_fftr_free(state); }
};

// KissFFT's plans hold scratch of their own: each thread keeps its own.
kiss_fftr_state* kiss_plan(std::size_t size, bool inverse) {
    static thread_local std::map<std::pair<std::size_t, bool>, std::unique_ptr<kiss_fftr_state, KissFree>> kept;
    auto& plan = kept[{size, inverse}];
    if (!plan) plan.reset(kiss_fftr_alloc(static_cast<int>(size), inverse ? 1 : 0, nullptr, nullptr));
    return plan.get();
}

// Factors of a length in the order of the stages; empty when another prime is left.
std::vector<std::size_t> radices_of(std::size_t length) {
    std::vector<std::size_t> radices;
    for (const std::size_t radix : {std::size_t{5}, std::size_t{3}, std::size_t{4}, std::size_t{2}})
        while (length % radix == 0 && length > 1) {
            radices.push_back(radix);
            length /= radix;
        }
    return length == 1 ? radices : std::vector<std::size_t>{};
}

struct ShortTables {
    lanes::ShortPlan plan;
    std::vector<std::vector<float>> factors;

    explicit ShortTables(std::size_t length) {
        const std::vector<std::size_t> radices = radices_of(length);
        plan.length = length;
        plan.stages = radices.size();
        std::size_t left = length;
        for (std::size_t stage = 0; stage < radices.size(); ++stage) {
            const std::size_t radix = radices[stage], count = left / radix;
            std::vector<float> w;
            for (std::size_t k = 0; k < count; ++k)
                for (std::size_t i = 1; i < radix; ++i) {
                    const double angle = -2.0 * std::numbers::pi * static_cast<double>(i * k) / static_cast<double>(left);
                    w.push_back(static_cast<float>(std::cos(angle)));
                    w.push_back(static_cast<float>(std::sin(angle)));
                }
            factors.push_back(std::move(w));
            plan.radix[stage] = radix;
            left = count;
        }
        for (std::size_t stage = 0; stage < radices.size(); ++stage) plan.factors[stage] = factors[stage].data();
    }
};

// rows * columns = half, both multiples of eight and as near to each other as can be; zero rows when there are none.
std::size_t rows_of(std::size_t half) {
    std::size_t best = 0;
    for (std::size_t rows = lanes::width; rows * rows <= half; rows += lanes::width)
        if (half % rows == 0 && (half / rows) % lanes::width == 0) best = rows;
    return best;
}

}  // namespace

// Everything about a size that does not change: shared by all transforms of that size.
struct RealFft::Plans {
    std::unique_ptr<ShortTables> down, across;
    std::vector<float> turns, halves;
    lanes::Plan plan;
    explicit Plans(std::size_t size) {
        const std::size_t half = size / 2, rows = size >= large ? rows_of(half) : 0;
        if (rows == 0 || radices_of(half).empty()) return;
        const std::size_t columns = half / rows;
        down = std::make_unique<ShortTables>(rows);
        across = std::make_unique<ShortTables>(columns);
        turns.resize(2 * half);
        // exp(-2 pi i j / half), j = n2 k1 < half, from two short tables: j = 512 a + b.
        const auto angle_of = [&](std::size_t j) { return -2.0 * std::numbers::pi * static_cast<double>(j) / static_cast<double>(half); };
        std::vector<std::complex<double>> coarse(half / 512 + 1), fine(512);
        for (std::size_t a = 0; a < coarse.size(); ++a) coarse[a] = std::polar(1.0, angle_of(512 * a));
        for (std::size_t b = 0; b < fine.size(); ++b) fine[b] = std::polar(1.0, angle_of(b));
        for (std::size_t n2 = 0; n2 < columns; ++n2)
            for (std::size_t k1 = 0; k1 < rows; ++k1) {
                const std::size_t j = n2 * k1;
                const std::complex<double> w = coarse[j / 512] * fine[j % 512];
                const std::size_t at = (n2 / lanes::width) * lanes::width * rows * 2 + k1 * 2 * lanes::width + n2 % lanes::width;
                turns[at] = static_cast<float>(w.real());
                turns[at + lanes::width] = static_cast<float>(w.imag());
            }
        halves.resize(2 * (half / 2 + 1));
        for (std::size_t k = 0; k <= half / 2; ++k) {
            const double angle = -std::numbers::pi * static_cast<double>(k) / static_cast<double>(half);
            halves[k] = static_cast<float>(std::cos(angle));
            halves[half / 2 + 1 + k] = static_cast<float>(std::sin(angle));
        }
        plan = {rows, columns, down->plan, across->plan, turns.data()};
    }

    [[nodiscard]] bool in_lanes() const { return plan.rows != 0; }

    [[nodiscard]] static std::shared_ptr<const Plans> of(std::size_t size) {
        static std::mutex lock;
        static std::map<std::size_t, std::weak_ptr<const Plans>> kept;
        static std::vector<std::shared_ptr<const Plans>> recent;  // the last few sizes stay, used or not
        const std::scoped_lock guard(lock);
        std::shared_ptr<const Plans> plans = kept[size].lock();
        if (!plans) {
            plans = std::make_shared<const Plans>(size);
            kept[size] = plans;
        }
        if (std::ranges::find(recent, plans) == recent.end()) {
            recent.push_back(plans);
            if (recent.size() > 12) recent.erase(recent.begin());
        }
        return plans;
    }
};

RealFft::RealFft(std::size_t size) : size_(size), plans_(Plans::of(size)) { assert(size >= 2 && size % 2 == 0); }
RealFft::RealFft(RealFft&&) noexcept = default;
RealFft& RealFft::operator=(RealFft&&) noexcept = default;
RealFft::~RealFft() = default;

namespace {

// One complex transform of half the size at a time, and what it needs beside input and output.
class Lanes {
public:
    explicit Lanes(const lanes::Plan& plan) : plan_(plan), half_(plan.rows * plan.columns), stride_((half_ + 15) / 16 * 16) {
        static thread_local Scratch scratch;
        floats_ = scratch.of(8 * stride_ + 6 * lanes::width * std::max(plan.rows, plan.columns));
    }

    // Split arrays of half the size to put things in: 0 to 5.
    [[nodiscard]] float* array(std::size_t n) const { return floats_ + (n + 2) * stride_; }
    [[nodiscard]] std::size_t half() const { return half_; }

    void forward(const float* real, const float* imaginary, std::size_t distance, float* out_real, float* out_imaginary) const {
        functions.transform(plan_, real, imaginary, distance, out_real, out_imaginary, floats_, floats_ + stride_, floats_ + 8 * stride_);
    }
    // The inverse transform is the forward one with real and imaginary parts exchanged on both sides.
    void inverse(const float* real, const float* imaginary, float* out_real, float* out_imaginary) const {
        forward(imaginary, real, 1, out_imaginary, out_real);
    }

    const lanes::Functions& functions = lanes::chosen();

private:
    const lanes::Plan& plan_;
    std::size_t half_, stride_;
    float* floats_ = nullptr;
};

const float* pairs(std::span<const std::complex<float>> spectrum) { return reinterpret_cast<const float*>(spectrum.data()); }

}  // namespace

void RealFft::forward(std::span<const float> time, std::span<std::complex<float>> spectrum) const {
    assert(time.size() <= size_ && spectrum.size() == bins());
    const float* samples = time.data();
    static thread_local Scratch padded;
    if (time.size() < size_) {
        float* const whole = padded.of(size_);
        std::copy(time.begin(), time.end(), whole);
        std::fill(whole + time.size(), whole + size_, 0.0F);
        samples = whole;
    }
    if (!plans_->in_lanes()) {
        kiss_fftr(kiss_plan(size_, false), samples, reinterpret_cast<kiss_fft_cpx*>(spectrum.data()));
        return;
    }
    const Lanes work(plans_->plan);
    work.forward(samples, nullptr, 2, work.array(0), work.array(1));
    work.functions.split(work.half(), plans_->halves.data(), work.array(0), work.array(1), reinterpret_cast<float*>(spectrum.data()));
}

Spectrum RealFft::forward(std::span<const float> time) const {
    Spectrum spectrum(bins());
    forward(time, spectrum);
    return spectrum;
}

void RealFft::inverse(std::span<const std::complex<float>> spectrum, std::span<float> time) const {
    assert(spectrum.size() == bins() && time.size() == size_);
    const float scale = 1.0F / static_cast<float>(size_);
    if (!plans_->in_lanes()) {
        kiss_fftri(kiss_plan(size_, true), reinterpret_cast<const kiss_fft_cpx*>(spectrum.data()), time.data());
        for (float& sample : time) sample *= scale;
        return;
    }
    const Lanes work(plans_->plan);
    // z of half the size, packed so that its real parts are the even and its imaginary parts the odd samples.
    work.functions.join(work.half(), plans_->halves.data(), pairs(spectrum), scale, work.array(0), work.array(1));
    work.inverse(work.array(0), work.array(1), work.array(2), work.array(3));
    work.functions.interleave(work.half(), work.array(2), work.array(3), time.data());
}

std::vector<float> RealFft::inverse(std::span<const std::complex<float>> spectrum) const {
    std::vector<float> time(size_);
    inverse(spectrum, time);
    return time;
}

void RealFft::analytic(std::span<const std::complex<float>> spectrum, std::span<float> real, std::span<float> imaginary) const {
    assert(spectrum.size() == bins() && real.size() == size_ && imaginary.size() == size_);
    if (!plans_->in_lanes()) {
        inverse(spectrum, real);
        Spectrum turned(spectrum.begin(), spectrum.end());
        for (auto& line : turned) line = {line.imag(), -line.real()};
        turned.front() = turned.back() = 0.0F;
        inverse(turned, imaginary);
        return;
    }
    const Lanes work(plans_->plan);
    work.functions.spread(work.half(), plans_->halves.data(), pairs(spectrum), 1.0F / static_cast<float>(size_), work.array(0), work.array(1),
                          work.array(2), work.array(3));
    work.inverse(work.array(0), work.array(1), work.array(4), work.array(5));
    work.inverse(work.array(2), work.array(3), work.array(0), work.array(1));
    work.functions.interleave(work.half(), work.array(4), work.array(0), real.data());
    work.functions.interleave(work.half(), work.array(5), work.array(1), imaginary.data());
}

std::size_t fast_size(std::size_t least) {
    least = std::max<std::size_t>(least, 2);
    // Large sizes in multiples of 128, so that both short lengths fill the lanes.
    const std::size_t unit = least >= large ? 128 : 2;
    std::size_t best = 2;
    while (best < least) best *= 2;
    for (std::size_t five = 1; five * unit < best; five *= 5) {
        for (std::size_t three = five; three * unit < best; three *= 3) {
            std::size_t size = three * unit;
            while (size < least) size *= 2;
            best = std::min(best, size);
        }
    }
    return best;
}

}  // namespace proofwalk::signal
