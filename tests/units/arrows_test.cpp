// The arrows of docs/architecture.md, read from the includes themselves.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <string>

namespace {

namespace fs = std::filesystem;
const fs::path source{PROOFWALK_SOURCE_DIR "/src"};

// What each folder may include; a folder may always include itself.
const std::map<std::string, std::set<std::string>> allowed = {
    {"units", {}},
    {"signal", {"units"}},
    {"acoustics", {"units"}},
    {"plan", {"units", "acoustics"}},
    {"verify", {"units", "signal", "acoustics", "plan"}},
    {"capture", {"units", "signal"}},
    {"rehearsal", {"units", "signal", "acoustics", "plan", "capture"}},
    {"log", {"units", "signal", "acoustics", "plan", "verify"}},
    {"report", {"units", "signal", "acoustics", "plan", "verify"}},
    {"walk", {"units", "signal", "acoustics", "plan", "verify", "capture", "rehearsal", "log", "report"}},
    {"cli", {"units", "signal", "acoustics", "plan", "verify", "capture", "rehearsal", "log", "report", "walk"}},
    {"app", {"units", "signal", "acoustics", "plan", "verify", "capture", "rehearsal", "log", "report", "walk"}},
};

// Packages that stay in one folder (toml++ in two).
const std::map<std::string, std::set<std::string>> packages = {
    {"kiss_fft", {"signal"}}, {"kissfft", {"signal"}},  {"portaudio.h", {"capture"}}, {"sqlite3.h", {"log"}},
    {"imgui", {"app"}},       {"GLFW/", {"app"}},       {"toml++", {"plan", "capture"}}, {"nlohmann/", {"report"}},
    {"CLI/CLI", {"cli"}},     {"hdf5.h", {"acoustics"}}, {"mysofa.h", {"acoustics"}},
};

template <class Visit>
void each_include(Visit visit) {
    const std::regex include{R"(^\s*#\s*include\s*([<"])([^>"]+)[>"])"};
    for (const auto& entry : fs::recursive_directory_iterator(source)) {
        const auto extension = entry.path().extension();
        if (extension != ".cpp" && extension != ".hpp") continue;
        const std::string folder = fs::relative(entry.path(), source).begin()->string();
        std::ifstream file{entry.path()};
        for (std::string line; std::getline(file, line);) {
            std::smatch match;
            if (std::regex_search(line, match, include)) visit(entry.path(), folder, match[2].str(), match[1] == "\"");
        }
    }
}

TEST(Arrows, NoFolderIncludesWhatStandsToItsRight) {
    int seen = 0;
    each_include([&](const fs::path& file, const std::string& folder, const std::string& included, bool own) {
        if (!own) return;
        ++seen;
        const std::string target = included.substr(0, included.find('/'));
        // One program, two faces: only main.cpp knows both.
        if (file.filename() == "main.cpp" && folder == "cli" && target == "app") return;
        ASSERT_TRUE(allowed.contains(folder)) << file;
        EXPECT_TRUE(target == folder || allowed.at(folder).contains(target)) << file << " includes " << included;
    });
    EXPECT_GT(seen, 100);
}

TEST(Arrows, APackageStaysInItsFolder) {
    each_include([&](const fs::path& file, const std::string& folder, const std::string& included, bool) {
        for (const auto& [package, folders] : packages)
            EXPECT_TRUE(!included.starts_with(package) || folders.contains(folder)) << file << " includes " << included;
    });
}

}  // namespace
