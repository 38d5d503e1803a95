#include "acoustics/sofa_content.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>

#include <fmt/format.h>
#include <unsupported/Eigen/FFT>

#include "units/convert.hpp"

namespace proofwalk::acoustics {
namespace {

constexpr std::array<std::string_view, 9> head_related = {
    "SimpleFreeFieldHRIR", "SimpleFreeFieldHRTF", "SimpleFreeFieldHRSOS", "SimpleFreeFieldSOS", "SimpleHeadphoneIR",
    "SingleRoomDRIR",      "MultiSpeakerBRIR",    "SingleRoomMIMOSRIR",   "SimpleBRIR"};

std::unexpected<Fault> refuse(std::string reason, std::string remedy) {
    return std::unexpected(Fault{FaultKind::input, "", "", std::move(reason), std::move(remedy)});
}

// Points of a position variable as Cartesian, one a measurement and receiver.
class Points {
public:
    // [1 or M][3], [1 or R][3][1 or M]; missing: the default for all.
    Points(const SofaContent& content, const std::string& name, Vec3 otherwise) {
        const NumberArray* found = content.find(name);
        if (!found || found->shape.size() < 2 || found->shape[1] != 3) {
            all_ = {otherwise};
            return;
        }
        const auto type = content.types.find(name);
        const bool spherical = type != content.types.end() && type->second.starts_with("spherical");
        rows_ = found->shape[0];
        layers_ = found->shape.size() > 2 ? found->shape[2] : 1;
        if (found->shape.size() > 3) layers_ = 1;
        const std::size_t stride = found->values.size() / (rows_ * 3);
        for (std::size_t row = 0; row < rows_; ++row)
            for (std::size_t layer = 0; layer < layers_; ++layer) {
                const auto value = [&](std::size_t axis) { return found->values[(row * 3 + axis) * stride + layer]; };
                all_.push_back(spherical ? value(2) * axes(value(0), value(1)).forward : Vec3{value(0), value(1), value(2)});
            }
    }
    [[nodiscard]] Vec3 at(std::size_t row, std::size_t layer) const {
        return all_[(rows_ == 1 ? 0 : std::min(row, rows_ - 1)) * layers_ + (layers_ == 1 ? 0 : std::min(layer, layers_ - 1))];
    }
    [[nodiscard]] std::size_t rows() const { return rows_; }
    [[nodiscard]] std::size_t layers() const { return layers_; }

private:
    std::vector<Vec3> all_;
    std::size_t rows_ = 1, layers_ = 1;
};

Vec3 unit(Vec3 v) { return (1.0 / length(v)) * v; }

// The direction of a receiver as the source sees it, by the standard's frames: places in the room; views and ups of
// source and listener; receivers relative to the listener.
struct Layout {
    Points source, source_view, source_up, listener, listener_view, listener_up, receiver;

    explicit Layout(const SofaContent& content)
        : source(content, "SourcePosition", {}),
          source_view(content, "SourceView", {1, 0, 0}),
          source_up(content, "SourceUp", {0, 0, 1}),
          listener(content, "ListenerPosition", {}),
          listener_view(content, "ListenerView", {1, 0, 0}),
          listener_up(content, "ListenerUp", {0, 0, 1}),
          receiver(content, "ReceiverPosition", {}) {}

    [[nodiscard]] std::optional<Vec3> towards(std::size_t measurement, std::size_t mic) const {
        const auto frame = [&](const Points& view, const Points& up) -> std::optional<Axes> {
            const Vec3 forward = view.at(measurement, 0), above = up.at(measurement, 0);
            const Vec3 left = cross(above, forward);
            if (!(length(forward) > 0.0) || !(length(left) > 1e-9)) return std::nullopt;
            return Axes{unit(forward), unit(left), cross(unit(forward), unit(left))};
        };
        const auto own = frame(source_view, source_up), ears = frame(listener_view, listener_up);
        if (!own || !ears) return std::nullopt;
        const Vec3 offset = receiver.at(mic, measurement);
        const Vec3 place = listener.at(measurement, 0) + offset.x * ears->forward + offset.y * ears->left + offset.z * ears->up;
        const Vec3 path = place - source.at(measurement, 0);
        if (!(length(path) > 1e-9)) return std::nullopt;
        const Vec3 seen = unit({dot(path, own->forward), dot(path, own->left), dot(path, own->up)});
        // Places too far away for a double to square them have no direction.
        if (!(std::abs(length(seen) - 1.0) < 1e-6)) return std::nullopt;
        return seen;
    }
};

// Frequencies and squared magnitudes, one row a measurement and receiver.
struct Spectra {
    std::vector<double> frequency_hz;
    std::size_t measurements = 0, receivers = 0;
    std::vector<double> power;  // [measurement][receiver][frequency]
};

Result<Spectra> shaped(const NumberArray& data, const std::string& name) {
    if (data.shape.size() < 3 || data.shape.size() > 4)
        return refuse(fmt::format("{} has {} dimensions where AES69 has three", name, data.shape.size()), "write the file anew");
    if (data.shape.size() == 4 && data.shape[3] != 1)
        return refuse(fmt::format("{} holds {} emitters", name, data.shape[3]), "give a file with the whole box as one emitter");
    if (!std::ranges::all_of(data.values, [](double value) { return std::isfinite(value); })) {
        const auto bad = std::ranges::count_if(data.values, [](double value) { return !std::isfinite(value); });
        const auto first = std::ranges::find_if(data.values, [](double value) { return !std::isfinite(value); }) - data.values.begin();
        const std::size_t row = static_cast<std::size_t>(first) / data.shape[2];
        return refuse(fmt::format("{} holds {} values that are not finite (the first in measurement {}, receiver {})", name, bad,
                                  row / data.shape[1] + 1, row % data.shape[1] + 1),
                      "measure those directions again or leave them out of the file");
    }
    Spectra spectra;
    spectra.measurements = data.shape[0];
    spectra.receivers = data.shape[1];
    return spectra;
}

Result<Spectra> transfer_functions(const SofaContent& content) {
    const NumberArray *real = content.find("Data.Real"), *imaginary = content.find("Data.Imag"), *bins = content.find("N");
    if (!real) return refuse("Data.Real is missing", "give a file of data type TF");
    if (imaginary && imaginary->shape != real->shape) return refuse("Data.Real and Data.Imag differ in shape", "write the file anew");
    if (!bins || real->shape.size() < 3 || bins->values.size() != real->shape[2])
        return refuse("the frequencies N are missing or do not fit the data", "write the file anew");
    auto spectra = shaped(*real, "Data.Real");
    if (!spectra) return spectra;
    if (imaginary)
        if (const auto fit = shaped(*imaginary, "Data.Imag"); !fit) return fit;
    if (!std::ranges::is_sorted(bins->values) || !(bins->values.front() >= 0.0))
        return refuse("the frequencies N do not rise from zero upwards", "write the file anew");
    spectra->frequency_hz = bins->values;
    spectra->power.resize(real->values.size());
    for (std::size_t i = 0; i < real->values.size(); ++i)
        spectra->power[i] = real->values[i] * real->values[i] + (imaginary ? imaginary->values[i] * imaginary->values[i] : 0.0);
    return spectra;
}

Result<Spectra> impulse_responses(const SofaContent& content) {
    const NumberArray *responses = content.find("Data.IR"), *rate = content.find("Data.SamplingRate");
    if (!responses) return refuse("Data.IR is missing", "give a file of data type FIR");
    if (!rate || rate->values.empty() || !(rate->values[0] > 0.0)) return refuse("Data.SamplingRate is missing", "write the file anew");
    auto spectra = shaped(*responses, "Data.IR");
    if (!spectra) return spectra;
    const std::size_t samples = responses->shape[2];
    std::size_t padded = 64;
    while (padded < samples) padded *= 2;
    for (std::size_t bin = 0; bin <= padded / 2; ++bin)
        spectra->frequency_hz.push_back(static_cast<double>(bin) * rate->values[0] / static_cast<double>(padded));
    Eigen::FFT<double> transform;
    std::vector<double> time(padded);
    std::vector<std::complex<double>> spectrum;
    for (std::size_t row = 0; row < spectra->measurements * spectra->receivers; ++row) {
        std::ranges::fill(time, 0.0);
        std::copy_n(responses->values.begin() + static_cast<std::ptrdiff_t>(row * samples), samples, time.begin());
        transform.fwd(spectrum, time);
        for (std::size_t bin = 0; bin <= padded / 2; ++bin) spectra->power.push_back(std::norm(spectrum[bin]));
    }
    return spectra;
}

// Bins of each third octave. Where a file's frequencies are sparser than the bands, the bins around the midband stand in.
std::array<std::pair<std::size_t, std::size_t>, band_count> bins_of_bands(const std::vector<double>& frequency_hz) {
    std::array<std::pair<std::size_t, std::size_t>, band_count> bins{};
    for (std::size_t band = 0; band < band_count; ++band) {
        const auto first = std::ranges::lower_bound(frequency_hz, lower_edge_hz(band));
        const auto last = std::ranges::lower_bound(frequency_hz, upper_edge_hz(band));
        bins[band] = {static_cast<std::size_t>(first - frequency_hz.begin()), static_cast<std::size_t>(last - frequency_hz.begin())};
    }
    return bins;
}

BandLevels band_levels(const double* power, const std::vector<double>& frequency_hz,
                       const std::array<std::pair<std::size_t, std::size_t>, band_count>& bins) {
    constexpr double silence = 1e-30;  // keeps exact zeros finite
    BandLevels levels;
    for (std::size_t band = 0; band < band_count; ++band) {
        const auto [first, last] = bins[band];
        double sum = 0.0;
        for (std::size_t bin = first; bin < last; ++bin) sum += power[bin];
        if (last > first) {
            levels[band] = power_db(std::max(sum / static_cast<double>(last - first), silence));
        } else if (first > 0 && first < frequency_hz.size() && frequency_hz[first - 1] > 0.0) {
            // Between two bins: their levels, straight over the logarithm of frequency.
            const double share = std::log(midband_hz(band) / frequency_hz[first - 1]) / std::log(frequency_hz[first] / frequency_hz[first - 1]);
            levels[band] = (1.0 - share) * power_db(std::max(power[first - 1], silence)) + share * power_db(std::max(power[first], silence));
        }
    }
    return levels;
}

}  // namespace

Result<std::vector<SofaDirection>> directions_of(const SofaContent& content) {
    if (std::ranges::find(head_related, content.convention) != head_related.end())
        return refuse(fmt::format("the file is of convention {}, which is made for listeners, not for the directivity of a source", content.convention),
                      fmt::format("give one of convention {}", sofa_convention));
    const bool transfer = content.data_type.starts_with("TF"), impulse = content.data_type.starts_with("FIR");
    if (!transfer && !impulse)
        return refuse(fmt::format("data type \"{}\" of convention \"{}\" is not read", content.data_type, content.convention),
                      fmt::format("give a file of convention {} or of data type FIR", sofa_convention));
    const auto spectra = transfer ? transfer_functions(content) : impulse_responses(content);
    if (!spectra) return std::unexpected(spectra.error());

    const Layout layout(content);
    const bool many_receivers = spectra->receivers > 1;
    if (many_receivers && spectra->measurements > 1)
        return refuse(fmt::format("the file holds {} measurements of {} receivers, where one source is seen once from each direction",
                                  spectra->measurements, spectra->receivers),
                      "give a file with one measurement, or with one receiver");
    const auto bins = bins_of_bands(spectra->frequency_hz);
    std::vector<SofaDirection> found;
    for (std::size_t i = 0; i < spectra->measurements * spectra->receivers; ++i) {
        const auto towards = many_receivers ? layout.towards(0, i) : layout.towards(i, 0);
        if (!towards) return refuse(fmt::format("direction {} can't be worked out from places and views", i + 1), "write the file anew");
        found.push_back({*towards, band_levels(spectra->power.data() + i * spectra->frequency_hz.size(), spectra->frequency_hz, bins)});
    }
    if (found.size() < fewest_directions)
        return refuse(fmt::format("the file holds {} direction{}", found.size(), found.size() == 1 ? "" : "s"), "give a file that covers at least the front half");
    return found;
}

}  // namespace proofwalk::acoustics
