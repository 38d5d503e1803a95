// Runs the real program as a person or a script would, in a scratch folder of its own.
#pragma once

#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

namespace proofwalk::cli_test {

namespace fs = std::filesystem;

inline const std::string program = PROOFWALK_BINARY_DIR "/bin/proofwalk";
inline const fs::path source{PROOFWALK_SOURCE_DIR};
inline const fs::path shared = source / ".." / "shared";

struct Outcome {
    int status = -1;
    std::string out, err;

    [[nodiscard]] nlohmann::json json() const { return nlohmann::json::parse(out); }
};

inline std::string slurp(const fs::path& file) {
    std::ifstream stream{file, std::ios::binary};
    std::ostringstream text;
    text << stream.rdbuf();
    return text.str();
}

inline void write_file(const fs::path& file, const std::string& text) {
    std::ofstream{file, std::ios::binary} << text;
}

// One scratch folder a test, gone afterwards.
class ProgramTest : public ::testing::Test {
protected:
    ProgramTest() {
        std::string pattern = (fs::temp_directory_path() / "proofwalk-cli-XXXXXX").string();
        folder = mkdtemp(pattern.data());
    }
    ~ProgramTest() override {
        std::error_code ignored;
        fs::permissions(folder, fs::perms::owner_all, fs::perm_options::add, ignored);
        fs::remove_all(folder, ignored);
    }

    static std::string quoted(const std::string& word) {
        std::string text = "'";
        for (const char c : word) text += c == '\'' ? std::string{"'\\''"} : std::string{c};
        return text + "'";
    }

    Outcome run(const std::vector<std::string>& arguments) const { return run_with("", arguments); }

    // `before` stands before the program on the shell's line, for example "timeout 20" or "NO_COLOR=1".
    Outcome run_with(const std::string& before, const std::vector<std::string>& arguments) const {
        const fs::path out = folder / "stdout.txt", err = folder / "stderr.txt";
        std::string line = before + " " + quoted(program);
        for (const auto& argument : arguments) line += " " + quoted(argument);
        line += " >" + quoted(out.string()) + " 2>" + quoted(err.string()) + " </dev/null";
        const int raw = std::system(line.c_str());
        return {WIFEXITED(raw) ? WEXITSTATUS(raw) : 128 + WTERMSIG(raw), slurp(out), slurp(err)};
    }

    [[nodiscard]] std::string in_folder(const std::string& name) const { return (folder / name).string(); }

    fs::path folder;
};

}  // namespace proofwalk::cli_test
