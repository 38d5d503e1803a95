#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "acoustics/directivity.hpp"
#include "acoustics/sofa_file.hpp"
#include "acoustics/sphere_field.hpp"

namespace proofwalk::acoustics {
namespace {

constexpr double widest_gap_deg = 15.0;  // in front of the box: wider, and edges would be guesses

class MeasuredDirectivity final : public Directivity {
public:
    MeasuredDirectivity(SphereField field, std::size_t first_band, std::size_t last_band)
        : field_(std::move(field)), first_(first_band), last_(last_band) {
        for (std::size_t band = 0; band < band_count; ++band) on_axis_db_[band] = field_.level_db(0.0, 0.0, band);
    }

    double loss_db(double h_deg, double v_deg, double frequency_hz) const override {
        // Between midbands straight over the logarithm of frequency; outside the file's bands the outermost one holds.
        const double band = std::clamp(17.0 + 10.0 * std::log10(frequency_hz / 1000.0), static_cast<double>(first_), static_cast<double>(last_));
        const auto below = std::min(static_cast<std::size_t>(band), last_ - (last_ > first_ ? 1 : 0));
        const double share = band - static_cast<double>(below);
        const double low = loss_in(h_deg, v_deg, below);
        return share < 1e-9 ? low : (1.0 - share) * low + share * loss_in(h_deg, v_deg, std::min(below + 1, last_));
    }

    double loss_db(double h_deg, double v_deg, double low_hz, double high_hz) const override {
        const auto [from, to] = bands_inside(low_hz, high_hz);
        if (from == to) return loss_db(h_deg, v_deg, std::sqrt(low_hz * high_hz));
        constexpr double neper_of_db = std::numbers::ln10 / 10.0;
        double power = 0.0;
        for (std::size_t band = from; band < to; ++band) power += std::exp(neper_of_db * loss_in(h_deg, v_deg, std::clamp(band, first_, last_)));
        return std::log(power / static_cast<double>(to - from)) / neper_of_db;
    }

private:
    double loss_in(double h_deg, double v_deg, std::size_t band) const {
        return field_.level_db(h_deg, v_deg, band) - on_axis_db_[band];
    }
    SphereField field_;
    std::array<double, band_count> on_axis_db_{};
    std::size_t first_, last_;
};

}  // namespace

Result<std::shared_ptr<const Directivity>> directivity_from_sofa(const std::filesystem::path& file) {
    const auto refuse = [&](std::string reason, std::string remedy) {
        return std::unexpected(Fault{FaultKind::input, file.string(), "", std::move(reason), std::move(remedy)});
    };
    const auto directions = read_sofa(file);
    if (!directions) return refuse(directions.error().reason, directions.error().remedy);
    std::size_t first = 0, last = band_count;
    while (first < last && !directions->front().level_db.has(first)) ++first;
    while (last > first && !directions->front().level_db.has(last - 1)) --last;
    if (first == last) return refuse("the file holds no frequency between 20 Hz and 20 kHz", "give the frequencies in hertz");

    SphereField field(*directions);
    const auto gap = field.widest_gap_in_front();
    if (gap.to_nearest_deg > widest_gap_deg)
        return refuse(fmt::format("nothing is measured within {:.0f} degrees of h {:.0f}, v {:.0f} in front of the box (missing angles)",
                                  gap.to_nearest_deg, gap.h_deg, gap.v_deg),
                      fmt::format("give at least the front half every {:.0f} degrees, or leave the key out to use the beam model", widest_gap_deg));
    return std::make_shared<MeasuredDirectivity>(std::move(field), first, last - 1);
}

}  // namespace proofwalk::acoustics
