#include <gmock/gmock.h>

#include <cstdlib>

#include "capture/preference.hpp"
#include "capture/takes_folder.hpp"

namespace proofwalk::capture {
namespace {

using testing::HasSubstr;

class Preference : public TakesFolder {
protected:
    void SetUp() override {
        TakesFolder::SetUp();
        if (const char* config = std::getenv("XDG_CONFIG_HOME")) before = config;
    }
    void TearDown() override {
        if (before)
            setenv("XDG_CONFIG_HOME", before->c_str(), 1);
        else
            unsetenv("XDG_CONFIG_HOME");
        TakesFolder::TearDown();
    }
    std::optional<std::string> before;
};

TEST_F(Preference, IsRememberedInTheConfigurationDirectory) {
    setenv("XDG_CONFIG_HOME", folder.c_str(), 1);
    EXPECT_EQ(preference_file(), folder / "proofwalk" / "device.toml");
    const auto none = load_preference();
    ASSERT_TRUE(none.has_value());
    EXPECT_FALSE(none->has_value());
    ASSERT_TRUE(save_preference({"Eight \"in\" > JACK:hall", 96000.0, 3}).has_value());
    const auto kept = load_preference();
    ASSERT_TRUE(kept.has_value() && kept->has_value());
    EXPECT_EQ((*kept)->device, "Eight \"in\" > JACK:hall");
    EXPECT_EQ((*kept)->rate_hz, 96000.0);
    EXPECT_EQ((*kept)->reference, 3);
    EXPECT_FALSE(std::filesystem::exists(folder / "proofwalk" / "device.toml.part"));
    setenv("XDG_CONFIG_HOME", "relative/path", 1);
    EXPECT_NE(preference_file(), "relative/path/proofwalk/device.toml");
}

TEST_F(Preference, AFileThatCannotBeUsedSaysSo) {
    for (const char* text : {"", "device = ", "device = 3\n", "device = \"\"\n", "device = \"x\"\nrate_hz = 1.0\n", "device = \"x\"\nreference = 0\n"}) {
        const auto loaded = load_preference(write("device.toml", text));
        ASSERT_FALSE(loaded.has_value()) << text;
        EXPECT_THAT(sentence(loaded.error()), HasSubstr("device.toml"));
    }
    write("no-folder", "x");
    EXPECT_THAT(sentence(save_preference({"x", 48000.0, 1}, folder / "no-folder" / "device.toml").error()), HasSubstr("cannot be remembered"));
}

}  // namespace
}  // namespace proofwalk::capture
