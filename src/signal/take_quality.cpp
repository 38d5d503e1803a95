#include "signal/take_quality.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

constexpr double stands_out = 6.0;         // power, 8 dB
constexpr std::size_t around_blocks = 200;  // a second to either side
constexpr std::size_t median_every = 8;     // blocks: what is usual changes slowly
constexpr double burst_matters = 0.1;
constexpr double hum_stands_out = 15.8;    // power, 12 dB
constexpr double strays_db = 3.0;

double power_of(std::span<const float> samples) {
    std::array<double, 8> sums{};  // side by side, so that no sum waits for the one before
    const std::size_t whole = samples.size() / sums.size() * sums.size();
    for (std::size_t n = 0; n < whole; n += sums.size())
        for (std::size_t k = 0; k < sums.size(); ++k) sums[k] += static_cast<double>(samples[n + k]) * static_cast<double>(samples[n + k]);
    double sum = 0.0;
    for (const float sample : samples.subspan(whole)) sum += static_cast<double>(sample) * static_cast<double>(sample);
    for (const double part : sums) sum += part;
    return sum;
}

double median_of(std::vector<double> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

}  // namespace

std::vector<float> burst_weights(std::span<const float> left_over, std::size_t samples, std::size_t block, double least_power) {
    std::vector<double> power;
    for (std::size_t start = 0; start + block <= samples; start += block) power.push_back(power_of(left_over.subspan(start, block)));
    std::vector<float> weights(std::max<std::size_t>(power.size(), 1), 1.0F);
    const double least = least_power * static_cast<double>(block);
    for (std::size_t first = 0; first < power.size(); first += median_every) {
        const std::size_t end = std::min(first + median_every, power.size());
        const std::size_t from = first > around_blocks ? first - around_blocks : 0, to = std::min(power.size(), first + around_blocks + 1);
        const std::span<const double> near = std::span(power).subspan(from, to - from);
        // Mostly nothing stands out of the blocks around, which a count tells sooner than a median.
        const double strongest = *std::max_element(power.begin() + static_cast<std::ptrdiff_t>(first), power.begin() + static_cast<std::ptrdiff_t>(end));
        std::uint64_t far_below = 0;
        for (const double other : near) far_below += strongest > stands_out * other ? 1u : 0u;
        if (far_below <= near.size() / 2 || strongest <= stands_out * least) continue;
        const double usual = std::max(median_of({near.begin(), near.end()}), least);
        for (std::size_t n = first; n < end; ++n)
            if (usual > 0.0 && power[n] > stands_out * usual) weights[n] = static_cast<float>(usual / power[n]);
    }
    return weights;
}

bool has_burst(std::span<const float> weights) {
    return std::ranges::any_of(weights, [](float weight) { return static_cast<double>(weight) <= burst_matters; });
}

bool has_hum(std::span<const std::complex<float>> spectrum, double bin_hz) {
    if (bin_hz > 0.8) return false;
    const auto mean_over = [&](double from_hz, double to_hz) {
        double sum = 0.0;
        std::size_t count = 0;
        for (auto bin = static_cast<std::size_t>(std::ceil(from_hz / bin_hz)); bin < spectrum.size() && static_cast<double>(bin) * bin_hz <= to_hz; ++bin, ++count)
            sum += static_cast<double>(std::norm(spectrum[bin]));
        return count > 0 ? sum / static_cast<double>(count) : 0.0;
    };
    for (const double mains_hz : {50.0, 60.0}) {
        int standing = 0;
        for (int multiple = 1; multiple <= 6; ++multiple) {
            const double hz = mains_hz * multiple, half = std::max(0.01 * hz / 2.0, 1.0);
            const double line = mean_over(hz - half, hz + half);
            const double beside = 0.5 * (mean_over(hz - 12.0, hz - half - 2.0) + mean_over(hz + half + 2.0, hz + 12.0));
            if (beside > 0.0 && line > hum_stands_out * beside) ++standing;
        }
        if (standing >= 2) return true;
    }
    return false;
}

bool tail_is_cut(std::span<const float> impulse, double rate_hz, std::size_t noise_samples) {
    const auto block = static_cast<std::size_t>(0.02 * rate_hz);
    if (noise_samples < block || impulse.size() < noise_samples + 4 * block) return false;
    double loudest = 0.0;
    for (std::size_t start = noise_samples; start + block <= impulse.size(); start += block) loudest = std::max(loudest, power_of(impulse.subspan(start, block)));
    const double noise = power_of(impulse.first(noise_samples)) * static_cast<double>(block) / static_cast<double>(noise_samples);
    const double end = 0.5 * power_of(impulse.last(2 * block));
    return end > 4.0 * noise && end > 1e-3 * loudest;
}

bool looks_swapped(std::span<const float> circular, double rate_hz) {
    const auto count = [&](double seconds) { return std::min(static_cast<std::size_t>(seconds * rate_hz), circular.size() / 2); };
    float before = 0.0F, after = 0.0F;
    for (std::size_t lag = count(0.5e-3); lag < count(0.35); ++lag) before = std::max(before, std::abs(circular[circular.size() - lag]));
    for (std::size_t lag = 0; lag < count(1.0); ++lag) after = std::max(after, std::abs(circular[lag]));
    return before > 2.0F * after && after > 0.0F;
}

bool reference_strays(const BandLevels& played_db, double low_hz, double high_hz) {
    std::vector<std::array<double, 2>> points;
    for (std::size_t band = 0; band < band_count; ++band)
        if (played_db.has(band) && lower_edge_hz(band) >= low_hz && upper_edge_hz(band) <= high_hz) points.push_back({static_cast<double>(band), played_db[band]});
    if (points.size() < 6) return false;
    double sum_x = 0.0, sum_y = 0.0, sum_xx = 0.0, sum_xy = 0.0;
    for (const auto& [x, y] : points) {
        sum_x += x;
        sum_y += y;
        sum_xx += x * x;
        sum_xy += x * y;
    }
    const auto n = static_cast<double>(points.size());
    const double slope = (n * sum_xy - sum_x * sum_y) / (n * sum_xx - sum_x * sum_x), base = (sum_y - slope * sum_x) / n;
    return std::ranges::any_of(points, [&](const auto& point) { return std::abs(point[1] - base - slope * point[0]) > strays_db; });
}

}  // namespace proofwalk::signal
