// Planted faults as people type them: SUBJECT:KIND[:AMOUNT].

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "rehearsal/rehearsal.hpp"
#include "units/nearest.hpp"

namespace proofwalk::rehearsal {
namespace {

enum class Asked { box, pair, circuit };  // what a kind of fault happens to

struct Kind {
    FaultType type;
    std::string_view word;
    Asked of;
    std::string_view unit;  // of its amount; empty: none is asked
    double largest;
};

constexpr std::array<Kind, 11> kinds = {{
    {FaultType::aim_h, "aim-h", Asked::box, "deg", 90.0},
    {FaultType::aim_v, "aim-v", Asked::box, "deg", 90.0},
    {FaultType::splay, "splay", Asked::pair, "deg", 90.0},
    {FaultType::spacing, "spacing", Asked::pair, "m", 20.0},
    {FaultType::delay, "delay", Asked::box, "ms", 500.0},
    {FaultType::gain, "gain", Asked::box, "dB", 60.0},
    {FaultType::polarity, "polarity", Asked::box, "", 0.0},
    {FaultType::dead_high, "dead-high", Asked::box, "", 0.0},
    {FaultType::dead_low, "dead-low", Asked::box, "", 0.0},
    {FaultType::silent, "silent", Asked::box, "", 0.0},
    {FaultType::swap, "swap", Asked::circuit, "", 0.0},
}};

const Kind& kind_of(FaultType type) { return *std::ranges::find(kinds, type, &Kind::type); }

std::unexpected<Fault> refused(std::string_view text, std::string reason, std::string remedy) {
    return std::unexpected(
        Fault{FaultKind::input, "", fmt::format("--fault {}", text), std::move(reason), std::move(remedy)});
}

std::vector<std::string> parts_of(std::string_view text) {
    std::vector<std::string> parts(1);
    for (const char letter : text) {
        if (letter == ':')
            parts.emplace_back();
        else
            parts.back() += letter;
    }
    return parts;
}

template <class Range>
std::string nearest(std::string_view word, const Range& known, std::string_view what) {
    const std::vector<std::string_view> views(known.begin(), known.end());
    return nearest_remedy(word, views, what);
}

std::vector<std::string> box_ids(const plan::Plan& plan) {
    std::vector<std::string> ids;
    for (const plan::Box& box : plan.boxes) ids.push_back(box.id);
    return ids;
}

std::optional<double> number(std::string_view text) {
    if (text.starts_with('+')) text.remove_prefix(1);
    double value = 0.0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
    return value;
}

Result<void> check_circuit(std::string_view text, const std::string& id, const plan::Plan& plan) {
    if (const auto circuits = plan.circuits(); std::ranges::find(circuits, id) == circuits.end())
        return refused(text, fmt::format("the plan has no circuit \"{}\"", id), nearest(id, circuits, "circuit"));
    return {};
}

Result<void> check_pair(std::string_view text, const std::string& subject, std::string_view word, const plan::Plan& plan) {
    const std::size_t plus = subject.find('+');
    if (plus == std::string::npos)
        return refused(text, fmt::format("{} is asked of two boxes, not of \"{}\"", word, subject),
                       "write the pair as FIRST+SECOND; the second box is the one that is moved");
    const std::string first = subject.substr(0, plus), second = subject.substr(plus + 1);
    for (const std::string& id : {first, second})
        if (plan.box(id) == nullptr)
            return refused(text, fmt::format("the plan has no box \"{}\"", id), nearest(id, box_ids(plan), "box"));
    if (first == second) return refused(text, "the pair names one box twice", "name two boxes");
    return {};
}

Result<void> check_box(std::string_view text, const std::string& id, const Kind& kind, const plan::Plan& plan) {
    const auto of_circuit = plan.boxes_of(id);
    if (plan.box(id) == nullptr && of_circuit.empty())
        return refused(text, fmt::format("the plan has no box or circuit \"{}\"", id), nearest(id, box_ids(plan), "box"));
    if (kind.type != FaultType::aim_h && kind.type != FaultType::aim_v) return {};
    const plan::Box& box = plan.box(id) != nullptr ? *plan.box(id) : *of_circuit.front();
    if (plan.model_of(box).pattern == plan::Pattern::omni)
        return refused(text, fmt::format("\"{}\" is omnidirectional, so turning it changes nothing", id),
                       "plant the fault on a beam box");
    return {};
}

}  // namespace

std::string to_text(const PlantedFault& fault) {
    const Kind& kind = kind_of(fault.type);
    if (fault.type == FaultType::swap) return fmt::format("{}:swap:{}", fault.subject, fault.other);
    if (kind.unit.empty()) return fmt::format("{}:{}", fault.subject, kind.word);
    return fmt::format("{}:{}:{}", fault.subject, kind.word, fault.amount);
}

Result<PlantedFault> fault_from_text(std::string_view text, const plan::Plan& plan) {
    const std::vector<std::string> parts = parts_of(text);
    if (parts.size() < 2 || parts[0].empty())
        return refused(text, "a fault is SUBJECT:KIND or SUBJECT:KIND:AMOUNT", "write for example M1:aim-v:-5 or FF1:swap:FF2");
    const auto kind = std::ranges::find(kinds, parts[1], &Kind::word);
    if (kind == kinds.end()) {
        std::vector<std::string_view> words;
        for (const Kind& known : kinds) words.push_back(known.word);
        return refused(text, fmt::format("unknown kind of fault \"{}\"", parts[1]), nearest_remedy(parts[1], words, "kind"));
    }
    const bool wants_more = !kind->unit.empty() || kind->type == FaultType::swap;
    if (parts.size() > (wants_more ? 3u : 2u))
        return refused(text, fmt::format("{} takes {}", kind->word, wants_more ? "one figure" : "no amount"),
                       fmt::format("leave out \":{}\"", parts.back()));
    PlantedFault fault{kind->type, parts[0], 0.0, ""};
    Result<void> subject;
    switch (kind->of) {
        case Asked::box: subject = check_box(text, parts[0], *kind, plan); break;
        case Asked::pair: subject = check_pair(text, parts[0], kind->word, plan); break;
        case Asked::circuit: subject = check_circuit(text, parts[0], plan); break;
    }
    if (!subject) return std::unexpected(subject.error());
    if (kind->type == FaultType::swap) {
        if (parts.size() < 3) return refused(text, "swap needs the other circuit", fmt::format("write {}:swap:OTHER", parts[0]));
        if (auto other = check_circuit(text, parts[2], plan); !other) return std::unexpected(other.error());
        if (parts[2] == parts[0]) return refused(text, "a circuit can't be swapped with itself", "name two circuits");
        fault.other = parts[2];
    } else if (!kind->unit.empty()) {
        if (parts.size() < 3)
            return refused(text, fmt::format("{} needs an amount in {}", kind->word, kind->unit),
                           fmt::format("write for example {}:{}:-5", parts[0], kind->word));
        const auto amount = number(parts[2]);
        if (!amount) return refused(text, fmt::format("\"{}\" is not a number", parts[2]), fmt::format("give the amount in {} as a plain number", kind->unit));
        if (std::abs(*amount) > kind->largest)
            return refused(text, fmt::format("{} {} is beyond {} {}", parts[2], kind->unit, kind->largest, kind->unit),
                           "plant a smaller fault");
        fault.amount = *amount;
    }
    return fault;
}

}  // namespace proofwalk::rehearsal
