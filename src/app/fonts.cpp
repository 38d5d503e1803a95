#include "app/fonts.hpp"

#include <imgui.h>
#include <imgui_freetype.h>

#include <cmath>
#include <system_error>
#include <utility>
#include <vector>

namespace proofwalk::app {
namespace {

namespace fs = std::filesystem;

constexpr std::array<float, 4> sizes_px = {13.0F, 16.0F, 22.0F, 34.0F};
constexpr std::array<bool, 4> is_bold = {false, false, true, true};
// ImGui ends a list of ranges with 0 and keeps a pointer to it: it lives as long as the atlas.
std::vector<ImWchar> ranges;

// Latin, its accents, and the signs that figures and drawings use.
constexpr std::array<std::pair<unsigned, unsigned>, 2> always = {{{0x20, 0x7E}, {0xA0, 0xFF}}};
constexpr std::array<unsigned, 20> signs = {0x2013, 0x2014, 0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2026, 0x2032, 0x2190,
                                            0x2191, 0x2192, 0x2193, 0x2212, 0x2215, 0x2248, 0x2264, 0x2265, 0x25B6, 0xFFFD};

bool is_file(const fs::path& file) {
    std::error_code ignored;
    return fs::is_regular_file(file, ignored);
}

// The next character of UTF-8 text; 0xFFFD for what is none.
unsigned next_character(std::string_view text, std::size_t& at) {
    const auto byte = [&](std::size_t i) { return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U; };
    const unsigned first = byte(at);
    const std::size_t length = first < 0x80 ? 1 : first < 0xC0 ? 0 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
    if (length == 0 || at + length > text.size()) {
        ++at;
        return 0xFFFD;
    }
    unsigned value = length == 1 ? first : first & (0xFFU >> (length + 1));
    for (std::size_t i = 1; i < length; ++i) value = (value << 6) | (byte(at + i) & 0x3FU);
    at += length;
    return value;
}

}  // namespace

Result<FontFiles> find_fonts() {
    FontFiles files;
    for (const char* folder : {"/usr/share/fonts/truetype/dejavu", "/usr/share/fonts/dejavu", "/usr/local/share/fonts"}) {
        const fs::path at{folder};
        if (!is_file(at / "DejaVuSansCondensed.ttf") || !is_file(at / "DejaVuSansCondensed-Bold.ttf")) continue;
        files.regular = at / "DejaVuSansCondensed.ttf";
        files.bold = at / "DejaVuSansCondensed-Bold.ttf";
        break;
    }
    if (files.regular.empty())
        return std::unexpected(Fault{FaultKind::input, "/usr/share/fonts/truetype/dejavu/DejaVuSansCondensed.ttf", "",
                                     "the window's font is not there", "install the Debian package fonts-dejavu-extra"});
    for (const char* file : {"/usr/share/fonts/truetype/droid/DroidSansFallbackFull.ttf",
                             "/usr/share/fonts/truetype/droid/DroidSansFallback.ttf"})
        if (is_file(file)) {
            files.fallback = file;
            break;
        }
    return files;
}

Fonts::Fonts(FontFiles files) : files_(std::move(files)) {
    for (const auto& [first, last] : always)
        for (unsigned c = first; c <= last; ++c) wanted_.set(c);
    for (const unsigned c : signs) wanted_.set(c);
}

void Fonts::build(float scale) {
    scale_ = scale;
    ranges.clear();
    for (unsigned c = 1; c < wanted_.size(); ++c) {
        if (!wanted_[c]) continue;
        if (!ranges.empty() && static_cast<unsigned>(ranges.back()) + 1 == c)
            ranges.back() = static_cast<ImWchar>(c);
        else
            ranges.insert(ranges.end(), {static_cast<ImWchar>(c), static_cast<ImWchar>(c)});
    }
    ranges.push_back(0);
    ImFontAtlas& atlas = *ImGui::GetIO().Fonts;
    atlas.Clear();
    atlas.Flags |= ImFontAtlasFlags_NoPowerOfTwoHeight;
    for (std::size_t i = 0; i < sizes_px.size(); ++i) {
        const float px = std::round(sizes_px[i] * scale);
        ImFontConfig face;
        face.FontBuilderFlags = ImGuiFreeTypeBuilderFlags_LightHinting;
        faces_[i] = atlas.AddFontFromFileTTF((is_bold[i] ? files_.bold : files_.regular).c_str(), px, &face, ranges.data());
        if (files_.fallback.empty() || !beyond_) continue;
        ImFontConfig merged;
        merged.MergeMode = true;
        merged.FontBuilderFlags = ImGuiFreeTypeBuilderFlags_LightHinting;
        atlas.AddFontFromFileTTF(files_.fallback.c_str(), px, &merged, ranges.data());
    }
    atlas.Build();
    ImGui::GetIO().FontDefault = faces_[1];
    missing_ = false;
}

void Fonts::need(std::string_view utf8) {
    for (std::size_t at = 0; at < utf8.size();) {
        if (static_cast<unsigned char>(utf8[at]) < 0x80) {
            ++at;
            continue;
        }
        const unsigned c = next_character(utf8, at);
        if (c >= wanted_.size() || wanted_[c]) continue;
        wanted_.set(c);
        missing_ = beyond_ = true;
    }
}

}  // namespace proofwalk::app
