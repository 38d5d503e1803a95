// jobs [SECONDS | profile]: the two timed jobs, one and two threads, and the same with FFTW's measured plans where it is installed.
//   Job A: 8 mics and a reference, 384,000 samples each, to impulse responses and arrivals.
//   Job B: 60 s of noise, 8 mics, 16,384-point blocks overlapped by half, H1 and coherence.
// Prints the least time of all runs in ms, one name and figure a line, for run.sh to hold against the peers.
#include <sys/resource.h>
#include <time.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <random>
#include <string>
#include <thread>
#include <vector>

#include "signal/dual_channel.hpp"
#include "signal/excitation.hpp"
#include "signal/fft.hpp"
#include "signal/measure.hpp"
#ifdef PROOFWALK_FFTW
#include <fftw3.h>
#endif

using namespace proofwalk;
using namespace proofwalk::signal;

namespace {

constexpr std::size_t mics = 8, length = 384000;
constexpr float regularisation = 1e-6F;

double seconds_per_job = 3.0;

// One thread: processor time, which other programs on the machine disturb less; two threads: time on the wall.
double now_ms(int threads) {
    timespec time{};
    clock_gettime(threads == 1 ? CLOCK_PROCESS_CPUTIME_ID : CLOCK_MONOTONIC, &time);
    return 1e3 * static_cast<double>(time.tv_sec) + 1e-6 * static_cast<double>(time.tv_nsec);
}

double least_ms(const std::function<void()>& job, int threads = 1) {
    using Clock = std::chrono::steady_clock;
    double least = 1e9;
    const auto begin = Clock::now();
    do {
        const double start = now_ms(threads);
        job();
        least = std::min(least, now_ms(threads) - start);
    } while (std::chrono::duration<double>(Clock::now() - begin).count() < seconds_per_job);
    return least;
}

void over_mics(int threads, const std::function<void(std::size_t, std::size_t)>& part) {
    if (threads == 1) return part(0, mics);
    std::thread other([&] { part(mics / 2, mics); });
    part(0, mics / 2);
    other.join();
}

struct Data {
    std::vector<float> reference;
    std::vector<std::vector<float>> heard;
};

Data sweeps() {
    Data data;
    data.reference = *exponential_sweep({.length_s = 6.0, .level_dbfs = -12.0});
    data.reference.resize(length, 0.0F);
    std::mt19937 random(1);
    std::normal_distribution<float> normal;
    for (std::size_t mic = 0; mic < mics; ++mic) {
        data.heard.emplace_back(length, 0.0F);
        const std::size_t delay = 900 + 400 * mic;
        for (std::size_t n = delay; n < length; ++n) data.heard[mic][n] = 0.3F * data.reference[n - delay] + 1e-3F * normal(random);
    }
    return data;
}

// What every arrangement does between the transforms: regularised division, and the analytic response's second half.
void divide(const Spectrum& x, const std::vector<float>& inverse_power, Spectrum& y, Spectrum& turned) {
    for (std::size_t bin = 0; bin < x.size(); ++bin) {
        const float xr = x[bin].real(), xi = x[bin].imag(), yr = y[bin].real(), yi = y[bin].imag();
        const float re = (xr * yr + xi * yi) * inverse_power[bin], im = (xr * yi - xi * yr) * inverse_power[bin];
        y[bin] = {re, im};
        if (!turned.empty()) turned[bin] = {im, -re};
    }
}

std::vector<float> inverse_power_of(const Spectrum& x) {
    float largest = 0.0F;
    for (const auto& line : x) largest = std::max(largest, std::norm(line));
    std::vector<float> inverse(x.size());
    for (std::size_t bin = 0; bin < x.size(); ++bin) inverse[bin] = 1.0F / (std::norm(x[bin]) + regularisation * largest);
    return inverse;
}

// Largest of power(n), eight running maxima so that the loop fills a vector.
template <class Power>
std::size_t largest_at(std::size_t count, Power power) {
    float most[8] = {};
    for (std::size_t n = 0; n + 8 <= count; n += 8)
        for (std::size_t k = 0; k < 8; ++k) most[k] = power(n + k) > most[k] ? power(n + k) : most[k];
    const float largest = *std::max_element(most, most + 8);
    std::size_t at = 0;
    while (at < count && power(at) < largest) ++at;
    return at;
}

std::size_t peak_of_envelope(const float* response, const float* turned) {
    return largest_at(length, [=](std::size_t n) { return response[n] * response[n] + turned[n] * turned[n]; });
}

// The largest sample, then the envelope over 4,096 samples around it only.
std::size_t peak_around(const std::vector<float>& response, const RealFft& small) {
    const float* const samples = response.data();
    const std::size_t at = largest_at(length, [=](std::size_t n) { return samples[n] * samples[n]; });
    std::vector<float> part(small.size());
    for (std::size_t n = 0; n < part.size(); ++n) part[n] = response[(at + length + n - part.size() / 2) % length];
    Spectrum spectrum = small.forward(part);
    for (auto& line : spectrum) line = {line.imag(), -line.real()};
    const std::vector<float> turned = small.inverse(spectrum);
    return at + largest_at(part.size(), [&](std::size_t n) { return part[n] * part[n] + turned[n] * turned[n]; });
}

volatile std::size_t kept;

void job_a(const Data& data, bool full_envelope, int threads) {
    const RealFft fft(length), small(4096);
    const Spectrum x = fft.forward(data.reference);
    const std::vector<float> inverse_power = inverse_power_of(x);
    over_mics(threads, [&](std::size_t from, std::size_t to) {
        Spectrum y(fft.bins()), none;
        std::vector<float> response(length), second(full_envelope ? length : 0);
        for (std::size_t mic = from; mic < to; ++mic) {
            fft.forward(data.heard[mic], y);
            divide(x, inverse_power, y, none);
            if (full_envelope) {
                fft.analytic(y, response, second);
                kept = peak_of_envelope(response.data(), second.data());
            } else {
                fft.inverse(y, response);
                kept = peak_around(response, small);
            }
        }
    });
}

void full_chain(const Data& data, int threads) {
    over_mics(threads, [&](std::size_t from, std::size_t to) {
        Samples samples;
        samples.reference = data.reference;
        for (std::size_t mic = from; mic < to; ++mic) samples.mics.push_back({data.heard[mic], {}, {}, 0.0});
        const auto evidence = measure(samples, Bands{});
        for (const Evidence& one : (*evidence)[0]) kept = static_cast<std::size_t>(read(one, Bands{}).gate_s * 1e6);
    });
}

Data noises() {
    Data data;
    std::mt19937 random(2);
    std::normal_distribution<float> normal;
    data.reference.resize(2880000);
    for (float& sample : data.reference) sample = 0.1F * normal(random);
    for (std::size_t mic = 0; mic < mics; ++mic) {
        data.heard.push_back(data.reference);
        for (float& sample : data.heard[mic]) sample += 0.03F * normal(random);
    }
    return data;
}

void job_b(const Data& data, int threads) {
    over_mics(threads, [&](std::size_t from, std::size_t to) {
        std::vector<std::span<const float>> part(data.heard.begin() + static_cast<std::ptrdiff_t>(from), data.heard.begin() + static_cast<std::ptrdiff_t>(to));
        const auto result = dual_channel(data.reference, part, 48000.0, {.block = 16384, .delay_samples = 0});
        kept = static_cast<std::size_t>(result->front().blocks);
    });
}

#ifdef PROOFWALK_FFTW
struct Fftw {
    float* time = fftwf_alloc_real(length);
    fftwf_complex* lines = fftwf_alloc_complex(length / 2 + 1);
    fftwf_plan forward = fftwf_plan_dft_r2c_1d(length, time, lines, FFTW_MEASURE);
    fftwf_plan inverse = fftwf_plan_dft_c2r_1d(length, lines, time, FFTW_MEASURE | FFTW_DESTROY_INPUT);
};

void job_a_fftw(const Data& data, bool full_envelope, Fftw& plans) {
    const RealFft small(4096);
    Spectrum x(length / 2 + 1), y(length / 2 + 1), turned(full_envelope ? length / 2 + 1 : 0);
    std::vector<float> response(length), second(full_envelope ? length : 0);
    const auto forward = [&](const std::vector<float>& samples, Spectrum& out) {
        fftwf_execute_dft_r2c(plans.forward, const_cast<float*>(samples.data()), reinterpret_cast<fftwf_complex*>(out.data()));
    };
    forward(data.reference, x);
    std::vector<float> inverse_power = inverse_power_of(x);
    for (float& value : inverse_power) value /= static_cast<float>(length);
    for (std::size_t mic = 0; mic < mics; ++mic) {
        forward(data.heard[mic], y);
        divide(x, inverse_power, y, turned);
        fftwf_execute_dft_c2r(plans.inverse, reinterpret_cast<fftwf_complex*>(y.data()), response.data());
        if (full_envelope) {
            fftwf_execute_dft_c2r(plans.inverse, reinterpret_cast<fftwf_complex*>(turned.data()), second.data());
            kept = peak_of_envelope(response.data(), second.data());
        } else {
            kept = peak_around(response, small);
        }
    }
}
#endif

}  // namespace

int main(int argc, char** argv) {
    std::setvbuf(stdout, nullptr, _IOLBF, 0);
    if (argc > 1 && std::string(argv[1]) == "profile") {
        full_chain(sweeps(), 1);
        return 0;
    }
    if (argc > 1) seconds_per_job = std::atof(argv[1]);
    {
        const Data data = sweeps();
        job_a(data, true, 1);
        rusage usage{};
        getrusage(RUSAGE_SELF, &usage);
        std::printf("job-a-peak-mib %.1f\n", static_cast<double>(usage.ru_maxrss) / 1024.0);
        for (const int threads : {1, 2}) {
            std::printf("job-a-full-%d %.2f\n", threads, least_ms([&] { job_a(data, true, threads); }, threads));
            std::printf("job-a-peak-%d %.2f\n", threads, least_ms([&] { job_a(data, false, threads); }, threads));
            std::printf("chain-%d %.2f\n", threads, least_ms([&] { full_chain(data, threads); }, threads));
        }
#ifdef PROOFWALK_FFTW
        Fftw plans;
        std::printf("fftw-a-full-1 %.2f\n", least_ms([&] { job_a_fftw(data, true, plans); }));
        std::printf("fftw-a-peak-1 %.2f\n", least_ms([&] { job_a_fftw(data, false, plans); }));
        std::printf("# %s\n", fftwf_version);
#endif
    }
    const Data data = noises();
    for (const int threads : {1, 2}) std::printf("job-b-%d %.2f\n", threads, least_ms([&] { job_b(data, threads); }, threads));
    return 0;
}
