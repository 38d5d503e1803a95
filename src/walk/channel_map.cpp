#include "walk/channel_map.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <charconv>
#include <string_view>

namespace proofwalk::walk {
namespace {

constexpr std::string_view record_check = "channels", record_subject = "mapping", record_verdict = "kept";

std::string encoded(std::string_view name) {
    std::string text;
    for (const char c : name)
        if (std::string_view(" ;=:%").find(c) != std::string_view::npos || static_cast<unsigned char>(c) < 0x20)
            text += fmt::format("%{:02X}", static_cast<unsigned char>(c));
        else
            text += c;
    return text;
}

std::optional<std::string> decoded(std::string_view text) {
    std::string name;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] != '%') {
            name += text[i];
            continue;
        }
        unsigned value = 0;
        if (i + 2 >= text.size()) return std::nullopt;
        const char* first = text.data() + i + 1;
        if (std::from_chars(first, first + 2, value, 16).ptr != first + 2) return std::nullopt;
        name += static_cast<char>(value);
        i += 2;
    }
    return name;
}

std::optional<int> channel_number(std::string_view text) {
    int number = 0;
    const auto parsed = std::from_chars(text.data(), text.data() + text.size(), number);
    if (parsed.ec != std::errc{} || parsed.ptr != text.data() + text.size() || number < 1) return std::nullopt;
    return number;
}

std::vector<std::string_view> split(std::string_view text, std::string_view between) {
    std::vector<std::string_view> parts;
    for (;;) {
        const auto at = text.find(between);
        if (const auto part = text.substr(0, at); !part.empty()) parts.push_back(part);
        if (at == std::string_view::npos) return parts;
        text.remove_prefix(at + between.size());
    }
}

bool read_mic(std::string_view text, ChannelMap& map) {
    const auto equals = text.find('='), colon = text.find(':');
    if (equals == std::string_view::npos || colon == std::string_view::npos || colon < equals) return false;
    const auto channel = channel_number(text.substr(0, equals));
    const auto position = decoded(text.substr(equals + 1, colon - equals - 1)), mic = decoded(text.substr(colon + 1));
    if (!channel || !position || !mic) return false;
    map.mics.push_back({*channel, *mic, *position});
    return true;
}

bool read_output(std::string_view text, ChannelMap& map) {
    const auto equals = text.find('=');
    if (equals == std::string_view::npos) return false;
    const auto circuit = decoded(text.substr(0, equals));
    const auto output = channel_number(text.substr(equals + 1));
    if (!circuit || !output) return false;
    map.outputs.push_back({*circuit, *output});
    return true;
}

}  // namespace

std::string to_text(const ChannelMap& map) {
    std::string text = fmt::format("reference {}", map.reference);
    if (map.loopback_output) text += fmt::format("; loopback {}", *map.loopback_output);
    if (!map.mics.empty()) text += "; mics";
    for (const auto& mic : map.mics) text += fmt::format(" {}={}:{}", mic.channel, encoded(mic.position), encoded(mic.mic));
    if (!map.outputs.empty()) text += "; outputs";
    for (const auto& output : map.outputs) text += fmt::format(" {}={}", encoded(output.circuit), output.output);
    return text;
}

std::optional<ChannelMap> channel_map_from_text(std::string_view text) {
    ChannelMap map;
    bool has_reference = false;
    for (const auto section : split(text, "; ")) {
        const auto words = split(section, " ");
        if (words.empty()) return std::nullopt;
        for (std::size_t i = 1; i < words.size(); ++i) {
            bool read = false;
            if (words[0] == "mics")
                read = read_mic(words[i], map);
            else if (words[0] == "outputs")
                read = read_output(words[i], map);
            else if (const auto number = channel_number(words[i]); number && words.size() == 2) {
                read = words[0] == "reference" || words[0] == "loopback";
                if (words[0] == "reference") {
                    map.reference = *number;
                    has_reference = true;
                } else if (words[0] == "loopback") {
                    map.loopback_output = *number;
                }
            }
            if (!read) return std::nullopt;
        }
    }
    return has_reference ? std::optional(map) : std::nullopt;
}

Result<std::optional<ChannelMap>> kept_channels(const Show& show) {
    const auto records = show.log.gear();
    if (!records) return std::unexpected(records.error());
    for (auto record = records->rbegin(); record != records->rend(); ++record)
        if (record->check == record_check)
            if (auto map = channel_map_from_text(record->says)) return map;
    return std::nullopt;
}

Result<void> keep_channels(Show& show, ChannelMap map, const log::Origin& origin) {
    const auto before = kept_channels(show);
    if (!before) return std::unexpected(before.error());
    if (*before) {
        for (const auto& output : (*before)->outputs)
            if (std::ranges::find(map.outputs, output.circuit, &CircuitOutput::circuit) == map.outputs.end()) map.outputs.push_back(output);
        // A take without positions (loopback, calibrator) says nothing of where mics stand.
        if (map.mics.empty()) map.mics = (*before)->mics;
        if (!map.loopback_output) map.loopback_output = (*before)->loopback_output;
    }
    std::ranges::sort(map.outputs, {}, &CircuitOutput::circuit);
    const std::string text = to_text(map);
    if (*before && to_text(**before) == text) return {};
    return show.log.add_gear({std::string(record_check), std::string(record_subject), std::string(record_verdict), text, origin});
}

std::optional<int> output_of(const plan::Plan& plan, const std::optional<ChannelMap>& kept, const std::string& circuit) {
    if (kept)
        if (const auto own = std::ranges::find(kept->outputs, circuit, &CircuitOutput::circuit); own != kept->outputs.end())
            return own->output;
    const auto boxes = plan.boxes_of(circuit);
    return boxes.empty() ? std::nullopt : boxes.front()->output;
}

}  // namespace proofwalk::walk
