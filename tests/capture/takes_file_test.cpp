#include <gmock/gmock.h>

#include "capture/takes_folder.hpp"

namespace proofwalk::capture {
namespace {

using testing::HasSubstr;
class TakesFileRead : public TakesFolder {};

// Every key of the contract's example.
TEST_F(TakesFileRead, ReadsEveryKeyOfTheContract) {
    write("m1.txt", "* response\n1000 0.5\n10000 -1.5\n");
    const auto file = write("takes.toml", R"(format = "proofwalk.takes/1"
[air]
temperature_c = 22.5
humidity_pct  = 48.0
[[mic]]
id = "m1"
calibration   = "m1.txt"
pascal_per_fs = 6.32
latency_ms    = 2.5
serial        = "0417"
[[mic]]
id = "m2"
[[signal]]
id   = "sweep"
file = "sweep.wav"
[[take]]
id    = "t01"
file  = "t01.wav"
time  = 2026-05-02T15:04:05Z
kind  = "sweep"
sounding  = ["M1"]
starts    = [{ circuit = "M1", at_s = 0.5 }]
reference = 1
mics = [ { channel = 2, mic = "m1", position = "p3" }, { channel = 3, mic = "m2", position = "p4" } ]
[[take]]
id = "t02"
file = "t02.wav"
kind = "sweep"
sounding = ["M1"]
signal = "sweep"
mics = [{ channel = 1, mic = "m1", position = "p3" }]
[[take]]
id = "cal"
file = "cal.wav"
kind = "calibrator"
level_db = 94.0
mics = [{ channel = 1, mic = "m1" }]
[[take]]
id = "quiet"
file = "q.wav"
kind = "silence"
time = 2026-05-02T17:04:05.25+02:00
sounding = []
mics = [{ channel = 1, mic = "m1", position = "p3" }]
[[take]]
id = "loop"
file = "l.wav"
kind = "loopback"
reference = 1
)");
    const auto takes = load_takes(file);
    ASSERT_TRUE(takes.has_value()) << told(takes.error());
    EXPECT_EQ(told(takes->faults), "");
    ASSERT_TRUE(takes->air.has_value());
    EXPECT_EQ(takes->air->temperature_c, 22.5);
    EXPECT_EQ(takes->air->humidity_pct, 48.0);
    EXPECT_EQ(takes->air->pressure_kpa, std::nullopt);
    const Mic* mic = takes->mic("m1");
    ASSERT_NE(mic, nullptr);
    ASSERT_TRUE(mic->response.has_value());
    EXPECT_EQ(mic->response->hz, (std::vector<double>{1000.0, 10000.0}));
    EXPECT_EQ(mic->pascal_per_fs, 6.32);
    EXPECT_DOUBLE_EQ(mic->latency_s, 0.0025);
    EXPECT_EQ(mic->serial, "0417");
    ASSERT_EQ(takes->takes.size(), 5u);
    const auto& first = takes->takes[0];
    EXPECT_EQ(first.sheet.label, "t01");
    EXPECT_EQ(first.recording, folder / "t01.wav");
    EXPECT_EQ(first.sheet.kind, signal::TakeKind::sweep);
    EXPECT_EQ(first.sheet.time, moment_from_text("2026-05-02T15:04:05Z"));
    EXPECT_EQ(first.sheet.sounding, std::vector<std::string>{"M1"});
    ASSERT_EQ(first.sheet.starts.size(), 1u);
    EXPECT_EQ(first.sheet.starts[0].at_s, 0.5);
    EXPECT_EQ(first.sheet.reference, 1);
    ASSERT_EQ(first.sheet.mics.size(), 2u);
    EXPECT_EQ(first.sheet.mics[1].channel, 3);
    EXPECT_EQ(first.sheet.mics[1].mic, "m2");
    EXPECT_EQ(first.sheet.mics[1].position, "p4");
    EXPECT_EQ(takes->takes[1].signal, folder / "sweep.wav");
    EXPECT_EQ(takes->takes[2].sheet.calibrator_db, 94.0);
    EXPECT_EQ(takes->takes[3].sheet.time, moment_from_text("2026-05-02T17:04:05+02:00"));
    EXPECT_TRUE(takes->takes[4].sheet.mics.empty());
}

struct BadFile {
    const char* name;
    const char* text;
    const char* expected;  // in one of the sentences
};

class WholeFileFault : public TakesFolder, public testing::WithParamInterface<BadFile> {};

TEST_P(WholeFileFault, EndsTheFileWithASentence) {
    const auto takes = load_takes(write("takes.toml", GetParam().text));
    ASSERT_FALSE(takes.has_value());
    EXPECT_THAT(told(takes.error()), HasSubstr(GetParam().expected));
    EXPECT_THAT(told(takes.error()), HasSubstr("takes.toml"));
    for (const auto& fault : takes.error()) EXPECT_EQ(exit_status(fault), 2);
}

INSTANTIATE_TEST_SUITE_P(
    Malformed, WholeFileFault,
    testing::Values(
        BadFile{"empty", "", "is empty"}, BadFile{"binary", "\x7f" "ELF\x02\x01", "not TOML"},
        BadFile{"no_format", "[[take]]\nid = \"t\"\n", "does not say its format"},
        BadFile{"newer_format", "format = \"proofwalk.takes/9\"\n", "\"proofwalk.takes/9\", which this program does not read"},
        BadFile{"format_is_number", "format = 1\n", "does not say its format"},
        BadFile{"a_plan", "format = \"proofwalk.plan/1\"\nname = \"x\"\n", "unknown key \"name\""},
        BadFile{"no_take", "format = \"proofwalk.takes/1\"\n", "lists no take"},
        BadFile{"take_is_number", "format = \"proofwalk.takes/1\"\ntake = 3\n", "take must be a list of sections"},
        BadFile{"unclosed_text", "format = \"proofwalk.takes/1\nid = 2\n", "line 1"},
        BadFile{"key_twice", "format = \"proofwalk.takes/1\"\nformat = \"proofwalk.takes/1\"\n", "line 2"},
        BadFile{"unknown_top", "format = \"proofwalk.takes/1\"\n[[takes]]\n", "line 2: unknown key \"takes\"; did you mean \"take\"?"},
        BadFile{"unknown_in_take", "format = \"proofwalk.takes/1\"\n[[take]]\nrefrence = 1\n", "did you mean \"reference\"?"},
        BadFile{"unknown_in_mics", "format = \"proofwalk.takes/1\"\n[[take]]\nmics = [{ chanel = 1 }]\n", "did you mean \"channel\"?"},
        BadFile{"unknown_in_starts", "format = \"proofwalk.takes/1\"\n[[take]]\nstarts = [{ at = 1 }]\n", "did you mean \"at_s\"?"},
        BadFile{"unknown_in_mic", "format = \"proofwalk.takes/1\"\n[[mic]]\nlatency = 1\n", "latency_ms"},
        BadFile{"far_off_key", "format = \"proofwalk.takes/1\"\n[[mic]]\nzzzzzzzzzz = 1\n", "unknown key \"zzzzzzzzzz\""},
        BadFile{"mic_twice", "format = \"proofwalk.takes/1\"\n[[mic]]\nid=\"a\"\n[[mic]]\nid=\"a\"\n", "stands for two mics"},
        BadFile{"mic_without_id", "format = \"proofwalk.takes/1\"\n[[mic]]\nserial=\"1\"\n", "id is missing"},
        BadFile{"infinite_latency", "format = \"proofwalk.takes/1\"\n[[mic]]\nid=\"a\"\nlatency_ms = inf\n", "latency_ms must be a number"},
        BadFile{"nan_sensitivity", "format = \"proofwalk.takes/1\"\n[[mic]]\nid=\"a\"\npascal_per_fs = nan\n", "pascal_per_fs must be"},
        BadFile{"no_sensitivity", "format = \"proofwalk.takes/1\"\n[[mic]]\nid=\"a\"\npascal_per_fs = 0\n", "pascal_per_fs must be"},
        BadFile{"hot_air", "format = \"proofwalk.takes/1\"\n[air]\ntemperature_c = 2000\n", "temperature_c must be a number from"},
        BadFile{"air_is_text", "format = \"proofwalk.takes/1\"\nair = \"warm\"\n", "air must be a section"},
        BadFile{"signal_twice", "format = \"proofwalk.takes/1\"\n[[signal]]\nid=\"a\"\nfile=\"a\"\n[[signal]]\nid=\"a\"\nfile=\"b\"\n",
                "stands for two signals"}),
    [](const auto& about) { return std::string(about.param.name); });

TEST_F(TakesFileRead, TellsAllFaultsOfTheFileInOneRun) {
    const auto takes = load_takes(write("takes.toml", "format = \"x\"\ntypo = 1\n[[mic]]\nidd = \"a\"\n[[take]]\nkin = 1\n"));
    ASSERT_FALSE(takes.has_value());
    const std::string text = told(takes.error());
    for (const char* expected : {"format is \"x\"", "\"typo\"", "\"idd\"", "\"kin\""}) EXPECT_THAT(text, HasSubstr(expected));
}

TEST_F(TakesFileRead, AFileThatIsNotThereAFolderAndAPipeAreRefused) {
    EXPECT_THAT(told(load_takes(folder / "none.toml").error()), HasSubstr("no such file"));
    EXPECT_THAT(told(load_takes(folder).error()), HasSubstr("not a file"));
    EXPECT_THAT(told(load_takes("/dev/zero").error()), HasSubstr("not a file"));
}

TEST_F(TakesFileRead, DeepNestingIsRefusedWithoutACrash) {
    const std::string text = "format = \"proofwalk.takes/1\"\nx = " + std::string(100000, '[') + std::string(100000, ']') + "\n";
    EXPECT_FALSE(load_takes(write("takes.toml", text)).has_value());
}

struct BadTake {
    const char* name;
    const char* from;  // in the good take
    const char* to;
    const char* expected;
};

class OneTakeFault : public TakesFolder, public testing::WithParamInterface<BadTake> {};

TEST_P(OneTakeFault, LeavesTheOthers) {
    std::string bad = sweep_take("bad");
    const auto at = bad.find(GetParam().from);
    ASSERT_NE(at, std::string::npos);
    bad.replace(at, std::string_view(GetParam().from).size(), GetParam().to);
    const auto takes = load(sweep_take("t01") + bad + sweep_take("t03"));
    ASSERT_TRUE(takes.has_value()) << told(takes.error());
    ASSERT_EQ(takes->takes.size(), 2u);
    EXPECT_EQ(takes->takes[0].sheet.label, "t01");
    EXPECT_EQ(takes->takes[1].sheet.label, "t03");
    EXPECT_THAT(told(takes->faults), HasSubstr(GetParam().expected));
    EXPECT_THAT(told(takes->faults), HasSubstr("line "));
    EXPECT_EQ(takes->faults.size(), 1u) << told(takes->faults);
}

INSTANTIATE_TEST_SUITE_P(
    Malformed, OneTakeFault,
    testing::Values(
        BadTake{"two_of_one_id", "\"bad\"", "\"t01\"", "its id stands at line"}, BadTake{"no_id", "id = \"bad\"\n", "", "id is missing"},
        BadTake{"control_character", "\"bad\"", "\"b\\u001bd\"", "id must be a text"},
        BadTake{"no_file", "file = \"t01.wav\"\n", "", "file is missing"},
        BadTake{"unknown_kind", "\"sweep\"", "\"sweeep\"", "unknown kind \"sweeep\"; did you mean \"sweep\"?"},
        BadTake{"kind_is_number", "\"sweep\"", "3", "kind must be a text"},
        BadTake{"nothing_sounds", "[\"M1\"]", "[]", "does not say which circuit sounded"},
        BadTake{"sounding_is_text", "[\"M1\"]", "\"M1\"", "sounding must be a list"},
        BadTake{"sounds_twice", "[\"M1\"]", "[\"M1\", \"M1\"]", "list of different names"},
        BadTake{"silence_sounds", "\"sweep\"", "\"silence\"", "a silence take has no circuit sounding"},
        BadTake{"no_reference", "reference = 1\n", "", "nothing says what was played"},
        BadTake{"reference_zero", "reference = 1", "reference = 0", "reference must be a channel number"},
        BadTake{"reference_huge", "reference = 1", "reference = 99999999999", "reference must be a channel number"},
        BadTake{"reference_fraction", "reference = 1", "reference = 1.5", "reference must be a channel number"},
        BadTake{"reference_is_mic", "reference = 1", "reference = 2", "channel 2 is the reference and a mic"},
        BadTake{"unknown_signal", "reference = 1", "signal = \"chirp\"", "no [[signal]] with the id \"chirp\""},
        BadTake{"unknown_mic", "mic = \"m1\"", "mic = \"m11\"", "no [[mic]] with the id \"m11\""},
        BadTake{"channel_twice", "channel = 3", "channel = 2", "channel 2 carries two mics"},
        BadTake{"mic_twice", "mic = \"m2\"", "mic = \"m1\"", "mic \"m1\" is on two channels"},
        BadTake{"no_position", ", position = \"p1\"", "", "position is missing"},
        BadTake{"no_channel", "channel = 2, ", "", "channel is missing"},
        BadTake{"negative_channel", "channel = 2", "channel = -2", "channel must be a channel number"},
        BadTake{"start_elsewhere", "reference", "starts = [{ circuit = \"X\", at_s = 0 }]\nreference", "not among those sounding"},
        BadTake{"negative_start", "reference", "starts = [{ circuit = \"M1\", at_s = -1 }]\nreference", "at_s must be a number"},
        BadTake{"start_without_time", "reference", "starts = [{ circuit = \"M1\" }]\nreference", "at_s is missing"},
        BadTake{"level_of_a_sweep", "reference", "level_db = 94\nreference", "a sweep take has no calibrator level"},
        BadTake{"local_time", "reference", "time = 2026-05-02T15:04:05\nreference", "time must be a date and time with its offset"},
        BadTake{"time_is_text", "reference", "time = \"noon\"\nreference", "time must be a date and time with its offset"}),
    [](const auto& about) { return std::string(about.param.name); });

TEST_F(TakesFileRead, OverlappedSweepsNeedAStartForEveryCircuit) {
    const std::string take = "[[take]]\nid=\"o\"\nfile=\"o.wav\"\nkind=\"sweep\"\nsounding=[\"A\",\"B\"]\nreference=1\n"
                             "mics=[{channel=2,mic=\"m1\",position=\"p\"}]\n";
    const auto whole = load(take + "starts=[{circuit=\"A\",at_s=0.5},{circuit=\"B\",at_s=1}]\n");
    ASSERT_TRUE(whole.has_value());
    ASSERT_EQ(whole->takes.size(), 1u) << told(whole->faults);
    EXPECT_EQ(whole->takes[0].sheet.starts.size(), 2u);
    const auto half = load(take + "starts=[{circuit=\"A\",at_s=0.5}]\n");
    EXPECT_TRUE(half->takes.empty());
    EXPECT_THAT(told(half->faults), HasSubstr("has no start"));
    const auto twice = load(take + "starts=[{circuit=\"A\",at_s=0.5},{circuit=\"A\",at_s=1}]\n");
    EXPECT_TRUE(twice->takes.empty());
    EXPECT_THAT(told(twice->faults), HasSubstr("starts twice"));
}

TEST_F(TakesFileRead, AMicWhoseCalibrationCannotBeReadIsLeftOutWithItsReason) {
    write("good.txt", "1000 0\n10000 -1\n");
    write("bad.txt", "this is no response\n");
    const std::string mics = "[[mic]]\nid=\"g\"\ncalibration=\"good.txt\"\n[[mic]]\nid=\"b\"\ncalibration=\"bad.txt\"\n"
                             "[[mic]]\nid=\"n\"\ncalibration=\"none.txt\"\n";
    const auto takes = load(mics +
                            "[[take]]\nid=\"t\"\nfile=\"t.wav\"\nkind=\"sweep\"\nsounding=[\"A\"]\nreference=1\n"
                            "mics=[{channel=2,mic=\"g\",position=\"p\"},{channel=3,mic=\"b\",position=\"q\"},{channel=4,mic=\"n\",position=\"r\"}]\n"
                            "[[take]]\nid=\"u\"\nfile=\"t.wav\"\nkind=\"sweep\"\nsounding=[\"A\"]\nreference=1\n"
                            "mics=[{channel=3,mic=\"b\",position=\"q\"}]\n");
    ASSERT_TRUE(takes.has_value()) << told(takes.error());
    ASSERT_EQ(takes->takes.size(), 1u);
    ASSERT_EQ(takes->takes[0].sheet.mics.size(), 1u);
    EXPECT_EQ(takes->takes[0].sheet.mics[0].mic, "g");
    EXPECT_THAT(told(takes->faults), HasSubstr("bad.txt"));
    EXPECT_THAT(told(takes->faults), HasSubstr("none.txt"));
    EXPECT_THAT(told(takes->faults), HasSubstr("none of its mics is usable"));
}

// The cases are recorded sets by another hand; every one must load and be read whole.
TEST_F(TakesFileRead, ReadsTheRecordedCases) {
    const std::filesystem::path cases = PROOFWALK_SOURCE_DIR "/../shared/cases";
    if (!std::filesystem::exists(cases)) GTEST_SKIP() << "the recorded cases are not here";
    int sets = 0;
    for (const auto& entry : std::filesystem::directory_iterator(cases)) {
        if (!std::filesystem::exists(entry.path() / "takes.toml")) continue;
        ++sets;
        const auto takes = load_takes(entry.path() / "takes.toml");
        ASSERT_TRUE(takes.has_value()) << told(takes.error());
        EXPECT_EQ(told(takes->faults), "");
        EXPECT_FALSE(takes->takes.empty());
        for (const auto& take : takes->takes) {
            const auto recording = record_of(*takes, take);
            ASSERT_TRUE(recording.has_value()) << sentence(recording.error());
            EXPECT_EQ(told(recording->channel_faults), "");
            EXPECT_EQ(recording->sha256.size(), 64u);
        }
    }
    EXPECT_GT(sets, 0);
}

}  // namespace
}  // namespace proofwalk::capture
