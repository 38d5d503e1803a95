#include "cli/take_channels.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>

#include "units/nearest.hpp"

namespace proofwalk::cli {
namespace {

Fault refused(std::string option, std::string reason, std::string remedy) {
    return {FaultKind::input, "", std::move(option), std::move(reason), std::move(remedy)};
}

std::optional<int> number_in(std::string_view text) {
    int number = 0;
    const auto parsed = std::from_chars(text.data(), text.data() + text.size(), number);
    if (parsed.ec != std::errc{} || parsed.ptr != text.data() + text.size()) return std::nullopt;
    return number;
}

std::vector<std::string> split(const std::string& text) {
    std::vector<std::string> parts;
    for (std::size_t start = 0; start <= text.size();) {
        const std::size_t end = std::min(text.find(',', start), text.size());
        parts.push_back(text.substr(start, end - start));
        start = end + 1;
    }
    return parts;
}

// A mic that the log keeps on this channel keeps its name.
std::string mic_name(const std::optional<walk::ChannelMap>& kept, int channel) {
    if (kept)
        if (const auto own = std::ranges::find(kept->mics, channel, &capture::MicChannel::channel); own != kept->mics.end()) return own->mic;
    return fmt::format("in{}", channel);
}

Result<std::vector<capture::MicChannel>> mics_of(const plan::Plan& plan, const std::optional<walk::ChannelMap>& kept, const std::string& text, int reference) {
    if (text.empty()) {
        if (kept && !kept->mics.empty()) return kept->mics;
        return std::unexpected(refused("--mics", "no mic is named and the log keeps none", "write for example --mics 2=p1,3=p4"));
    }
    std::vector<capture::MicChannel> mics;
    int next = reference;
    for (const std::string& part : split(text)) {
        const std::size_t equals = part.find('=');
        std::optional<int> channel = number_in(std::string_view(part).substr(0, equals));
        std::string position = equals != std::string::npos ? part.substr(equals + 1) : channel ? "" : part;
        if ((equals != std::string::npos && (!channel || position.empty())) || part.empty())
            return std::unexpected(refused("--mics", fmt::format("\"{}\" is no CHANNEL=POSITION", part), "write for example --mics 2=p1,3=p4"));
        if (!channel) channel = kept && mics.size() < kept->mics.size() ? kept->mics[mics.size()].channel : next + 1;
        next = *channel;
        if (!position.empty() && plan.position(position) == nullptr) {
            std::vector<std::string_view> known;
            for (const auto& candidate : plan.positions) known.push_back(candidate.id);
            return std::unexpected(refused("--mics", fmt::format("the plan has no position \"{}\"", position), nearest_remedy(position, known, "position")));
        }
        mics.push_back({*channel, mic_name(kept, *channel), std::move(position)});
    }
    return mics;
}

Result<std::vector<std::string>> circuits_of(const plan::Plan& plan, const std::vector<std::string>& typed) {
    const auto known = plan.circuits();
    const auto has = [&](const std::string& circuit) { return std::ranges::find(known, circuit) != known.end(); };
    std::vector<std::string> circuits;
    for (const std::string& text : typed) {
        const auto parts = has(text) ? std::vector{text} : split(text);
        for (const std::string& circuit : parts) {
            if (!has(circuit)) {
                const std::vector<std::string_view> names(known.begin(), known.end());
                return std::unexpected(refused("--circuit", fmt::format("the plan has no circuit \"{}\"", circuit), nearest_remedy(circuit, names, "circuit")));
            }
            circuits.push_back(circuit);
        }
    }
    return circuits;
}

}  // namespace

Result<TakeChannels> channels_of(const plan::Plan& plan, const std::optional<walk::ChannelMap>& kept, const TypedChannels& typed) {
    TakeChannels channels;
    auto circuits = circuits_of(plan, typed.circuits);
    if (!circuits) return std::unexpected(circuits.error());
    channels.reference = typed.reference ? *typed.reference : kept ? kept->reference : 1;
    channels.loopback_output = typed.loopback_output ? typed.loopback_output : kept ? kept->loopback_output : std::nullopt;
    auto mics = mics_of(plan, kept, typed.mics, channels.reference);
    if (!mics) return std::unexpected(mics.error());
    channels.mics = std::move(*mics);
    if (typed.outputs.size() > 1 && typed.outputs.size() != circuits->size())
        return std::unexpected(refused("--output", fmt::format("{} outputs for {} circuits", typed.outputs.size(), circuits->size()),
                                       "give one output for each circuit, or one for all"));
    channels.one_for_all = typed.outputs.size() == 1 && circuits->size() > 1;
    for (std::size_t i = 0; i < circuits->size(); ++i) {
        const std::string& circuit = (*circuits)[i];
        const auto output = typed.outputs.size() == 1 ? std::optional(typed.outputs.front())
                            : !typed.outputs.empty()  ? std::optional(typed.outputs[i])
                                                      : walk::output_of(plan, kept, circuit);
        if (!output)
            return std::unexpected(refused("--output", fmt::format("no output is named for {}, and neither the log nor the plan knows one", circuit),
                                           "give --output CH"));
        channels.circuits.push_back({circuit, *output});
    }
    return channels;
}

}  // namespace proofwalk::cli
