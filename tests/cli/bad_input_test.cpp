// Bad input is normal: one sentence a fault, the contract's exit status, and nothing logged is lost.
#include <cstdint>

#include "cli/program.hpp"

namespace proofwalk::cli_test {
namespace {

using nlohmann::json;

const std::string small_plan = (source / "fixtures/small/plan.toml").string();

// A 16-bit WAV with the given channels; every channel a decaying click train so that none is empty.
std::string wav(int channels, int frames, int rate = 48000, int cut_bytes = 0) {
    const auto put = [](std::string& text, std::uint32_t value, int bytes) {
        for (int i = 0; i < bytes; ++i) text += static_cast<char>(value >> (8 * i) & 0xffu);
    };
    std::string data;
    for (int n = 0; n < frames; ++n)
        for (int c = 0; c < channels; ++c)
            put(data, static_cast<std::uint32_t>(static_cast<std::int16_t>((n * 7919 + c * 104729) % 2000 - 1000)), 2);
    std::string text = "RIFF";
    put(text, static_cast<std::uint32_t>(36 + data.size()), 4);
    text += "WAVEfmt ";
    put(text, 16, 4);
    put(text, 1, 2);
    put(text, static_cast<std::uint32_t>(channels), 2);
    put(text, static_cast<std::uint32_t>(rate), 4);
    put(text, static_cast<std::uint32_t>(rate * channels * 2), 4);
    put(text, static_cast<std::uint32_t>(channels * 2), 2);
    put(text, 16, 2);
    text += "data";
    put(text, static_cast<std::uint32_t>(data.size()), 4);
    text += data;
    return text.substr(0, text.size() - static_cast<std::size_t>(cut_bytes));
}

class BadInput : public ProgramTest {
protected:
    // Exit status and at least one sentence that names what it is about.
    void expect_refused(const Outcome& outcome, int status, const std::vector<std::string>& names) {
        EXPECT_EQ(outcome.status, status) << outcome.out << outcome.err;
        EXPECT_FALSE(outcome.err.empty());
        for (const auto& name : names) EXPECT_NE(outcome.err.find(name), std::string::npos) << name << " in: " << outcome.err;
        EXPECT_EQ(outcome.err.find("terminate called"), std::string::npos);
    }
    [[nodiscard]] std::string circuit() const {
        return run({"plan", "show", small_plan, "--json"}).json()["boxes"][0]["circuit"];
    }
    [[nodiscard]] std::string position() const {
        return run({"plan", "show", small_plan, "--json"}).json()["positions"][0]["position"];
    }
};

TEST_F(BadInput, PlansAreRefusedWithAReason) {
    expect_refused(run({"plan", "check", in_folder("none.toml")}), 2, {"none.toml"});
    write_file(folder / "empty.toml", "");
    expect_refused(run({"plan", "check", in_folder("empty.toml")}), 2, {"empty.toml"});
    write_file(folder / "binary.toml", std::string("\x00\x01\xff\xfe\x7f", 5) + std::string(4096, '\xc3'));
    expect_refused(run({"plan", "check", in_folder("binary.toml")}), 2, {"binary.toml"});
    std::string text = slurp(small_plan);
    write_file(folder / "typo.toml", text + "\n[[box]]\nid = \"zz\"\nmodle = \"x\"\n");
    expect_refused(run({"plan", "check", in_folder("typo.toml")}), 2, {"typo.toml", "modle", "model"});
    expect_refused(run({"plan", "check", folder.string()}), 2, {folder.string()});
}

TEST_F(BadInput, CommandLinesAreRefusedWithAReason) {
    expect_refused(run({"tallly"}), 2, {"\"tallly\"", "did you mean \"tally\"?", "proofwalk --help"});
    expect_refused(run({"estimate", "splay", "--coverage", "60", "--quieterr", "3"}), 2,
                   {"proofwalk estimate splay does not know \"--quieterr\"", "did you mean \"--quieter\"?", "proofwalk estimate splay --help"});
    expect_refused(run({}), 2, {"--help"});
    expect_refused(run({"tally"}), 2, {"LOG"});
    expect_refused(run({"rehearse", small_plan, "--log", in_folder("a.db"), "--fault", "nobody:aim-h:3"}), 2, {"nobody"});
    EXPECT_FALSE(std::filesystem::exists(in_folder("a.db"))) << "a fault that is no fault begins no log";
    EXPECT_EQ(run({"--help"}).status, 0);
    EXPECT_EQ(run({"--version"}).status, 0);
}

TEST_F(BadInput, LogsThatAreNoneAreToldApart) {
    expect_refused(run({"tally", in_folder("absent.db")}), 3, {"absent.db"});
    EXPECT_FALSE(fs::exists(folder / "absent.db")) << "looking made a log";
    write_file(folder / "text.db", "this is no database at all, but it is long enough to be looked at as one by anybody");
    expect_refused(run({"tally", in_folder("text.db")}), 3, {"text.db"});
    EXPECT_EQ(slurp(folder / "text.db").substr(0, 4), "this") << "a file that is no log was changed";
    expect_refused(run({"rehearse", small_plan, "--log", in_folder("text.db")}), 3, {"text.db"});
    expect_refused(run({"rehearse", small_plan, "--log", "/proc/none/show.db"}), 3, {"show.db"});
}

TEST_F(BadInput, GoodTakesAreKeptBesideBadOnes) {
    write_file(folder / "good.wav", wav(2, 48000));
    write_file(folder / "mono.wav", wav(1, 48000));
    write_file(folder / "cut.wav", wav(2, 48000, 48000, 30000));
    write_file(folder / "text.wav", "no wave");
    write_file(folder / "slow.wav", wav(2, 4000, 8000));
    std::string takes = "format = \"proofwalk.takes/1\"\n[[mic]]\nid = \"m1\"\n";
    const auto take = [&](const std::string& id, const std::string& file, const std::string& place, int channel) {
        takes += "[[take]]\nid = \"" + id + "\"\nfile = \"" + file +
                 "\"\nkind = \"silence\"\nsounding = []\nmics = [{ channel = " + std::to_string(channel) +
                 ", mic = \"m1\", position = \"" + place + "\" }]\n";
    };
    const std::string place = position();
    take("good", "good.wav", place, 2);
    take("mono", "mono.wav", place, 2);
    take("cut", "cut.wav", place, 2);
    take("text", "text.wav", place, 2);
    take("slow", "slow.wav", place, 2);
    take("gone", "gone.wav", place, 2);
    take("lost", "good.wav", "nowhere", 2);
    take("far", "good.wav", place, 99);
    write_file(folder / "takes.toml", takes);
    const Outcome outcome = run({"ingest", small_plan, in_folder("takes.toml"), "--log", in_folder("show.db")});
    expect_refused(outcome, 2, {"mono", "cut", "text.wav", "slow", "gone.wav", "nowhere", "far"});
    EXPECT_NE(outcome.out.find("logged good "), std::string::npos) << outcome.out;
    EXPECT_EQ(outcome.out.find("logged mono"), std::string::npos);
    EXPECT_EQ(run({"tally", in_folder("show.db"), "--json"}).status, 0);
    EXPECT_EQ(run({"recheck", in_folder("show.db")}).status, 0);
}

TEST_F(BadInput, ATakesFileThatIsNoneEndsItAndKeepsTheLog) {
    const std::string log = in_folder("show.db");
    ASSERT_EQ(run({"rehearse", small_plan, "--log", log, "--seed", "5"}).status, 0);
    const json before = run({"tally", log, "--json"}).json();
    write_file(folder / "takes.toml", "format = \"something/9\"\n");
    expect_refused(run({"ingest", in_folder("takes.toml"), "--log", log}), 2, {"takes.toml"});
    expect_refused(run({"ingest", in_folder("none.toml"), "--log", log}), 2, {"none.toml"});
    EXPECT_EQ(run({"tally", log, "--json"}).json(), before);
}

TEST_F(BadInput, NothingPlaysUnarmed) {
    const Outcome outcome = run({"take", small_plan, "--log", in_folder("show.db"), "--device", "none", "--circuit", circuit(),
                                 "--output", "1", "--reference", "1", "--mics", "2=" + position()});
    expect_refused(outcome, 2, {"armed", "Caution"});
    const Outcome no_device = run({"take", small_plan, "--log", in_folder("show.db"), "--device", "no such device",
                                   "--circuit", circuit(), "--output", "1", "--reference", "1", "--mics", "2=" + position(),
                                   "--armed", "R. Walker"});
    expect_refused(no_device, 3, {"no such device"});
}

}  // namespace
}  // namespace proofwalk::cli_test
