#include "rehearsal/simulated_room.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "acoustics/geometry.hpp"
#include "rehearsal/hanging.hpp"
#include "units/convert.hpp"

namespace proofwalk::rehearsal {
namespace {

constexpr std::size_t response_size = 16384;   // 0.34 s at 48 kHz: a box's own ringing
constexpr std::size_t response_lead = 64;      // see BoxResponse::impulse
constexpr std::size_t converter_samples = 480; // out and in again, in the loopback and in every mic alike
constexpr double nominal_drive_dbfs = -20.0;   // drive at which the signal-to-noise ratio of the settings holds
constexpr double loopback_noise_dbfs = -105.0;
constexpr double pascal_per_fs = 200.0;        // of a mic with no gain error
constexpr double no_axis_m = 10.0;             // distance for the noise, where a box has no on-axis position
constexpr std::size_t normal_table = 1 << 16;
constexpr double shortest_s = 0.05, longest_s = 600.0;
constexpr double knocks_per_s = 0.012;         // a dropped flight-case lid about every ninety seconds

acoustics::Air real_air(const plan::Plan& plan, const Settings& settings) {
    acoustics::Air air = plan.air;
    if (settings.exact) return air;
    KeyedRandom random(settings.seed, {"air"});
    air.temperature_c += random.spread(0.5 * plan.rules.temperature_u_c);
    air.humidity_pct = std::clamp(air.humidity_pct + random.spread(3.0), 5.0, 98.0);
    return air;
}

double drive_latency_ms(const plan::Plan& plan, const Settings& settings) {
    if (plan.drive_latency_ms) return *plan.drive_latency_ms;
    return settings.exact ? 2.0 : KeyedRandom(settings.seed, {"drive"}).uniform(1.2, 6.0);
}

Alive alive(const Hung& hung) {
    if (hung.dead == "all") return Alive::none;
    if (hung.dead == "high") return Alive::low_only;
    return hung.dead == "low" ? Alive::high_only : Alive::all;
}

Fault refused(const capture::TakeSheet& sheet, std::string reason, std::string remedy) {
    return {FaultKind::input, "", fmt::format("rehearsed take {}", sheet.label), std::move(reason), std::move(remedy)};
}

}  // namespace

SimulatedRoom::SimulatedRoom(const plan::Plan& plan, const Settings& settings, std::vector<Hung> hung)
    : plan_(plan), settings_(settings), air_(real_air(plan, settings)), hall_(plan, settings.decay_s, settings.exact),
      coupling_(hall_, air_, settings.rate_hz), normals_(normal_table) {
    const auto random = [&](std::string_view what, std::string_view whose) { return KeyedRandom(settings.seed, {what, whose}); };
    double loudest_db = -1e9;
    for (Hung& hanging : hung) {
        const plan::Box& box = *plan.box(hanging.box);
        const plan::Model& model = plan.model_of(box);
        const ModelShape shape = model_shape(model, random("shape", model.id), settings.exact);
        const BoxResponse response(model, random("model", model.id), random("unit", box.id), alive(hanging), settings.exact);
        const double gain = amplitude_of_db(hanging.gain_db) * (hanging.inverted ? -1.0 : 1.0);
        const double delay_s = (hanging.delay_ms + model.latency_ms + drive_latency_ms(plan, settings)) / 1000.0;
        const plan::Position* axis = plan.serving(plan::Role::on_axis, box.id);
        const double away_m = axis != nullptr ? std::max(1.0, distance(axis->at, box.at)) : no_axis_m;
        const double reference_db = model.level_1m_db.value_or(usual_level_1m_db) + box.gain_db - amplitude_db(away_m);
        loudest_db = std::max(loudest_db, reference_db);
        sources_.push_back({box, std::move(hanging), Horn(model, shape, random("horn", box.id), settings.exact), delay_s,
                            directivity_factor(model), static_cast<float>(gain),
                            response.impulse(settings.rate_hz, response_size, response_lead)});
    }
    if (!settings.exact)
        noise_rms_ = static_cast<float>(std::numbers::sqrt2 / 2.0 *
                                        amplitude_of_db(nominal_drive_dbfs + loudest_db - settings.snr_db));
    KeyedRandom table(settings.seed, {"normals"});
    for (auto& normal : normals_) normal = {static_cast<float>(table.normal()), static_cast<float>(table.normal())};
}

std::vector<Hung> SimulatedRoom::hung() const {
    std::vector<Hung> all;
    for (const Source& source : sources_) all.push_back(source.hung);
    return all;
}

std::unique_ptr<capture::Device> SimulatedRoom::device() { return simulated_device(*this); }

Result<void> SimulatedRoom::check(const capture::PlayRequest& request) const {
    const capture::TakeSheet& sheet = request.sheet;
    if (request.rate_hz != settings_.rate_hz)
        return std::unexpected(refused(sheet, fmt::format("the rehearsal runs at {:.0f} Hz, not at {:.0f} Hz", settings_.rate_hz, request.rate_hz),
                                       "use its rate"));
    if (!(request.seconds >= shortest_s && request.seconds <= longest_s))
        return std::unexpected(refused(sheet, fmt::format("a take of {} s", request.seconds),
                                       fmt::format("take between {} and {} s", shortest_s, longest_s)));
    const auto circuits = plan_.circuits();
    for (const std::string& circuit : sheet.sounding)
        if (std::ranges::find(circuits, circuit) == circuits.end())
            return std::unexpected(refused(sheet, fmt::format("the plan has no circuit \"{}\"", circuit), "name one of the plan's circuits"));
    for (const capture::SweepStart& start : sheet.starts)
        if (std::ranges::find(sheet.sounding, start.circuit) == sheet.sounding.end())
            return std::unexpected(refused(sheet, fmt::format("a start is given for circuit \"{}\", which does not sound", start.circuit),
                                           "name it among the sounding circuits"));
    for (const capture::MicChannel& mic : sheet.mics) {
        if (mic.channel < 1 || mic.channel > 256)
            return std::unexpected(refused(sheet, fmt::format("mic {} is on channel {}", mic.mic, mic.channel), "channels count from 1"));
        if (!mic.position.empty() && plan_.position(mic.position) == nullptr)
            return std::unexpected(refused(sheet, fmt::format("the plan has no position \"{}\"", mic.position), "name one of the plan's positions"));
    }
    return {};
}

std::vector<SimulatedRoom::Feed> SimulatedRoom::feeds(const capture::PlayRequest& request, std::size_t samples) const {
    std::vector<Feed> fed;
    const auto cut = [&](const std::vector<float>& from, std::size_t start) {
        std::vector<float> signal(samples, 0.0F);
        for (std::size_t index = 0; index < from.size() && start + index < samples; ++index) signal[start + index] = from[index];
        return signal;
    };
    if (!request.outputs.empty()) {
        for (const std::string& circuit : plan_.circuits())
            for (const auto& output : request.outputs)
                if (plan_.boxes_of(circuit).front()->output == output.channel) fed.push_back({circuit, cut(output.samples, 0)});
        // A circuit without a planned output hears the output that no other circuit claims.
        if (fed.empty() && request.sheet.sounding.size() == 1 && !plan_.boxes_of(request.sheet.sounding.front()).front()->output)
            fed.push_back({request.sheet.sounding.front(), cut(request.outputs.front().samples, 0)});
        return fed;
    }
    for (const std::string& circuit : request.sheet.sounding) {
        const auto start = std::ranges::find(request.sheet.starts, circuit, &capture::SweepStart::circuit);
        const double at_s = start == request.sheet.starts.end() ? 0.0 : std::max(0.0, start->at_s);
        fed.push_back({circuit, cut(request.played, static_cast<std::size_t>(std::lround(at_s * settings_.rate_hz)))});
    }
    return fed;
}

// Where a mic really stands: near its mark, always the same for the same mic at the same mark.
Vec3 SimulatedRoom::mic_place(const capture::MicChannel& mic, std::size_t index, const capture::TakeSheet& sheet) const {
    const plan::Position* position = plan_.position(mic.position);
    if (position == nullptr) {
        // A match take: all mics in one spot, a hand's breadth apart, 2 m in front of what sounds.
        const auto boxes = sheet.sounding.empty() ? std::vector<const plan::Box*>{} : plan_.boxes_of(sheet.sounding.front());
        const plan::Box& box = boxes.empty() ? plan_.boxes.front() : *boxes.front();
        const acoustics::Axes own = acoustics::axes(box.pan_deg, box.tilt_deg);
        return box.at + 2.0 * own.forward + (0.03 * static_cast<double>(index)) * own.left;
    }
    if (settings_.exact) return position->at;
    double spread_m = settings_.mic_place_m;
    if (position->place_u_m) spread_m *= *position->place_u_m / plan_.rules.mic_place_m;
    KeyedRandom random(settings_.seed, {"mic place", mic.mic, mic.position});
    return position->at + Vec3{random.spread(spread_m), random.spread(spread_m), random.spread(spread_m)};
}

double SimulatedRoom::mic_gain(const std::string& mic) const {
    if (settings_.exact) return 1.0;
    return amplitude_of_db(KeyedRandom(settings_.seed, {"mic gain", mic}).spread(plan_.rules.mic_match_db));
}

const signal::RealFft& SimulatedRoom::fft(std::size_t size) { return ffts_.try_emplace(size, size).first->second; }

// Pink from 20 Hz up, in the frequency domain: each bin a complex normal number.
void SimulatedRoom::add_noise(signal::Spectrum& spectrum, std::size_t size, KeyedRandom random) const {
    const double bin_hz = settings_.rate_hz / static_cast<double>(size);
    const auto first = static_cast<std::size_t>(std::ceil(20.0 / bin_hz));
    // Sum over bins of 1/n is ln(last/first); a bin of power p counts 2 p / size^2 to the mean square.
    const double sum = std::log(static_cast<double>(spectrum.size()) / static_cast<double>(first));
    const double scale = static_cast<double>(noise_rms_) * static_cast<double>(size) / std::sqrt(4.0 * sum);
    for (std::size_t bin = first; bin + 1 < spectrum.size(); ++bin)
        spectrum[bin] += static_cast<float>(scale / std::sqrt(static_cast<double>(bin))) * normals_[random.bits() % normal_table];
}

void SimulatedRoom::render_mics(const capture::PlayRequest& request, const std::vector<Feed>& fed, std::size_t samples,
                                std::vector<std::vector<float>>& channels) {
    const std::size_t tail = static_cast<std::size_t>(std::lround(settings_.decay_s * settings_.rate_hz)) + response_size;
    const signal::RealFft& transform = fft(signal::fast_size(samples + std::min(tail, samples)));
    const auto circuits_heard = [&](const std::string& circuit) {
        std::vector<const Source*> heard;
        for (const Source& source : sources_)
            if (source.hung.fed_by == circuit) heard.push_back(&source);
        return heard;
    };
    std::vector<signal::Spectrum> sums(request.sheet.mics.size(), signal::Spectrum(transform.bins()));
    std::string sounding;
    for (const Feed& feed : fed) {
        sounding += feed.circuit + "+";
        const signal::Spectrum signal = transform.forward(feed.samples);
        for (const Source* source : circuits_heard(feed.circuit)) {
            if (source->hung.dead == "all") continue;
            signal::Spectrum driven = transform.forward(source->response);
            for (std::size_t bin = 0; bin < driven.size(); ++bin) driven[bin] *= signal[bin] * source->gain;
            for (std::size_t index = 0; index < sums.size(); ++index) {
                const capture::MicChannel& mic = request.sheet.mics[index];
                const double lead_s = static_cast<double>(response_lead) / settings_.rate_hz;
                const double converter_s = static_cast<double>(converter_samples) / settings_.rate_hz;
                const auto impulse = coupling_.impulse(source->hung.pose, source->horn, mic_place(mic, index, request.sheet),
                                                       source->delay_s + converter_s - lead_s,
                                                       KeyedRandom(settings_.seed, {"reverberation", source->hung.box, mic.mic, mic.position}),
                                                       source->factor, samples);
                const signal::Spectrum coupled = transform.forward(impulse);
                for (std::size_t bin = 0; bin < coupled.size(); ++bin) sums[index][bin] += coupled[bin] * driven[bin];
            }
        }
    }
    for (std::size_t index = 0; index < sums.size(); ++index) {
        const capture::MicChannel& mic = request.sheet.mics[index];
        if (noise_rms_ > 0.0F)
            add_noise(sums[index], transform.size(),
                      KeyedRandom(settings_.seed, {"noise", request.sheet.label, sounding, mic.mic, mic.position}));
        std::vector<float> heard = transform.inverse(sums[index]);
        heard.resize(samples);
        const auto gain = static_cast<float>(mic_gain(mic.mic));
        for (float& sample : heard) sample *= gain;
        channels[static_cast<std::size_t>(mic.channel - 1)] = std::move(heard);
    }
}

// A lid falls, somebody shouts: a burst that all mics hear, each with its own delay.
void SimulatedRoom::add_knocks(std::vector<std::vector<float>>& channels, const capture::TakeSheet& sheet) const {
    if (noise_rms_ == 0.0F || channels.empty()) return;
    std::string sounding;
    for (const std::string& circuit : sheet.sounding) sounding += circuit + "+";
    KeyedRandom random(settings_.seed, {"knock", sheet.label, sounding});
    const double seconds = static_cast<double>(channels.front().size()) / settings_.rate_hz;
    if (random.uniform() > knocks_per_s * seconds) return;
    const double at_s = random.uniform(0.0, seconds), decay_s = random.uniform(0.01, 0.05);
    const double level = static_cast<double>(noise_rms_) * amplitude_of_db(random.uniform(8.0, 18.0));
    const auto length = static_cast<std::size_t>(8.0 * decay_s * settings_.rate_hz);
    for (const capture::MicChannel& mic : sheet.mics) {
        auto& channel = channels[static_cast<std::size_t>(mic.channel - 1)];
        const auto first = static_cast<std::size_t>((at_s + random.uniform(0.0, 0.06)) * settings_.rate_hz);
        float smooth = 0.0F;
        for (std::size_t index = 0; index < length && first + index < channel.size(); ++index) {
            smooth += 0.3F * (random.rough_normal() - smooth);
            const double envelope = std::exp(-static_cast<double>(index) / (decay_s * settings_.rate_hz));
            channel[first + index] += static_cast<float>(level * envelope * 2.4) * smooth;
        }
    }
}

void SimulatedRoom::render_calibrator(const capture::PlayRequest& request, std::vector<std::vector<float>>& channels) const {
    const double pascal_rms = reference_pressure_pa * amplitude_of_db(request.sheet.calibrator_db.value_or(94.0));
    for (const capture::MicChannel& mic : request.sheet.mics) {
        const double peak = std::numbers::sqrt2 * pascal_rms / pascal_per_fs * mic_gain(mic.mic);
        KeyedRandom random(settings_.seed, {"calibrator", request.sheet.label, mic.mic});
        auto& channel = channels[static_cast<std::size_t>(mic.channel - 1)];
        for (std::size_t index = 0; index < channel.size(); ++index)
            channel[index] = static_cast<float>(peak * std::sin(2.0 * std::numbers::pi * 1000.0 * static_cast<double>(index) / settings_.rate_hz) +
                                                1e-5 * static_cast<double>(random.rough_normal()));
    }
}

Result<capture::Recording> SimulatedRoom::render(const capture::PlayRequest& request) {
    if (auto checked = check(request); !checked) return std::unexpected(checked.error());
    const capture::TakeSheet& sheet = request.sheet;
    const auto samples = static_cast<std::size_t>(std::lround(request.seconds * settings_.rate_hz));
    const int reference = sheet.reference.value_or(1);
    int count = std::max(request.inputs, reference);
    for (const capture::MicChannel& mic : sheet.mics) count = std::max(count, mic.channel);
    std::vector<std::vector<float>> channels(static_cast<std::size_t>(count), std::vector<float>(samples, 0.0F));
    std::vector<Feed> fed = feeds(request, samples);
    if (sheet.kind == signal::TakeKind::silence || sheet.kind == signal::TakeKind::calibrator) fed.clear();

    std::vector<float> loop(samples, 0.0F);
    const auto sum_into_loop = [&](const std::vector<float>& signal) {
        for (std::size_t index = 0; index + converter_samples < samples && index < signal.size(); ++index)
            loop[index + converter_samples] += signal[index];
    };
    for (const Feed& feed : fed) sum_into_loop(feed.samples);
    if (fed.empty())
        for (const auto& output : request.outputs) sum_into_loop(output.samples);
    if (fed.empty() && request.outputs.empty() && sheet.kind == signal::TakeKind::loopback) sum_into_loop(request.played);
    KeyedRandom hiss(settings_.seed, {"loopback", sheet.label});
    const auto hiss_rms = settings_.exact ? 0.0F : static_cast<float>(amplitude_of_db(loopback_noise_dbfs));
    const auto with_hiss = [&](std::vector<float> signal) {
        for (float& sample : signal) sample += hiss_rms * hiss.rough_normal();
        return signal;
    };
    if (sheet.kind == signal::TakeKind::calibrator) {
        render_calibrator(request, channels);
    } else if (sheet.kind == signal::TakeKind::loopback) {
        for (const capture::MicChannel& mic : sheet.mics) channels[static_cast<std::size_t>(mic.channel - 1)] = with_hiss(loop);
    } else {
        render_mics(request, fed, samples, channels);
        add_knocks(channels, sheet);
    }
    channels[static_cast<std::size_t>(reference - 1)] = with_hiss(loop);
    for (auto& channel : channels)
        for (float& sample : channel) sample = std::clamp(sample, -1.0F, 1.0F);

    capture::Recording recording;
    recording.sheet = sheet;
    recording.rate_hz = settings_.rate_hz;
    recording.played = request.played;
    recording.device = "rehearsal";
    recording.sha256 = capture::raw_sha256(recording.rate_hz, channels);
    recording.channels = std::move(channels);
    return recording;
}

Result<std::unique_ptr<Room>> make_room(const plan::Plan& plan, const Settings& settings) {
    const auto refuse = [](std::string reason, std::string remedy) {
        return std::unexpected(Fault{FaultKind::input, "", "rehearsal", std::move(reason), std::move(remedy)});
    };
    if (plan.boxes.empty()) return refuse("the plan has no box", "rehearse a plan with at least one box");
    if (!(settings.rate_hz >= 44100.0 && settings.rate_hz <= 192000.0))
        return refuse(fmt::format("a sample rate of {} Hz", settings.rate_hz), "choose 44100 to 192000 Hz");
    if (!(settings.snr_db >= -20.0 && settings.snr_db <= 120.0))
        return refuse(fmt::format("a signal-to-noise ratio of {} dB", settings.snr_db), "choose -20 to 120 dB");
    if (!(settings.decay_s >= 0.1 && settings.decay_s <= 12.0))
        return refuse(fmt::format("a reverberation time of {} s", settings.decay_s), "choose 0.1 to 12 s");
    if (!(settings.mic_place_m >= 0.0 && settings.mic_place_m <= 2.0))
        return refuse(fmt::format("mics that stand {} m off their places", settings.mic_place_m), "choose 0 to 2 m");
    auto hung = hang(plan, settings);
    if (!hung) return std::unexpected(hung.error());
    return std::make_unique<SimulatedRoom>(plan, settings, std::move(*hung));
}

}  // namespace proofwalk::rehearsal
