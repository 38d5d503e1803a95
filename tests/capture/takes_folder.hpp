// A temporary folder with recordings and a takes file, for tests of what people bring from site.
#pragma once

#include <gtest/gtest.h>
#include <sndfile.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>
#include <string_view>
#include <vector>

#include <fmt/format.h>

#include "capture/takes_file.hpp"

namespace proofwalk::capture {

class TakesFolder : public testing::Test {
protected:
    void SetUp() override {
        const auto* test = testing::UnitTest::GetInstance()->current_test_info();
        folder = std::filesystem::temp_directory_path() /
                 fmt::format("proofwalk-{}-{}-{}", test->test_suite_name(), test->name(), getpid());
        std::filesystem::create_directories(folder);
    }
    void TearDown() override {
        std::error_code ignored;
        std::filesystem::remove_all(folder, ignored);
    }

    std::filesystem::path write(const std::string& name, std::string_view bytes) const {
        std::ofstream(folder / name, std::ios::binary) << bytes;
        return folder / name;
    }
    [[nodiscard]] std::string bytes_of(const std::string& name) const {
        std::ifstream stream(folder / name, std::ios::binary);
        return {std::istreambuf_iterator<char>(stream), {}};
    }

    // Noise at about -20 dB on every channel, each channel its own.
    [[nodiscard]] static std::vector<std::vector<float>> noise(int channels, std::size_t length) {
        std::vector<std::vector<float>> samples(static_cast<std::size_t>(channels));
        unsigned state = 12345;
        for (auto& channel : samples)
            for (std::size_t n = 0; n < length; ++n) {
                state = state * 1664525u + 1013904223u;
                channel.push_back(0.1f * (static_cast<float>(state >> 8) / 8388608.0f - 1.0f));
            }
        return samples;
    }

    std::filesystem::path write_sound(const std::string& name, const std::vector<std::vector<float>>& channels, int rate_hz = 48000,
                                      int format = SF_FORMAT_WAV | SF_FORMAT_PCM_24) const {
        SF_INFO info{};
        info.samplerate = rate_hz;
        info.channels = static_cast<int>(channels.size());
        info.format = format;
        SNDFILE* file = sf_open((folder / name).c_str(), SFM_WRITE, &info);
        EXPECT_NE(file, nullptr) << sf_strerror(nullptr);
        if (!file) return folder / name;
        sf_command(file, SFC_SET_CLIPPING, nullptr, SF_TRUE);
        for (std::size_t n = 0; n < channels.front().size(); ++n) {
            std::vector<float> frame;
            for (const auto& channel : channels) frame.push_back(channel[n]);
            sf_writef_float(file, frame.data(), 1);
        }
        sf_close(file);
        return folder / name;
    }

    // The takes file with two mics and the given sections after them.
    [[nodiscard]] Checked<TakesFile> load(std::string_view sections, std::string_view head = "format = \"proofwalk.takes/1\"\n") const {
        std::string text{head};
        text += "[[mic]]\nid = \"m1\"\n[[mic]]\nid = \"m2\"\n";
        text += sections;
        std::ofstream(folder / "takes.toml", std::ios::binary) << text;
        return load_takes(folder / "takes.toml");
    }

    [[nodiscard]] static std::string sweep_take(std::string_view id = "t01", std::string_view file = "t01.wav") {
        return fmt::format("[[take]]\nid = \"{}\"\nfile = \"{}\"\nkind = \"sweep\"\nsounding = [\"M1\"]\nreference = 1\n"
                           "mics = [{{ channel = 2, mic = \"m1\", position = \"p1\" }}, {{ channel = 3, mic = \"m2\", position = \"p2\" }}]\n",
                           id, file);
    }

    [[nodiscard]] static std::string told(const Faults& faults) {
        std::string text;
        for (const auto& fault : faults) text += sentence(fault) + "\n";
        return text;
    }

    std::filesystem::path folder;
};

}  // namespace proofwalk::capture
