#include "capture/likeness.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "signal/fft.hpp"
#include "signal/resample.hpp"
#include "units/side_by_side.hpp"

namespace proofwalk::capture {
namespace {

constexpr double least_share = 0.5;       // of a reference worth the name: converters and transformers leave far more
constexpr double clear_difference = 0.15;  // between a reference and a mic that looks like one
constexpr double shortest_loss_s = 0.0005, longest_loss_s = 0.1;
constexpr float half_alike = 0.98f;
constexpr double fitting_share = 0.9;
constexpr double most_drift_ppm = 500.0;

double energy(std::span<const float> samples) {
    double sum = 0.0;
    for (const float sample : samples) sum += static_cast<double>(sample) * static_cast<double>(sample);
    return sum;
}

struct Stretch {
    std::size_t first = 0, end = 0;
};

std::optional<Stretch> sounding(std::span<const float> samples) {
    std::size_t first = 0, end = samples.size();
    while (first < end && samples[first] == 0.0f) ++first;
    while (end > first && samples[end - 1] == 0.0f) --end;
    if (first == end) return std::nullopt;
    return Stretch{first, end};
}

// A peak of a correlation, to a fraction of a sample: the band-limited curve is drawn finer around its largest value.
struct Peak {
    double value = 0.0, lag = 0.0;
};

Peak fine_peak(const std::vector<float>& correlation, std::ptrdiff_t at) {
    constexpr std::ptrdiff_t margin = 32;
    constexpr std::size_t finer = 16;
    const auto size = static_cast<std::ptrdiff_t>(correlation.size());
    std::vector<float> around;
    for (std::ptrdiff_t n = at - margin; n <= at + margin; ++n) around.push_back(correlation[static_cast<std::size_t>(((n % size) + size) % size)]);
    const auto fine = signal::resampled(around, 1.0 / static_cast<double>(finer), around.size() * finer);
    const std::size_t first = (margin - 1) * finer, last = (margin + 1) * finer;
    std::size_t best = first;
    for (std::size_t n = first; n <= last; ++n)
        if (std::fabs(fine[n]) > std::fabs(fine[best])) best = n;
    const double before = std::fabs(fine[best - 1]), there = std::fabs(fine[best]), after = std::fabs(fine[best + 1]);
    const double bend = before - 2.0 * there + after;
    const double fraction = bend < 0.0 ? 0.5 * (before - after) / bend : 0.0;
    return {there, static_cast<double>(at - margin) + (static_cast<double>(best) + fraction) / static_cast<double>(finer)};
}

// Correlates one signal against channels of one length; each transform is made once.
class Correlator {
public:
    struct Heard {
        signal::Spectrum spectrum;
        double energy = 0.0;
    };

    Correlator(std::span<const float> signal, std::size_t channel_length)
        : fft_(signal::fast_size(signal.size() + channel_length)), spectrum_(fft_.forward(signal)), energy_(energy(signal)) {}

    [[nodiscard]] Heard heard(std::span<const float> channel) const { return {fft_.forward(channel), energy(channel)}; }

    [[nodiscard]] std::optional<Likeness> with(const Heard& channel) const {
        if (energy_ <= 0.0 || channel.energy <= 0.0) return std::nullopt;
        const auto correlation = multiplied(spectrum_, channel.spectrum);
        std::size_t best = 0;
        for (std::size_t n = 1; n < correlation.size(); ++n)
            if (std::fabs(correlation[n]) > std::fabs(correlation[best])) best = n;
        const auto size = static_cast<std::ptrdiff_t>(correlation.size());
        auto at = static_cast<std::ptrdiff_t>(best);
        if (at >= size / 2) at -= size;
        const Peak peak = fine_peak(correlation, at);
        return Likeness{std::min(1.0, peak.value / std::sqrt(energy_ * channel.energy)), peak.lag, correlation[best] < 0.0f};
    }

    // The peak of a part of the signal near where the whole was found, in the same polarity. Of several that reach `alike` times
    // the largest, the nearest one: a tone has many.
    [[nodiscard]] Peak near(const signal::Spectrum& part, const Heard& channel, const Likeness& whole, double reach,
                            float alike) const {
        const auto correlation = multiplied(part, channel.spectrum);
        const auto size = static_cast<std::ptrdiff_t>(correlation.size());
        const auto middle = static_cast<std::ptrdiff_t>(std::lround(whole.delay_samples)), width = static_cast<std::ptrdiff_t>(reach);
        const auto value = [&](std::ptrdiff_t n) { 
            const float there = correlation[static_cast<std::size_t>(((n % size) + size) % size)];
            return whole.inverted ? -there : there;
        };
        float most = 0.0f;
        for (std::ptrdiff_t n = middle - width; n <= middle + width; ++n) most = std::max(most, value(n));
        // Short waves may peak between two samples, so every top of some height is looked at closely.
        constexpr float worth_a_look = 0.6f;
        std::vector<Peak> tops;
        double highest = 0.0;
        for (std::ptrdiff_t n = middle - width; n <= middle + width; ++n) {
            const bool top = value(n) >= value(n - 1) && value(n) >= value(n + 1);
            if (!top || value(n) <= 0.0f || value(n) < worth_a_look * most) continue;
            tops.push_back(fine_peak(correlation, n));
            highest = std::max(highest, tops.back().value);
        }
        Peak nearest;
        for (const Peak& top : tops) {
            const bool nearer = std::fabs(top.lag - whole.delay_samples) < std::fabs(nearest.lag - whole.delay_samples);
            if (top.value >= alike * highest && (nearest.value == 0.0 || nearer)) nearest = top;
        }
        return nearest;
    }

private:
    [[nodiscard]] std::vector<float> multiplied(const signal::Spectrum& known, signal::Spectrum cross) const {
        for (std::size_t k = 0; k < cross.size(); ++k) cross[k] *= std::conj(known[k]);
        return fft_.inverse(cross);
    }

    signal::RealFft fft_;
    signal::Spectrum spectrum_;
    double energy_;
};

// One part of a signal in time.
struct SignalPart {
    signal::Spectrum spectrum;
    double middle = 0.0;  // sample when half of it has played
    double weight = 0.0;  // energy times mean square frequency: the inverse variance of a delay
};

// Part `number` of `count` of one length; nothing when the signal is too short for so many.
std::optional<SignalPart> part_of(std::span<const float> signal, const Correlator& correlator, std::size_t number, std::size_t count) {
    const auto extent = sounding(signal);
    if (!extent || extent->end - extent->first < 64 * count) return std::nullopt;
    const std::size_t length = (extent->end - extent->first) / count, first = extent->first + number * length;
    std::vector<float> part(signal.size(), 0.0f);
    std::copy_n(signal.begin() + static_cast<std::ptrdiff_t>(first), length, part.begin() + static_cast<std::ptrdiff_t>(first));
    SignalPart made{correlator.heard(part).spectrum, static_cast<double>(first) + 0.5 * static_cast<double>(length), 0.0};
    for (std::size_t n = 1; n < part.size(); ++n) made.weight += std::pow(static_cast<double>(part[n] - part[n - 1]), 2.0);
    return made;
}

// Where a part was found.
struct Part {
    double middle = 0.0, delay = 0.0;  // samples
    double weight = 0.0;               // see SignalPart
};

std::optional<Part> found_in(const Correlator::Heard& reference, const Likeness& whole, const std::optional<SignalPart>& part, const Correlator& correlator,
                             double reach, float alike) {
    if (!part) return std::nullopt;
    const Peak peak = correlator.near(part->spectrum, reference, whole, reach, alike);
    return peak.value > 0.0 ? std::optional(Part{part->middle, peak.lag, part->weight}) : std::nullopt;
}

// The signal in parts, each with its delay near that of the whole; empty when the reference does not carry it.
std::vector<Part> parts_of(std::span<const float> signal, std::span<const float> reference, std::size_t count, double reach, float alike) {
    const Correlator correlator(signal, reference.size());
    const auto heard = correlator.heard(reference);
    const auto whole = correlator.with(heard);
    if (!whole || whole->share < least_share) return {};
    std::vector<std::optional<Part>> found(count);
    side_by_side(count, [&](std::size_t p) { found[p] = found_in(heard, *whole, part_of(signal, correlator, p, count), correlator, reach, alike); });
    std::vector<Part> parts;
    for (const auto& part : found)
        if (part) parts.push_back(*part);
    return parts;
}

std::optional<double> moved_s(const std::optional<Part>& early, const std::optional<Part>& late, double rate_hz) {
    if (!early || !late) return std::nullopt;
    const double moved = (late->delay - early->delay) / rate_hz;
    return std::fabs(moved) < shortest_loss_s ? std::nullopt : std::optional(moved);
}

// Whether another channel is more like the signal than the named one, of which `share` of the energy is.
std::optional<std::size_t> more_like_it(const Recording& recording, const Correlator& correlator, std::size_t named, double share) {
    if (share > 1.0 - clear_difference) return std::nullopt;  // none can be so much more like it
    std::vector<double> shares(recording.channels.size(), share);
    side_by_side(shares.size(), [&](std::size_t n) {
        if (n == named) return;
        const auto found = correlator.with(correlator.heard(recording.channels[n]));
        shares[n] = found ? found->share : 0.0;
    });
    const auto most_like = static_cast<std::size_t>(std::ranges::max_element(shares) - shares.begin());
    if (most_like == named || shares[most_like] < 0.9 || shares[most_like] - share < clear_difference) return std::nullopt;
    return most_like;
}

// Slope of the weighted straight line through the delays.
double drift_of(const std::vector<Part>& parts) {
    double weight = 0.0, middle = 0.0, delay = 0.0;
    for (const Part& part : parts) {
        weight += part.weight;
        middle += part.weight * part.middle;
        delay += part.weight * part.delay;
    }
    middle /= weight;
    delay /= weight;
    double over = 0.0, under = 0.0;
    for (const Part& part : parts) {
        over += part.weight * (part.middle - middle) * (part.delay - delay);
        under += part.weight * (part.middle - middle) * (part.middle - middle);
    }
    return under > 0.0 ? over / under : 0.0;
}

}  // namespace

std::optional<Likeness> likeness(std::span<const float> signal, std::span<const float> channel) {
    if (signal.empty() || channel.empty()) return std::nullopt;
    const Correlator correlator(signal, channel.size());
    return correlator.with(correlator.heard(channel));
}

std::optional<double> clock_drift_ppm(std::span<const float> signal, std::span<const float> reference, double rate_hz) {
    if (signal.empty() || reference.empty() || !(rate_hz > 0.0)) return std::nullopt;
    constexpr std::size_t parts = 16;
    constexpr int rounds = 5;
    const double reach = 1e-6 * most_drift_ppm * static_cast<double>(signal.size()) + 0.001 * rate_hz;
    // Each round stretches the signal by what was found so far, so that the parts fit better. In the first one all parts weigh
    // the same: those of short waves weigh most, but while they are smeared they may be found a whole wave off.
    double stretch = 1.0;
    for (int round = 0; round < rounds; ++round) {
        const auto length = static_cast<std::size_t>(static_cast<double>(signal.size()) * stretch);
        auto found = parts_of(signal::resampled(signal, 1.0 / stretch, length), reference, parts, reach, 1.0f);
        if (found.size() < parts / 2) return std::nullopt;
        if (round == 0)
            for (Part& part : found) part.weight = 1.0;
        const double more = drift_of(found);
        stretch *= 1.0 + more;
        if (std::fabs(stretch - 1.0) > 2e-6 * most_drift_ppm) return std::nullopt;
        if (std::fabs(more) < 0.05e-6) break;
    }
    // A wrong end is known by a signal that does not fit: better none than a wrong figure.
    const auto length = static_cast<std::size_t>(static_cast<double>(signal.size()) * stretch);
    const auto fits = likeness(signal::resampled(signal, 1.0 / stretch, length), reference);
    if (!fits || fits->share < fitting_share) return std::nullopt;
    return 1e6 * (stretch - 1.0);
}

std::vector<float> signal_at_reference(const Recording& recording) {
    const auto& starts = recording.sheet.starts;
    if (starts.size() < 2 || recording.played.empty() || !recording.sheet.reference || recording.channels.empty()) return recording.played;
    const std::size_t length = recording.channels.front().size();
    std::vector<float> all(length, 0.0f);
    for (const SweepStart& start : starts) {
        const auto at = static_cast<std::size_t>(std::llround(std::max(0.0, start.at_s - starts.front().at_s) * recording.rate_hz));
        for (std::size_t n = 0; n < recording.played.size() && at + n < length; ++n) all[at + n] += recording.played[n];
    }
    const auto& reference = recording.channels[static_cast<std::size_t>(*recording.sheet.reference - 1)];
    const auto with_all = likeness(all, reference), with_first = likeness(recording.played, reference);
    if (with_first && (!with_all || with_first->share > with_all->share)) return recording.played;
    return all;
}

struct ReferenceProbe::Work {
    std::size_t length;
    Correlator correlator;
    std::array<std::optional<SignalPart>, 2> halves = {};
};

ReferenceProbe::ReferenceProbe(std::span<const float> signal, std::size_t channel_length)
    : work_(std::make_unique<Work>(channel_length, Correlator(signal, channel_length))) {
    side_by_side(2, [&](std::size_t half) { work_->halves[half] = part_of(signal, work_->correlator, half, 2); });
}
ReferenceProbe::ReferenceProbe(ReferenceProbe&&) noexcept = default;
ReferenceProbe::~ReferenceProbe() = default;

std::size_t ReferenceProbe::channel_length() const { return work_->length; }

ReferenceCheck ReferenceProbe::check(const Recording& recording) const {
    ReferenceCheck check;
    if (recording.channels.empty() || !recording.sheet.reference) return check;
    const Correlator& correlator = work_->correlator;
    const auto named = static_cast<std::size_t>(*recording.sheet.reference - 1);
    const auto heard = correlator.heard(recording.channels[named]);
    const auto found = correlator.with(heard);
    const double share = found ? found->share : 0.0;
    if (const auto other = more_like_it(recording, correlator, named, share)) {
        check.state = ReferenceState::swapped;
        check.looks_like_reference = static_cast<int>(*other) + 1;
    } else if (share < least_share) {
        check.state = ReferenceState::missing;
    } else {
        std::array<std::optional<Part>, 2> halves;
        side_by_side(2, [&](std::size_t half) {
            halves[half] = found_in(heard, *found, work_->halves[half], correlator, longest_loss_s * recording.rate_hz, half_alike);
        });
        check.moved_s = moved_s(halves[0], halves[1], recording.rate_hz);
    }
    return check;
}

ReferenceCheck check_reference(const Recording& recording) {
    if (recording.played.empty() || recording.channels.empty()) return {};
    return ReferenceProbe(recording.played, recording.channels.front().size()).check(recording);
}

}  // namespace proofwalk::capture
