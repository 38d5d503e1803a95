#include "signal/room.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "signal/fft.hpp"

namespace proofwalk::test {

namespace {

using Complex = std::complex<double>;
constexpr double pi = std::numbers::pi;
constexpr double sound_m_per_s = 343.0;

class Chance {
public:
    explicit Chance(std::uint64_t seed) : bits_(seed * 0x9E3779B97F4A7C15ull + 12345) { bits_.discard(16); }
    double between(double low, double high) { return low + (high - low) * static_cast<double>(bits_() >> 11) * 0x1.0p-53; }
    double normal() { return std::sqrt(-2.0 * std::log(between(1e-300, 1.0))) * std::cos(between(0.0, 2.0 * pi)); }
    bool once_in(double n) { return between(0.0, n) < 1.0; }

private:
    std::mt19937_64 bits_;
};

double amplitude(double db) { return std::pow(10.0, db / 20.0); }

// Analogue Butterworth low pass of an order, at s = jf (frequencies in Hz).
Complex low_pass(double f, double cut, int order) {
    const Complex s(0.0, f / cut);
    Complex h = 1.0;
    for (int k = 0; k < order / 2; ++k) {
        const double q = 2.0 * std::cos(pi * (2.0 * k + 1.0) / (2.0 * order) + (order % 2 == 0 ? 0.0 : pi / (2.0 * order)));
        h /= s * s + std::abs(q) * s + 1.0;
    }
    if (order % 2 == 1) h /= s + 1.0;
    return h;
}

Complex high_pass(double f, double cut, int order) {
    if (f <= 0.0) return 0.0;
    return std::conj(low_pass(cut, f, order));  // s -> 1/s
}

// Peak or dip of a minimum-phase equaliser section.
Complex bell(double f, double at, double gain_db, double q) {
    const Complex s(0.0, f / at);
    const double a = std::sqrt(amplitude(gain_db));
    return (s * s + s * (a / q) + 1.0) / (s * s + s / (a * q) + 1.0);
}

struct Box {
    double crossover_hz, low_hz, high_hz;
    int low_order, high_order;
    std::vector<std::array<double, 3>> bells;
};

Complex box_response(const Box& box, const RoomSettings& settings, double f) {
    Complex h = high_pass(f, box.low_hz, box.low_order) * low_pass(f, box.high_hz, box.high_order);
    if (settings.crossover) {
        const Complex low = low_pass(f, box.crossover_hz, 2) * low_pass(f, box.crossover_hz, 2);
        const Complex high = high_pass(f, box.crossover_hz, 2) * high_pass(f, box.crossover_hz, 2);
        h *= (settings.dead_low ? 0.0 : 1.0) * low + (settings.dead_high ? 0.0 : 1.0) * high;
    }
    for (const auto& [at, gain_db, q] : box.bells) h *= bell(f, at, gain_db, q);
    return h;
}

double air_db_per_m(double f) { return 0.0275 * std::pow(f / 4000.0, 1.8) + 0.0003; }

double band_power(const std::vector<Complex>& h, double bin_hz, double low_hz, double high_hz) {
    double sum = 0.0, weights = 0.0;
    for (auto bin = static_cast<std::size_t>(std::ceil(low_hz / bin_hz)); bin < h.size() && static_cast<double>(bin) * bin_hz <= high_hz; ++bin) {
        const double weight = 1.0 / static_cast<double>(bin);
        sum += weight * std::norm(h[bin]);
        weights += weight;
    }
    return weights > 0.0 ? sum / weights : std::nan("");
}

}  // namespace

Room make_room(const RoomSettings& settings, std::uint64_t seed) {
    Chance chance(seed);
    Room room;
    room.settings = settings;
    const std::size_t lines = settings.samples / 2 + 1;
    const double bin_hz = settings.rate_hz / static_cast<double>(settings.samples);

    Box box;
    box.crossover_hz = chance.between(900.0, 2200.0);
    box.low_hz = settings.sub ? chance.between(28.0, 36.0) : settings.range_low_hz * chance.between(0.8, 1.1);
    box.high_hz = settings.sub ? chance.between(90.0, 110.0) : std::min(settings.range_high_hz * chance.between(0.95, 1.25), 23000.0);
    box.low_order = chance.once_in(2) ? 4 : 2;
    box.high_order = settings.sub ? 4 : (chance.once_in(2) ? 2 : 3);
    const int bells = settings.sub ? 2 : 8;
    for (int n = 0; n < bells; ++n) {
        const double low = std::log(box.low_hz * 1.5), high = std::log(std::min(box.high_hz, 15000.0));
        box.bells.push_back({std::exp(chance.between(low, high)), 1.3 * chance.normal(), chance.between(1.0, 4.0)});
    }
    room.polarity = chance.once_in(3) ? -1 : 1;

    // Geometry: box over the floor, mic at 1.2 m.
    const double across_m = chance.between(3.0, 35.0), height_m = chance.between(1.5, 8.0), mic_m = 1.2;
    const double distance_m = std::hypot(across_m, height_m - mic_m), image_m = std::hypot(across_m, height_m + mic_m);
    const double latency_s = chance.between(0.5e-3, 4e-3);
    room.arrival_s = latency_s + distance_m / sound_m_per_s;
    const double off_axis_db = chance.once_in(2) ? chance.between(-9.0, 0.0) : 0.0;

    struct Path {
        double after_s, gain, loss_db_at_10k, metres;
    };
    std::vector<Path> paths;
    room.bounce_after_s = (image_m - distance_m) / sound_m_per_s;
    if (!settings.free_field) {
        paths.push_back({room.bounce_after_s, chance.between(0.6, 0.95) * amplitude(chance.between(-6.0, 0.0) - std::min(0.0, off_axis_db / 2.0)) * distance_m / image_m,
                         chance.between(0.0, 4.0), image_m - distance_m});
        const int sides = 6;
        for (int n = 0; n < sides; ++n) {
            const double further_m = std::exp(chance.between(std::log(1.5), std::log(16.0)));
            const double sign = chance.once_in(6) ? -1.0 : 1.0;
            paths.push_back({further_m / sound_m_per_s,
                             sign * amplitude(chance.between(-16.0, -3.0) - std::max(off_axis_db, -6.0)) * distance_m / (distance_m + further_m),
                             chance.between(0.0, 8.0), further_m});
        }
    }
    for (const Path& path : paths)
        if (const double db = 20.0 * std::log10(std::abs(path.gain)); db > room.strongest_db) {
            room.strongest_db = db;
            room.strongest_after_s = path.after_s;
        }
    room.bounce_db = paths.empty() ? -100.0 : 20.0 * std::log10(paths.front().gain);

    room.direct.resize(lines);
    room.whole.resize(lines);
    const double mic_top_hz = chance.between(22000.0, 40000.0);
    for (std::size_t bin = 1; bin < lines; ++bin) {
        const double f = static_cast<double>(bin) * bin_hz;
        const double off_axis = amplitude(off_axis_db * std::min(1.0, f / 1500.0) - air_db_per_m(f) * distance_m) / distance_m;
        const Complex through = box_response(box, settings, f) * low_pass(f, mic_top_hz, 1) * (static_cast<double>(room.polarity) * off_axis) *
                                std::polar(1.0, -2.0 * pi * f * room.arrival_s);
        room.direct[bin] = through;
        Complex sum = 1.0;
        for (const Path& path : paths)
            sum += path.gain * amplitude(-path.loss_db_at_10k * std::min(2.0, f / 10000.0) - air_db_per_m(f) * path.metres) *
                   std::polar(1.0, -2.0 * pi * f * path.after_s);
        room.whole[bin] = through * sum;
    }

    if (!settings.free_field) {
        // Diffuse tail: decaying noise through the box's own response, shorter at high frequencies.
        const double decay_s = chance.between(0.5, 1.8), starts_s = room.arrival_s + chance.between(0.006, 0.02);
        const signal::RealFft fft(settings.samples);
        std::vector<float> tail(settings.samples, 0.0F);
        for (std::size_t n = static_cast<std::size_t>(starts_s * settings.rate_hz); n < tail.size(); ++n) {
            const double t = static_cast<double>(n) / settings.rate_hz - starts_s;
            if (t > 1.5 * decay_s) break;
            tail[n] = static_cast<float>(chance.normal() * std::exp(-6.9 * t / decay_s) * std::min(1.0, t / 0.01));
        }
        const signal::Spectrum spectrum = fft.forward(tail);
        double tail_power = 0.0, direct_power = 0.0;
        std::vector<Complex> diffuse(lines);
        for (std::size_t bin = 1; bin < lines; ++bin) {
            const double f = static_cast<double>(bin) * bin_hz;
            diffuse[bin] = Complex(spectrum[bin]) * std::abs(box_response(box, settings, f)) / std::sqrt(1.0 + std::pow(f / 3000.0, 2));
            if (f > 500.0 && f < 2000.0) {
                tail_power += std::norm(diffuse[bin]);
                direct_power += std::norm(room.direct[bin]);
            }
        }
        const double gain = tail_power > 0.0 ? std::sqrt(direct_power / tail_power) * amplitude(chance.between(-6.0, 6.0)) : 0.0;
        for (std::size_t bin = 1; bin < lines; ++bin) room.whole[bin] += gain * diffuse[bin];
    }

    double sum = 0.0;
    int count = 0;
    const auto [first, last] = bands_inside(settings.aim_low_hz, settings.aim_high_hz);
    for (std::size_t band = 0; band < band_count; ++band) {
        const double power = band_power(room.direct, bin_hz, lower_edge_hz(band), upper_edge_hz(band));
        room.direct_db[band] = 10.0 * std::log10(power);
        room.whole_db[band] = 10.0 * std::log10(band_power(room.whole, bin_hz, lower_edge_hz(band), upper_edge_hz(band)));
        if (band >= first && band < last) {
            sum += power;
            ++count;
        }
    }
    room.direct_aim_db = count > 0 ? 10.0 * std::log10(sum / count) : 0.0;
    return room;
}

std::vector<float> record(const Room& room, const std::vector<float>& played, const NoiseOptions& options, std::uint64_t seed) {
    const RoomSettings& settings = room.settings;
    Chance chance(seed ^ 0x5bd1e995u);
    const signal::RealFft fft(settings.samples);
    const double bin_hz = settings.rate_hz / static_cast<double>(settings.samples);
    signal::Spectrum heard = fft.forward(played);
    signal::Spectrum noise(heard.size());
    double signal_power = 0.0, noise_power = 0.0;
    for (std::size_t bin = 1; bin < heard.size(); ++bin) {
        const double f = static_cast<double>(bin) * bin_hz;
        heard[bin] = std::complex<float>(Complex(heard[bin]) * room.whole[bin]);
        noise[bin] = std::complex<float>(Complex(chance.normal(), chance.normal()) / std::sqrt(std::max(f, 10.0)));
        if (f >= settings.aim_low_hz && f <= settings.aim_high_hz) {
            signal_power += std::norm(heard[bin]);
            noise_power += std::norm(noise[bin]);
        }
    }
    std::size_t sounding = played.size();
    while (sounding > 1 && played[sounding - 1] == 0.0F) --sounding;
    // The noise lasts the whole take, the signal only its own length.
    const double share = static_cast<double>(sounding) / static_cast<double>(settings.samples);
    const double gain = noise_power > 0.0 ? std::sqrt(signal_power / share / noise_power) * amplitude(-options.aim_snr_db) : 0.0;
    for (std::size_t bin = 0; bin < heard.size(); ++bin) heard[bin] += noise[bin] * static_cast<float>(gain);
    std::vector<float> samples = fft.inverse(heard);
    double peak = 0.0;
    for (float sample : samples) peak = std::max(peak, std::abs(static_cast<double>(sample)));
    for (int knock = 0; knock < options.knocks; ++knock) {
        const double at = chance.between(0.1, 0.9) * static_cast<double>(sounding), tone_hz = chance.between(200.0, 3000.0);
        const double height = peak * chance.between(0.5, 2.0), lasts = chance.between(0.01, 0.05);
        for (auto n = static_cast<std::size_t>(at); n < samples.size() && static_cast<double>(n) - at < 6.0 * lasts * settings.rate_hz; ++n) {
            const double t = (static_cast<double>(n) - at) / settings.rate_hz;
            samples[n] += static_cast<float>(height * std::exp(-t / lasts) * (0.7 * std::sin(2.0 * pi * tone_hz * t) + 0.3 * chance.normal()));
        }
    }
    return samples;
}

}  // namespace proofwalk::test
