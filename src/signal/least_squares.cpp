#include "signal/least_squares.hpp"

#include <algorithm>
#include <cmath>

#include "signal/take_quality.hpp"

namespace proofwalk::signal {

namespace {

constexpr int first_rounds = 6;
constexpr int second_rounds = 10;
constexpr double block_s = 0.005;
constexpr double damping = 1e-4;       // of the diagonal
constexpr double enough = 1e-5;        // relative residual of the normal equations

double dot(std::span<const float> a, std::span<const float> b) {
    double sum = 0.0;
    for (std::size_t n = 0; n < a.size(); ++n) sum += static_cast<double>(a[n]) * static_cast<double>(b[n]);
    return sum;
}

class Problem {
public:
    Problem(const Excitation& excitation, std::span<const float> mic, std::ptrdiff_t first_lag, std::size_t taps)
        : fft_(excitation.fft()), first_lag_(first_lag), taps_(taps), gain_(excitation.whitening()), whitened_(excitation.spectrum()),
          samples_(mic.size()), work_(fft_.size()), spectrum_(fft_.bins()) {
        for (std::size_t bin = 0; bin < whitened_.size(); ++bin) whitened_[bin] *= gain_[bin];
        fft_.forward(mic, spectrum_);
        for (std::size_t bin = 0; bin < spectrum_.size(); ++bin) spectrum_[bin] *= gain_[bin];
        target_.resize(fft_.size());
        fft_.inverse(spectrum_, target_);
        weights_.assign(fft_.size(), 0.0F);
        std::fill_n(weights_.begin(), samples_, 1.0F);
    }

    // y - x * h, whitened.
    void left_over(std::span<const float> impulse, std::vector<float>& out) {
        predict(impulse, out);
        for (std::size_t n = 0; n < out.size(); ++n) out[n] = target_[n] - out[n];
    }

    void set_weights(std::span<const float> block_weights, std::size_t block) {
        for (std::size_t n = 0; n < samples_; ++n) weights_[n] = block_weights[std::min(n / block, block_weights.size() - 1)];
    }

    void solve(std::vector<float>& impulse, int rounds) {
        std::vector<float> residual(taps_), direction, product(taps_);
        left_over(impulse, work_);
        correlate(work_, residual);
        const double diagonal = damping_of();
        for (std::size_t n = 0; n < taps_; ++n) residual[n] -= static_cast<float>(diagonal) * impulse[n];
        direction = residual;
        double power = dot(residual, residual);
        const double begin = power;
        for (int round = 0; round < rounds && power > enough * enough * begin; ++round) {
            predict(direction, work_);
            correlate(work_, product);
            for (std::size_t n = 0; n < taps_; ++n) product[n] += static_cast<float>(diagonal) * direction[n];
            const double curvature = dot(direction, product);
            if (!(curvature > 0.0)) break;
            const auto step = static_cast<float>(power / curvature);
            for (std::size_t n = 0; n < taps_; ++n) {
                impulse[n] += step * direction[n];
                residual[n] -= step * product[n];
            }
            const double next = dot(residual, residual);
            const auto keep = static_cast<float>(next / power);
            for (std::size_t n = 0; n < taps_; ++n) direction[n] = residual[n] + keep * direction[n];
            power = next;
        }
    }

    // The same without whitening: what the response leaves of the mic's samples.
    std::vector<float> plain_left_over(std::span<const float> impulse, std::span<const float> mic, const Spectrum& reference) {
        place(impulse);
        fft_.forward(work_, spectrum_);
        for (std::size_t bin = 0; bin < spectrum_.size(); ++bin) spectrum_[bin] *= reference[bin];
        fft_.inverse(spectrum_, work_);
        std::vector<float> rest(mic.begin(), mic.end());
        for (std::size_t n = 0; n < rest.size(); ++n) rest[n] -= work_[n];
        return rest;
    }

private:
    [[nodiscard]] double damping_of() const {
        double sum = 0.0;
        for (const auto& line : whitened_) sum += static_cast<double>(std::norm(line));
        return damping * 2.0 * sum / static_cast<double>(fft_.size());
    }

    void place(std::span<const float> impulse) {
        std::ranges::fill(work_, 0.0F);
        const auto size = static_cast<std::ptrdiff_t>(fft_.size());
        for (std::size_t n = 0; n < impulse.size(); ++n) {
            const std::ptrdiff_t lag = ((first_lag_ + static_cast<std::ptrdiff_t>(n)) % size + size) % size;
            work_[static_cast<std::size_t>(lag)] = impulse[n];
        }
    }

    void predict(std::span<const float> impulse, std::vector<float>& out) {
        place(impulse);
        fft_.forward(work_, spectrum_);
        for (std::size_t bin = 0; bin < spectrum_.size(); ++bin) spectrum_[bin] *= whitened_[bin];
        out.resize(fft_.size());
        fft_.inverse(spectrum_, out);
    }

    // The taps of the correlation of the weighted samples with the whitened reference.
    void correlate(std::vector<float>& samples, std::span<float> taps) {
        for (std::size_t n = 0; n < samples.size(); ++n) samples[n] *= weights_[n];
        fft_.forward(samples, spectrum_);
        for (std::size_t bin = 0; bin < spectrum_.size(); ++bin) spectrum_[bin] *= std::conj(whitened_[bin]);
        fft_.inverse(spectrum_, samples);
        const auto size = static_cast<std::ptrdiff_t>(fft_.size());
        for (std::size_t n = 0; n < taps.size(); ++n) {
            const std::ptrdiff_t lag = ((first_lag_ + static_cast<std::ptrdiff_t>(n)) % size + size) % size;
            taps[n] = samples[static_cast<std::size_t>(lag)];
        }
    }

    const RealFft& fft_;
    std::ptrdiff_t first_lag_;
    std::size_t taps_;
    const std::vector<float>& gain_;
    Spectrum whitened_;
    std::size_t samples_;
    std::vector<float> work_, target_, weights_;
    Spectrum spectrum_;
};

}  // namespace

LeastSquaresResponse least_squares_response(const Excitation& excitation, std::span<const float> mic, std::ptrdiff_t first_lag,
                                            std::size_t taps) {
    LeastSquaresResponse response;
    response.block = static_cast<std::size_t>(block_s * excitation.rate_hz());
    Problem problem(excitation, mic, first_lag, taps);
    response.impulse.assign(taps, 0.0F);
    problem.solve(response.impulse, first_rounds);

    std::vector<float> rest;
    problem.left_over(response.impulse, rest);
    response.weights = burst_weights(rest, mic.size(), response.block);
    problem.set_weights(response.weights, response.block);
    problem.solve(response.impulse, second_rounds);
    response.left_over = problem.plain_left_over(response.impulse, mic, excitation.spectrum());

    const auto begins = static_cast<std::size_t>(excitation.begins_s() / block_s), ends = static_cast<std::size_t>(excitation.ends_s() / block_s);
    double sum = 0.0;
    std::size_t count = 0;
    for (std::size_t n = begins; n < std::min(ends, response.weights.size()); ++n, ++count) sum += static_cast<double>(response.weights[n]);
    if (count > 0) response.weighted_share = sum / static_cast<double>(count);
    return response;
}

}  // namespace proofwalk::signal
