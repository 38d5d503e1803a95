// The record as people keep it: audit, sign-off hash, merge.
#include "cli/program.hpp"

namespace proofwalk::cli_test {
namespace {

using nlohmann::json;

const std::string small_plan = (source / "fixtures/small/plan.toml").string();

class Record : public ProgramTest {
protected:
    std::string log = in_folder("show.db");

    void rehearse(const std::string& into, const std::string& seed, const std::vector<std::string>& more = {}) const {
        std::vector<std::string> arguments = {"rehearse", small_plan, "--log", into, "--seed", seed};
        arguments.insert(arguments.end(), more.begin(), more.end());
        const Outcome done = run(arguments);
        ASSERT_EQ(done.status, 0) << done.err;
    }
    // Signs with every exception by name; gives the printed hash.
    [[nodiscard]] std::string signed_hash() const {
        std::vector<std::string> arguments = {"sign", log, "--who", "R. Walker", "--role", "crew lead"};
        const json tally = run({"tally", log, "--json"}).json();
        for (const auto& check : tally["checks"])
            if (check["verdict"] != "pass") {
                arguments.push_back("--except");
                arguments.push_back(check["check"].get<std::string>() + ":" + check["subject"].get<std::string>());
            }
        const Outcome done = run(arguments);
        EXPECT_EQ(done.status, 0) << done.err;
        const auto at = done.out.rfind("hash ");
        EXPECT_NE(at, std::string::npos) << done.out;
        return done.out.substr(at + 5, 64);
    }
};

TEST_F(Record, AuditNamesTheRecordWithAChangedByte) {
    rehearse(log, "3");
    const Outcome sound = run({"audit", log, "--json"});
    EXPECT_EQ(sound.status, 0) << sound.out << sound.err;
    EXPECT_EQ(sound.json()["sound"], true);

    // The plan is the first record; its bytes stand in the file as they were read.
    std::string bytes = slurp(log);
    const auto at = bytes.find("proofwalk.plan/1");
    ASSERT_NE(at, std::string::npos);
    bytes[at] = 'q';
    write_file(log, bytes);
    const Outcome changed = run({"audit", log, "--json"});
    EXPECT_EQ(changed.status, 3) << changed.out;
    const json told = changed.json();
    EXPECT_EQ(told["sound"], false);
    ASSERT_FALSE(told["findings"].empty());
    EXPECT_EQ(told["findings"][0]["record"], 1) << changed.out;
    EXPECT_EQ(told["findings"][0]["what"], "changed") << changed.out;
    EXPECT_EQ(run({"audit", log}).status, 3);
}

TEST_F(Record, AuditNamesAChangedRecording) {
    rehearse(log, "3");
    fs::path recording;
    for (const auto& entry : fs::directory_iterator(log + ".takes"))
        if (recording.empty() || entry.path() < recording) recording = entry.path();
    ASSERT_FALSE(recording.empty()) << "a rehearsal keeps its recordings";
    std::string bytes = slurp(recording);
    bytes[bytes.size() / 2] = static_cast<char>(bytes[bytes.size() / 2] ^ 1);
    write_file(recording, bytes);
    const Outcome changed = run({"audit", log});
    EXPECT_EQ(changed.status, 3);
    EXPECT_NE(changed.out.find(recording.filename().string()), std::string::npos) << changed.out;
    EXPECT_EQ(run({"audit", log, "--without-recordings"}).status, 0);
}

TEST_F(Record, TheHashOfASignOffVouchesForTheLogAndShowsOneCutShort) {
    rehearse(log, "3");
    const std::string cut_short = in_folder("cut_short.db");
    fs::copy_file(log, cut_short);
    const std::string hash = signed_hash();
    const Outcome vouched = run({"audit", log, "--against", hash, "--without-recordings", "--json"});
    EXPECT_EQ(vouched.status, 0) << vouched.out;
    EXPECT_GT(vouched.json()["records_vouched_for"].get<int>(), 1);
    EXPECT_EQ(run({"audit", log, "--against", hash.substr(0, 8), "--without-recordings"}).status, 0);
    EXPECT_EQ(run({"audit", cut_short, "--against", hash, "--without-recordings"}).status, 3);
    EXPECT_EQ(run({"audit", cut_short, "--without-recordings"}).status, 0) << "by itself it looks whole";
}

TEST_F(Record, MergeIsTheSameInEitherOrder) {
    const std::string left = in_folder("left.db"), right = in_folder("right.db");
    rehearse(left, "3");
    rehearse(right, "4");
    const std::string one = in_folder("one.db"), other = in_folder("other.db");
    const Outcome merged = run({"merge", left, right, "--into", one, "--json"});
    ASSERT_EQ(merged.status, 0) << merged.err;
    ASSERT_EQ(run({"merge", right, left, "--into", other}).status, 0);
    EXPECT_EQ(run({"merge", left, right, "--into", one}).status, 2) << "a log that is there is never overwritten";

    const auto records = [&](const std::string& file) { return run({"audit", file, "--json"}).json()["records"].get<int>(); };
    EXPECT_EQ(merged.json()["records"], records(left) + records(right) - merged.json()["shared_records"].get<int>());
    json first = run({"audit", one, "--json"}).json(), second = run({"audit", other, "--json"}).json();
    EXPECT_EQ(first["sound"], true) << first;
    first.erase("log");
    second.erase("log");
    EXPECT_EQ(first, second);
    EXPECT_EQ(run({"tally", one, "--json"}).json()["checks"], run({"tally", other, "--json"}).json()["checks"]);
}

}  // namespace
}  // namespace proofwalk::cli_test
