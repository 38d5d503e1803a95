#include "trials/hall.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numbers>

#include "plan/targets.hpp"
#include "signal/evidence.hpp"
#include "signal/fft.hpp"
#include "trials/horn.hpp"
#include "units/convert.hpp"

namespace proofwalk::trials {
namespace {

constexpr double rate_hz = 48000.0;
constexpr std::size_t samples = 14400;     // 0.3 s
constexpr double lead_s = 0.1, box_level_db = -8.0, sweep_s = 4.0;
constexpr int highest_order = 2;

std::uint64_t model_seed(const Show& show, const plan::Model& model) {
    std::uint64_t seed = show.seed * 1000003;
    for (const char c : model.id) seed = seed * 31 + static_cast<std::uint64_t>(c);
    return seed;
}

Horn horn_of(const Show& show, const plan::Model& model) {
    Dice dice(model_seed(show, model));
    return Horn(model, dice);
}

Voice voice_of(const Show& show, std::size_t box) {
    const plan::Model& model = show.plan.model_of(show.plan.boxes[box]);
    Dice unit(show.seed * 101 + box);
    return Voice(model, model_seed(show, model) + 1, unit, show.hung[box].drivers);
}

constexpr double neper_of_db = std::numbers::ln10 / 20.0;

// Without the standard's care for infinities, which costs more than all the rest.
template <class Real>
std::complex<Real> product(std::complex<Real> a, std::complex<Real> b) {
    return {a.real() * b.real() - a.imag() * b.imag(), a.real() * b.imag() + a.imag() * b.real()};
}

struct Mic {
    double gain_db = 0.0;
    std::array<double, 3> ripple{};
};

struct Image {
    Vec3 at;       // of the mic's image: the box stays, so its pattern is seen along the true ray
    int walls = 0, floors = 0;
};

// Mirror images of the mic in the six walls of the shoebox, up to second order.
std::vector<Image> images(const Hall& hall, Vec3 mic) {
    std::vector<Image> all;
    const auto mirrored = [](double value, double low, double high, int n) {
        const double span = high - low;
        return n % 2 == 0 ? value + n * span : 2.0 * low - value + (n + 1) * span;
    };
    for (int i = -highest_order; i <= highest_order; ++i)
        for (int j = -highest_order; j <= highest_order; ++j)
            for (int k = -highest_order; k <= highest_order; ++k) {
                const int order = std::abs(i) + std::abs(j) + std::abs(k);
                if (order > highest_order) continue;
                // k = -1 is one bounce off the floor, k = +1 one off the ceiling.
                const int floors = k < 0 ? (std::abs(k) + 1) / 2 : std::abs(k) / 2;
                all.push_back({{mirrored(mic.x, hall.low_x, hall.high_x, i), mirrored(mic.y, -hall.high_y, hall.high_y, j),
                                mirrored(mic.z, 0.0, hall.high_z, k)},
                               order - floors, floors});
            }
    return all;
}

class Hearing {
public:
    Hearing(const Show& show) : show_(show), fft_(2 * samples), dice_(show.seed * 7919 + 13) {
        for (std::size_t band = 0; band < band_count; ++band)
            absorption_[band] = acoustics::absorption_db_per_m(show.air, midband_hz(band));
        speed_ = acoustics::speed_of_sound(show.air).value;
        for (const plan::Model& model : show.plan.models) horns_.push_back(horn_of(show, model));
        for (int m = 0; m < show.mics; ++m) {
            Mic mic;
            mic.gain_db = show.plan.rules.mic_match_db * dice_.normal();
            for (double& ripple : mic.ripple) ripple = dice_.between(0.0, 2.0 * std::numbers::pi);
            mics_.push_back(mic);
        }
        for (const plan::Position& position : show.plan.positions) {
            const double u = position.place_u_m.value_or(show.plan.rules.mic_place_m);
            places_.push_back(position.at + Vec3{u * dice_.normal(), u * dice_.normal(), u * dice_.normal()});
        }
        bands_of_bins();
        for (std::size_t i = 0; i < show.hung.size(); ++i) {
            const Voice voice = voice_of(show, i);
            std::vector<std::complex<float>>& own = voices_.emplace_back();
            for (const double hz : hz_) own.emplace_back(voice.at(hz));
        }
        for (const Horn& horn : horns_) tails_.push_back(tail_of(horn));
        for (const Mic& mic : mics_) {
            std::vector<float>& own = ripples_.emplace_back();
            for (const double hz : hz_)
                own.push_back(static_cast<float>(
                    amplitude_of_db(0.3 * std::sin(2.0 * std::log2(hz) + mic.ripple[0]) * std::min(1.0, hz / 4000.0))));
        }
        noise_db_ = noise_level();
    }

    std::vector<verify::TakenReading> readings() {
        std::vector<verify::TakenReading> all;
        for (std::size_t circuit = 0; circuit < show_.hung.size(); ++circuit)
            for (std::size_t place = 0; place < places_.size(); ++place) {
                const plan::Box& planned = show_.plan.boxes[circuit];
                const plan::Position& position = show_.plan.positions[place];
                signal::Bands bands;
                const plan::Model& model = show_.plan.model_of(planned);
                bands = {model.aim_band_hz.low_hz, model.aim_band_hz.high_hz, model.range_hz.low_hz, model.range_hz.high_hz,
                         plan::target(show_.plan, planned, position, show_.plan.air).arrival_s};
                const std::size_t mic = place % mics_.size();
                const std::string take = "t" + std::to_string(1 + circuit + show_.hung.size() * (place / mics_.size()));
                all.push_back({take, planned.circuit, "m" + std::to_string(mic + 1), position.id,
                               signal::read(evidence(circuit, place, mic, *bands.expected_arrival_s), bands)});
            }
        return all;
    }

private:
    void bands_of_bins() {
        const double step = rate_hz / static_cast<double>(fft_.size());
        for (std::size_t bin = 0; bin < fft_.bins(); ++bin) {
            const double hz = std::max(1.0, static_cast<double>(bin) * step);
            const double band = std::clamp(10.0 * std::log10(hz / 1000.0) + 17.0, 0.0, static_cast<double>(band_count - 1) - 1e-9);
            below_.push_back(static_cast<std::size_t>(band));
            share_.push_back(band - std::floor(band));
            hz_.push_back(hz);
        }
    }

    [[nodiscard]] std::vector<double> per_bin(const std::array<double, band_count>& db) const {
        std::vector<double> gain(fft_.bins());
        for (std::size_t bin = 0; bin < gain.size(); ++bin)
            gain[bin] = std::exp(neper_of_db * (db[below_[bin]] * (1.0 - share_[bin]) +
                                                db[std::min(below_[bin] + 1, band_count - 1)] * share_[bin]));
        return gain;
    }

    // What of a horn's sound, mean over all directions, goes into the late sound.
    [[nodiscard]] std::vector<double> tail_of(const Horn& horn) const {
        std::array<double, band_count> db{};
        for (std::size_t band = 0; band < band_count; ++band) {
            double power = 0.0;
            for (int h = -165; h <= 165; h += 30)
                for (int v = -75; v <= 75; v += 30) power += power_of_db(horn.loss_db(h, v, band)) * std::cos(radians(v));
            db[band] = show_.hall.diffuse_db + power_db(power / 46.4) - 0.15 * std::max(0.0, static_cast<double>(band) - 17.0);
        }
        return per_bin(db);
    }

    [[nodiscard]] std::size_t model_of(std::size_t box) const {
        return static_cast<std::size_t>(&show_.plan.model_of(show_.plan.boxes[box]) - show_.plan.models.data());
    }

    // As loud as the ratio asks for beside the middle of what the boxes give at 10 m.
    double noise_level() const { return box_level_db - amplitude_db(10.0) - show_.signal_to_noise_db; }

    signal::Evidence evidence(std::size_t circuit, std::size_t place, std::size_t mic, double expected_s) {
        signal::Evidence evidence;
        const std::size_t box = show_.cable[circuit];
        evidence.first_s = std::floor((expected_s - lead_s) * rate_hz) / rate_hz;
        signal::Spectrum spectrum(fft_.bins());
        if (!show_.hung[circuit].silent) {
            add_box(spectrum, circuit, box, place, mic, evidence.first_s);
            if (show_.joined[circuit]) add_box(spectrum, circuit, *show_.joined[circuit], place, mic, evidence.first_s);
        }
        std::vector<float> time = fft_.inverse(spectrum);
        time.resize(samples);
        // Noise of the room lies in the response as white noise when sweep and noise are both pink.
        const double density_db = noise_db_ - power_db(sweep_s);
        const double amplitude = std::sqrt(power_of_db(density_db) / rate_hz);
        for (float& sample : time) sample += static_cast<float>(amplitude * dice_.normal());
        evidence.impulse = std::move(time);
        for (std::size_t band = 0; band < band_count; ++band) {
            evidence.noise_impulse_db[band] = density_db;
            evidence.noise_db[band] = noise_db_;
            evidence.played_db[band] = -40.0;
        }
        return evidence;
    }

    // One box as it sounds at a place with the signal of a circuit.
    void add_box(signal::Spectrum& sum, std::size_t circuit, std::size_t box, std::size_t place, std::size_t mic, double first_s) {
        const Hung& hung = show_.hung[box];
        if (hung.silent) return;
        // The signal's own gain and delay stay with the circuit, what is wrong at the box stays with the box.
        const plan::Box &own = show_.plan.boxes[box], &driven_by = show_.plan.boxes[circuit];
        const double gain_db = box_level_db + driven_by.gain_db + (hung.gain_db - own.gain_db) + mics_[mic].gain_db +
                               (show_.plan.model_of(own).pattern == plan::Pattern::omni ? 8.0 : 0.0);
        const double delay_s = (driven_by.delay_ms + hung.delay_ms - own.delay_ms + show_.plan.drive_latency_ms.value_or(0.0)) / 1e3;
        signal::Spectrum spectrum(fft_.bins());
        for (const Image& image : images(show_.hall, places_[place])) add_path(spectrum, box, image, delay_s - first_s);
        add_tail(spectrum, box, place, delay_s - first_s);
        const double sign = hung.inverted != show_.plan.model_of(own).inverted ? -1.0 : 1.0;
        const auto gain = static_cast<float>(sign * amplitude_of_db(gain_db));
        for (std::size_t bin = 0; bin < spectrum.size(); ++bin) sum[bin] += product(spectrum[bin], voices_[box][bin]) * (gain * ripples_[mic][bin]);
    }

    void add_path(signal::Spectrum& spectrum, std::size_t box, const Image& image, double after_s) {
        const acoustics::Bearing ray = acoustics::bearing(show_.hung[box].pose, image.at);
        const double arrives_s = ray.distance_m / speed_ + after_s;
        if (arrives_s > 0.95 * static_cast<double>(samples) / rate_hz || arrives_s < 0.0) return;
        std::array<double, band_count> db{};
        for (std::size_t band = 0; band < band_count; ++band) {
            // Walls take more of the treble than of the bass.
            const double tilt = 0.7 + 0.3 * static_cast<double>(band) / 17.0;
            const double wall = std::min(0.9, show_.hall.absorption * tilt), floor = std::min(0.9, show_.hall.floor_absorption * tilt);
            db[band] = horns_[model_of(box)].loss_db(ray.h_deg, ray.v_deg, band) - absorption_[band] * ray.distance_m -
                       amplitude_db(ray.distance_m) + image.walls * power_db(1.0 - wall) +
                       image.floors * power_db(1.0 - floor);
        }
        const std::vector<double> gain = per_bin(db);
        const std::complex<double> turn = std::polar(1.0, -2.0 * std::numbers::pi * rate_hz / static_cast<double>(fft_.size()) * arrives_s);
        std::complex<double> phase = 1.0;
        for (std::size_t bin = 0; bin < spectrum.size(); ++bin) {
            spectrum[bin] += std::complex<float>(gain[bin] * phase);
            phase = product(phase, turn);
        }
    }

    // Late sound: decaying noise that starts once the listed bounces are over; what an omnidirectional box would give,
    // less what the horn keeps off the walls.
    void add_tail(signal::Spectrum& spectrum, std::size_t box, std::size_t place, double after_s) {
        const double direct_s = distance(show_.hung[box].pose.at, places_[place]) / speed_ + after_s;
        const double decay = 6.91 / show_.hall.decay_s;
        std::vector<float> noise(samples);
        const auto start = static_cast<std::size_t>(std::max(0.0, (direct_s + 0.004) * rate_hz));
        const double scale = std::sqrt(2.0 * decay / rate_hz);
        for (std::size_t n = start; n < samples; ++n) {
            const double t = static_cast<double>(n - start) / rate_hz;
            noise[n] = static_cast<float>(scale * (1.0 - std::exp(-t / 0.012)) * std::exp(-decay * t) * dice_.normal());
        }
        const std::vector<double>& gain = tails_[model_of(box)];
        const signal::Spectrum late = fft_.forward(noise);
        for (std::size_t bin = 0; bin < spectrum.size(); ++bin) spectrum[bin] += late[bin] * static_cast<float>(gain[bin]);
    }

    const Show& show_;
    signal::RealFft fft_;
    Dice dice_;
    std::array<double, band_count> absorption_{};
    double speed_ = 343.0, noise_db_ = -60.0;
    std::vector<Horn> horns_;
    std::vector<std::vector<double>> tails_;                // of each model in each bin
    std::vector<std::vector<std::complex<float>>> voices_;  // of each box in each bin
    std::vector<std::vector<float>> ripples_;               // of each mic in each bin
    std::vector<Mic> mics_;
    std::vector<Vec3> places_;
    std::vector<std::size_t> below_;
    std::vector<double> share_, hz_;
};

}  // namespace

std::vector<verify::TakenReading> walk(const Show& show) { return Hearing(show).readings(); }

double true_voice_db(const Show& show, std::size_t box, plan::Band band) {
    const Voice voice = voice_of(show, box);
    const auto [first, last] = bands_inside(band.low_hz, band.high_hz);
    double power = 0.0;
    for (std::size_t third = first; third < last; ++third)
        for (const double part : {-0.3, 0.0, 0.3}) power += std::norm(voice.at(midband_hz(third) * std::pow(10.0, part / 10.0)));
    return power_db(power / static_cast<double>(3 * (last - first)));
}

double true_loss_db(const Show& show, std::size_t box, const acoustics::Pose& pose, Vec3 at) {
    const plan::Model& model = show.plan.model_of(show.plan.boxes[box]);
    const acoustics::Bearing seen = acoustics::bearing(pose, at);
    return horn_of(show, model).loss_db(seen.h_deg, seen.v_deg, model.aim_band_hz);
}

}  // namespace proofwalk::trials
