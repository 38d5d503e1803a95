#include "signal/repeats.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "units/convert.hpp"

namespace proofwalk::signal {

namespace {

constexpr double block_s = 0.01;
constexpr double stands_out = 15.8;  // power, 12 dB

double median_of(std::vector<double> values) {
    if (values.empty()) return 0.0;
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

float median_sample(std::span<const std::span<const float>> repeats, std::size_t n, std::vector<float>& work) {
    work.clear();
    for (const auto& repeat : repeats) work.push_back(repeat[n]);
    std::ranges::sort(work);
    return 0.5F * (work[(work.size() - 1) / 2] + work[work.size() / 2]);
}

double power_of(std::span<const float> samples, std::size_t start, std::size_t count) {
    double sum = 0.0;
    for (std::size_t n = start; n < start + count; ++n) sum += static_cast<double>(samples[n]) * static_cast<double>(samples[n]);
    return sum / static_cast<double>(count);
}

}  // namespace

Result<AveragedRepeats> averaged_repeats(std::span<const std::span<const float>> repeats, double rate_hz) {
    const auto refused = [](std::string reason) {
        return std::unexpected(Fault{FaultKind::input, {}, "repeats", std::move(reason), "record the repeats in one go"});
    };
    if (repeats.empty() || repeats.front().empty() || !(rate_hz > 0.0)) return refused("there is nothing to average");
    const std::size_t length = repeats.front().size();
    for (const auto& repeat : repeats)
        if (repeat.size() != length) return refused("the repeats are not of one length");

    AveragedRepeats result;
    const std::size_t block = std::min(static_cast<std::size_t>(std::max(block_s * rate_hz, 1.0)), length), blocks = length / block;
    std::vector<float> middle(length), work;
    for (std::size_t n = 0; n < length; ++n) middle[n] = median_sample(repeats, n, work);

    std::vector<std::vector<double>> differences(repeats.size(), std::vector<double>(blocks));
    std::vector<float> difference(length);
    for (std::size_t repeat = 0; repeat < repeats.size(); ++repeat) {
        for (std::size_t n = 0; n < length; ++n) difference[n] = repeats[repeat][n] - middle[n];
        for (std::size_t k = 0; k < blocks; ++k) differences[repeat][k] = power_of(difference, k * block, block);
    }
    for (std::size_t repeat = 0; repeat < repeats.size(); ++repeat) {
        const double usual = median_of(differences[repeat]);
        const auto worst = static_cast<std::size_t>(std::ranges::max_element(differences[repeat]) - differences[repeat].begin());
        bool hit = repeats.size() > 1 && differences[repeat][worst] > stands_out * usual && usual > 0.0;
        // Between two repeats the difference is shared: only the louder one was hit.
        if (hit && repeats.size() == 2) hit = power_of(repeats[repeat], worst * block, block) > power_of(repeats[1 - repeat], worst * block, block);
        if (!hit || result.rejected.size() + 1 >= repeats.size()) {
            result.used.push_back(repeat);
            continue;
        }
        RejectedRepeat rejected{repeat, static_cast<double>(worst * block) / rate_hz, power_db(differences[repeat][worst] / usual), {}};
        char text[160];
        std::snprintf(text, sizeof text, "repeat %zu left out: a burst at %.2f s stands %.0f dB above what the repeats differ by", repeat + 1, rejected.at_s, rejected.above_db);
        rejected.why = text;
        result.rejected.push_back(std::move(rejected));
    }
    result.mean.assign(length, 0.0F);
    const auto share = 1.0F / static_cast<float>(result.used.size());
    for (const std::size_t repeat : result.used)
        for (std::size_t n = 0; n < length; ++n) result.mean[n] += share * repeats[repeat][n];
    return result;
}

}  // namespace proofwalk::signal
