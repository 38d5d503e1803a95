#include "acoustics/hang_field.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

constexpr double lowest_line_hz = 62.5;
constexpr double angle_step_deg = 0.5;
constexpr std::size_t angle_count = 361;  // -90 .. 90
constexpr std::size_t farthest_m = 400;

}  // namespace

double hang_line_hz(std::size_t line) { return lowest_line_hz * std::pow(2.0, static_cast<double>(line) / lines_per_octave); }

HangModel::HangModel(const HangDesign& design) : design_(design), speed_(speed_of_sound(design.air).value) {
    gain_.resize(angle_count * line_count);
    air_.resize((farthest_m + 2) * line_count);
    for (std::size_t line = 0; line < line_count; ++line) {
        const double hz = hang_line_hz(line), absorption = absorption_db_per_m(design.air, hz);
        for (std::size_t i = 0; i < angle_count; ++i)
            gain_[i * line_count + line] = static_cast<float>(amplitude_of_db(design.box->loss_db(0.0, angle_step_deg * static_cast<double>(i) - 90.0, hz)));
        for (std::size_t metre = 0; metre < farthest_m + 2; ++metre)
            air_[metre * line_count + line] = static_cast<float>(amplitude_of_db(-absorption * static_cast<double>(metre)));
    }
    const auto middle_hz = [](std::size_t band) { return std::sqrt(hang_line_hz(2 * band) * hang_line_hz(2 * band + 1)); };
    while (first_band_ + 1 < hang_bands && middle_hz(first_band_) < design.low_hz) ++first_band_;
    while (last_band_ > first_band_ + 1 && middle_hz(last_band_ - 1) > design.high_hz) --last_band_;
}

HangModel::BoxPlace HangModel::place_below(const BoxPlace* above, double tilt_deg) const {
    BoxPlace box;
    box.tilt_deg = tilt_deg;
    box.top_height_m = design_.trim_m;
    if (above != nullptr) {
        box.top_ahead_m = 2.0 * above->ahead_m - above->top_ahead_m;
        box.top_height_m = 2.0 * above->height_m - above->top_height_m;
    }
    const double half = 0.5 * design_.box_height_m;
    box.ahead_m = box.top_ahead_m + half * std::sin(radians(tilt_deg));  // down along the box's own height
    box.height_m = box.top_height_m - half * std::cos(radians(tilt_deg));
    return box;
}

void HangModel::add(const BoxPlace& box, Field& field) const {
    for (std::size_t ear = 0; ear < design_.ears.size(); ++ear) {
        const double ahead = design_.ears[ear].ahead_m - box.ahead_m, up = design_.ears[ear].height_m - box.height_m;
        const double path = std::max(std::hypot(ahead, up), 0.1);
        const double off = std::clamp(wrapped_deg(degrees(std::atan2(up, ahead)) - box.tilt_deg), -90.0, 90.0);
        const double step = std::min((off + 90.0) / angle_step_deg, angle_count - 1.001);
        const auto angle = static_cast<std::size_t>(step);
        const auto between = static_cast<float>(step - static_cast<double>(angle));
        const double reach = std::min(path, static_cast<double>(farthest_m));
        const auto metre = static_cast<std::size_t>(reach);
        const auto part = static_cast<float>(reach - static_cast<double>(metre));
        const float* gain_low = gain_.data() + angle * line_count;
        const float* gain_high = gain_low + line_count;
        const float* air_low = air_.data() + metre * line_count;
        const float* air_high = air_low + line_count;

        // One octave of phases by sine and cosine; each octave above doubles the phase, so it squares the phasor.
        std::array<float, line_count> real, imaginary;
        for (std::size_t line = 0; line < lines_per_octave; ++line) {
            const double turns = hang_line_hz(line) * path / speed_;
            const auto phase = static_cast<float>(-2.0 * std::numbers::pi * (turns - std::floor(turns)));
            real[line] = std::cos(phase);
            imaginary[line] = std::sin(phase);
        }
        for (std::size_t line = lines_per_octave; line < line_count; ++line) {
            const float c = real[line - lines_per_octave], s = imaginary[line - lines_per_octave];
            real[line] = c * c - s * s;
            imaginary[line] = 2.0f * c * s;
        }
        const auto spread = static_cast<float>(1.0 / path);
        float* out_real = field.real.data() + ear * line_count;
        float* out_imaginary = field.imaginary.data() + ear * line_count;
        for (std::size_t line = 0; line < line_count; ++line) {
            const float gain = gain_low[line] + between * (gain_high[line] - gain_low[line]);
            const float air = air_low[line] + part * (air_high[line] - air_low[line]);
            const float amplitude = spread * gain * air;
            out_real[line] += amplitude * real[line];
            out_imaginary[line] += amplitude * imaginary[line];
        }
    }
}

void HangModel::band_levels(const Field& field, std::vector<double>& levels) const {
    const std::size_t bands = last_band_ - first_band_;
    levels.resize(design_.ears.size() * bands);
    for (std::size_t ear = 0; ear < design_.ears.size(); ++ear)
        for (std::size_t band = 0; band < bands; ++band) {
            const std::size_t line = ear * line_count + 2 * (first_band_ + band);
            const float power = 0.5f * (field.real[line] * field.real[line] + field.imaginary[line] * field.imaginary[line] +
                                        field.real[line + 1] * field.real[line + 1] + field.imaginary[line + 1] * field.imaginary[line + 1]);
            levels[ear * bands + band] = 10.0 * static_cast<double>(std::log10(std::max(power, 1e-20f)));
        }
}

double HangModel::unevenness_db(const Field& field) const {
    thread_local std::vector<double> levels;
    band_levels(field, levels);
    const std::size_t bands = last_band_ - first_band_, ears = design_.ears.size();
    double squares = 0.0;
    for (std::size_t band = 0; band < bands; ++band) {
        double sum = 0.0, sum2 = 0.0;
        for (std::size_t ear = 0; ear < ears; ++ear) {
            const double off = levels[ear * bands + band] - design_.ears[ear].wanted_db;
            sum += off;
            sum2 += off * off;
        }
        squares += sum2 - sum * sum / static_cast<double>(ears);
    }
    return std::sqrt(std::max(squares, 0.0) / static_cast<double>(ears * bands));
}

HangFigures HangModel::figures(const std::vector<BoxPlace>& boxes, const Field& field) const {
    std::vector<double> levels;
    band_levels(field, levels);
    const std::size_t bands = last_band_ - first_band_, ears = design_.ears.size();
    HangFigures found;
    for (std::size_t band = 0; band < bands; ++band)
        found.band_hz.push_back(std::sqrt(hang_line_hz(2 * (first_band_ + band)) * hang_line_hz(2 * (first_band_ + band) + 1)));
    double sum = 0.0, sum2 = 0.0;
    for (std::size_t ear = 0; ear < ears; ++ear) {
        found.band_db.emplace_back(levels.begin() + static_cast<std::ptrdiff_t>(ear * bands), levels.begin() + static_cast<std::ptrdiff_t>((ear + 1) * bands));
        double mean = 0.0;
        for (const double level : found.band_db.back()) mean += level / static_cast<double>(bands);
        found.level_db.push_back(mean);
        const double off = mean - design_.ears[ear].wanted_db;
        sum += off;
        sum2 += off * off;
    }
    const double n = static_cast<double>(ears);
    found.level_spread_db = std::sqrt(std::max(sum2 / n - sum * sum / (n * n), 0.0));
    found.unevenness_db = unevenness_db(field);
    found.spectrum_spread_db = std::sqrt(std::max(found.unevenness_db * found.unevenness_db - found.level_spread_db * found.level_spread_db, 0.0));
    for (const BoxPlace& box : boxes) {
        found.box_tilt_deg.push_back(box.tilt_deg);
        found.box_ahead_m.push_back(box.ahead_m);
        found.box_height_m.push_back(box.height_m);
    }
    return found;
}

}  // namespace proofwalk::acoustics
