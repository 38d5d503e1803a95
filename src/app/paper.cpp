#include "app/paper.hpp"

#include <cmath>

namespace proofwalk::app {
namespace {

// Deep neutral ground, pale ink: nothing bright enough to light a face.
constexpr Paper hall_paper = {
    PaperKind::hall,
    rgb(0x17181A), rgb(0xC2BEB2), rgb(0x8E8B82), rgb(0x45454A), rgb(0x2A2B2F), rgb(0x1F2023), rgb(0x0C0C0E, 190),
    rgb(0x56B4E9), rgb(0xE5702A), rgb(0xE69F00), rgb(0xC2BEB2), rgb(0x8E8B82),
    {rgb(0x56B4E9), rgb(0xE69F00), rgb(0x009E73), rgb(0xCC79A7), rgb(0xF0E442), rgb(0xD55E00), rgb(0x3C8FC4), rgb(0xC2BEB2)}};

// White, near-black ink, highest contrast: for the sun.
constexpr Paper day_paper = {
    PaperKind::day,
    rgb(0xFFFFFF), rgb(0x101010), rgb(0x4A4A4A), rgb(0x9A9A9A), rgb(0xE4E8EC), rgb(0xF4F4F4), rgb(0xFFFFFF, 205),
    rgb(0x0072B2), rgb(0xB84E00), rgb(0x8F6200), rgb(0x101010), rgb(0x4A4A4A),
    {rgb(0x0072B2), rgb(0xD55E00), rgb(0x009E73), rgb(0xCC79A7), rgb(0x000000), rgb(0x56B4E9), rgb(0xE69F00), rgb(0xB8AC00)}};

// What a printer gives: black on white, tone nearly gone, shapes and dashes do the work.
constexpr Paper print_paper = {
    PaperKind::print,
    rgb(0xFFFFFF), rgb(0x000000), rgb(0x3C3C3C), rgb(0x707070), rgb(0xEBEBEB), rgb(0xFFFFFF), rgb(0xFFFFFF, 225),
    rgb(0x000000), rgb(0x000000), rgb(0x000000), rgb(0x000000), rgb(0x3C3C3C),
    {rgb(0x000000), rgb(0x0072B2), rgb(0xD55E00), rgb(0x009E73), rgb(0x707070), rgb(0x56B4E9), rgb(0xE69F00), rgb(0xCC79A7)}};

double linear(std::uint32_t channel) {
    const double c = static_cast<double>(channel & 0xFFU) / 255.0;
    return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}

}  // namespace

Colour Paper::tone(verify::Verdict verdict) const {
    switch (verdict) {
        case verify::Verdict::pass: return pass;
        case verify::Verdict::fail: return fail;
        case verify::Verdict::unsure: return unsure;
        case verify::Verdict::open: return open;
        case verify::Verdict::skipped: return skipped;
    }
    return ink;
}

const Paper& paper(PaperKind kind) {
    switch (kind) {
        case PaperKind::day: return day_paper;
        case PaperKind::print: return print_paper;
        case PaperKind::hall: break;
    }
    return hall_paper;
}

PaperKind next_paper(PaperKind kind) {
    return kind == PaperKind::hall ? PaperKind::day : kind == PaperKind::day ? PaperKind::print : PaperKind::hall;
}

std::string_view word(PaperKind kind) {
    return kind == PaperKind::hall ? "hall" : kind == PaperKind::day ? "day" : "print";
}

std::optional<PaperKind> paper_from_word(std::string_view text) {
    for (const PaperKind kind : {PaperKind::hall, PaperKind::day, PaperKind::print})
        if (word(kind) == text) return kind;
    return std::nullopt;
}

double luminance(Colour colour) {
    return 0.2126 * linear(colour) + 0.7152 * linear(colour >> 8) + 0.0722 * linear(colour >> 16);
}

double contrast(Colour a, Colour b) {
    const double first = luminance(a), second = luminance(b);
    return (std::max(first, second) + 0.05) / (std::min(first, second) + 0.05);
}

}  // namespace proofwalk::app
