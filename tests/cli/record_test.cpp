// The record as people keep it: audit, merge, recover, review, notes, photos, the past of a check.
#include <algorithm>

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
    if (recording.empty()) GTEST_SKIP() << "a rehearsal keeps no recordings";
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

TEST_F(Record, RecoverTakesOverEverythingButTheDamagedPage) {
    rehearse(log, "3");
    const int records = run({"audit", log, "--json"}).json()["records"].get<int>();
    std::string bytes = slurp(log);
    constexpr std::size_t page = 4096;
    const std::size_t damaged = bytes.size() / page / 2 * page;
    ASSERT_GT(damaged, page);
    std::fill_n(bytes.begin() + static_cast<std::ptrdiff_t>(damaged), page, '\xA5');
    write_file(log, bytes);

    const std::string rescued = in_folder("rescued.db");
    const Outcome done = run({"recover", log, "--into", rescued, "--who", "R. Walker", "--json"});
    ASSERT_EQ(done.status, 0) << done.err;
    const json told = done.json();
    EXPECT_EQ(told["lost_records"].get<std::size_t>(), told["lost"].size());
    // One page touches one record, or the index of many that the pages themselves still hold.
    EXPECT_GE(told["records"].get<int>() + told["lost_records"].get<int>(), records) << done.out;
    EXPECT_LE(told["lost_records"].get<int>(), records / 4) << done.out;
    EXPECT_EQ(slurp(log), bytes) << "the damaged log is only read";
    EXPECT_EQ(run({"tally", rescued}).status, 0);
    const int strict = run({"recover", log, "--into", in_folder("again.db"), "--strict"}).status;
    EXPECT_EQ(strict, told["lost_records"] == 0 && told["missing_files"].empty() ? 0 : 1);
}

TEST_F(Record, ReviewOfTwoLogsTellsSkipsAndFaultsThatCameBack) {
    const std::string box = run({"plan", "show", small_plan, "--json"}).json()["boxes"][0]["box"];
    const std::string second = in_folder("second.db");
    rehearse(log, "3", {"--fault", box + ":polarity"});
    rehearse(second, "4", {"--fault", box + ":polarity"});
    ASSERT_EQ(run({"skip", second, "level", box, "--who", "R. Walker", "--why", "no time"}).status, 0);
    const Outcome done = run({"review", log, second, "--json"});
    ASSERT_EQ(done.status, 0) << done.err;
    const json told = done.json();
    ASSERT_EQ(told["shows"].size(), 2U);
    ASSERT_EQ(told["skipped"].size(), 1U);
    EXPECT_EQ(told["skipped"][0]["subject"], box);
    EXPECT_EQ(told["skipped"][0]["why"], "no time");
    const auto& repeated = told["repeated_faults"];
    EXPECT_TRUE(std::ranges::any_of(repeated, [&](const json& fault) {
        return fault["subject"] == box && fault["check"] == "polarity" && fault["shows"] == 2;
    })) << repeated;
    EXPECT_FALSE(told["figures"].empty());

    const Outcome partly = run({"review", log, in_folder("nowhere.db")});
    EXPECT_EQ(partly.status, 3) << "one log is missing, the other still told";
    EXPECT_NE(partly.out.find("show.db"), std::string::npos);
}

TEST_F(Record, NotesAndPhotosStandInTheRecord) {
    rehearse(log, "3");
    const int before = run({"audit", log, "--json"}).json()["records"].get<int>();
    const Outcome noted = run({"note", log, "--who", "R. Walker", "--about", "box M1", "--text", "went silent", "--incident"});
    EXPECT_EQ(noted.status, 0) << noted.err;
    EXPECT_EQ(run({"note", log, "--who", " ", "--text", "nobody says so"}).status, 2);
    EXPECT_EQ(run({"note", log, "--who", "R. Walker"}).status, 2) << "a note without text";

    const std::string photo = in_folder("shackle.jpg");
    write_file(photo, "not really a photo");
    const Outcome attached = run({"attach", log, photo, "--about", "box M1", "--who", "R. Walker"});
    ASSERT_EQ(attached.status, 0) << attached.err;
    EXPECT_EQ(run({"attach", log, in_folder("missing.jpg"), "--about", "box M1", "--who", "R. Walker"}).status, 2);
    const auto at = attached.out.find("kept as ");
    ASSERT_NE(at, std::string::npos) << attached.out;
    const fs::path kept = fs::path(log + ".takes") / attached.out.substr(at + 8, attached.out.find('\n', at) - at - 8);
    EXPECT_EQ(slurp(kept), slurp(photo));

    const Outcome audit = run({"audit", log, "--json"});
    EXPECT_EQ(audit.status, 0) << audit.out;
    EXPECT_EQ(audit.json()["records"], before + 2);
    EXPECT_EQ(run({"review", log, "--json"}).json()["shows"][0]["incidents"], 1);
    write_file(kept, "another picture");
    EXPECT_EQ(run({"audit", log}).status, 3);
}

TEST_F(Record, HistoryTellsEachChangeOfACheck) {
    const std::string box = run({"plan", "show", small_plan, "--json"}).json()["boxes"][0]["box"];
    rehearse(log, "3", {"--fault", box + ":polarity"});
    ASSERT_EQ(run({"change", log, box, "--who", "R. Walker", "--what", "swapped the pins of its cable"}).status, 0);
    rehearse(log, "3");
    ASSERT_EQ(run({"skip", log, "polarity", box, "--who", "R. Walker", "--why", "no time"}).status, 0);
    const Outcome done = run({"history", log, "polarity", box, "--json"});
    ASSERT_EQ(done.status, 0) << done.err;
    const json told = done.json();
    std::vector<std::string> verdicts;
    for (const auto& event : told["history"]) verdicts.push_back(event["verdict"]);
    // In this order, whatever else a walk in between judged.
    auto next = verdicts.begin();
    for (const std::string wanted : {"fail", "open", "pass", "skipped"}) {
        next = std::find(next, verdicts.end(), wanted);
        ASSERT_NE(next, verdicts.end()) << wanted << "\n" << done.out;
    }
    EXPECT_NE(run({"history", log, "polarity", box}).out.find("no time"), std::string::npos);
    EXPECT_EQ(run({"history", log, "polarity", "nobody"}).status, 2);
}

TEST_F(Record, TheTallyIsFilteredByVerdictBoxArrayAndArea) {
    rehearse(log, "3");
    const json plan = run({"plan", "show", small_plan, "--json"}).json(), all = run({"tally", log, "--json"}).json();
    const std::string box = plan["boxes"][0]["box"];
    const auto shown = [&](const std::vector<std::string>& filter) {
        std::vector<std::string> arguments = {"tally", log, "--json"};
        arguments.insert(arguments.end(), filter.begin(), filter.end());
        const Outcome done = run(arguments);
        EXPECT_EQ(done.status, 0) << done.err;
        const json told = done.json();
        return told["checks"];
    };
    const json passes = shown({"--only", "pass"}), rest = shown({"--only", "fail,unsure,open,skipped"});
    EXPECT_EQ(passes.size(), all["counts"]["pass"].get<std::size_t>());
    EXPECT_EQ(passes.size() + rest.size(), all["checks"].size());
    for (const auto& check : passes) EXPECT_EQ(check["verdict"], "pass");
    const json of_box = shown({"--box", box});
    EXPECT_GT(of_box.size(), 3U);
    EXPECT_LT(of_box.size(), all["checks"].size());
    for (const auto& check : of_box) EXPECT_NE(check["subject"].get<std::string>().find(box), std::string::npos) << check;
    EXPECT_EQ(run({"tally", log, "--box", "nobody"}).status, 2);
    EXPECT_EQ(run({"tally", log, "--array", "nobody"}).status, 2);
    EXPECT_EQ(run({"tally", log, "--area", "nobody"}).status, 2);
    EXPECT_EQ(run({"tally", log, "--only", "green"}).status, 2);
    EXPECT_EQ(run({"tally", log, "--only", "pass", "--strict"}).status, 0);
}

TEST_F(Record, ASkippedCheckIsTakenUpAgain) {
    const std::string box = run({"plan", "show", small_plan, "--json"}).json()["boxes"][0]["box"];
    rehearse(log, "3");
    const auto verdict = [&] {
        const json told = run({"tally", log, "--box", box, "--json"}).json();
        for (const auto& check : told["checks"])
            if (check["check"] == "polarity") return check["verdict"].get<std::string>();
        return std::string{"none"};
    };
    const std::string before = verdict();
    EXPECT_EQ(run({"skip", log, "polarity", box, "--who", "R. Walker", "--take-up"}).status, 2) << "nothing is skipped yet";
    EXPECT_EQ(run({"skip", log, "polarity", box, "--who", "R. Walker"}).status, 2) << "no reason";
    const Outcome skipped = run({"skip", log, "polarity", box, "--who", "R. Walker", "--why", "no-access"});
    EXPECT_NE(skipped.out.find("no access to the place"), std::string::npos) << skipped.out;
    EXPECT_EQ(verdict(), "skipped");
    EXPECT_EQ(run({"skip", log, "polarity", box, "--who", "R. Walker", "--take-up"}).status, 0);
    EXPECT_EQ(verdict(), before);
    EXPECT_NE(run({"history", log, "polarity", box}).out.find("taken up"), std::string::npos);
}

TEST_F(Record, ABoxIsSignedByItself) {
    const std::string box = run({"plan", "show", small_plan, "--json"}).json()["boxes"][0]["box"];
    rehearse(log, "3");
    std::vector<std::string> arguments = {"sign", log, "--who", "R. Walker", "--role", "system engineer", "--for", box};
    const json told = run({"tally", log, "--box", box, "--only", "fail,unsure,open,skipped", "--json"}).json();
    for (const auto& check : told["checks"]) {
        arguments.push_back("--except");
        arguments.push_back(check["check"].get<std::string>() + ":" + check["subject"].get<std::string>());
    }
    const Outcome done = run(arguments);
    ASSERT_EQ(done.status, 0) << done.err;
    EXPECT_NE(done.out.find("for " + box + ","), std::string::npos) << done.out;
    EXPECT_EQ(run({"sign", log, "--who", "R. Walker", "--role", "engineer", "--for", "nobody"}).status, 2);

    ASSERT_EQ(run({"report", log, "--out", in_folder("report"), "--data"}).status, 0);
    const auto sign_off = [&] {
        const json show = json::parse(slurp(in_folder("report") + "/show.json"));
        return show["sign_offs"][0];
    };
    EXPECT_NE(sign_off()["covers"].get<std::string>().find(box), std::string::npos) << sign_off();
    EXPECT_EQ(sign_off()["stale"], false);
    ASSERT_EQ(run({"change", log, box, "--who", "R. Walker", "--what", "tilted up 2 deg"}).status, 0);
    ASSERT_EQ(run({"report", log, "--out", in_folder("report"), "--data"}).status, 0);
    EXPECT_EQ(sign_off()["stale"], true);
    EXPECT_NE(sign_off()["stale_because"].get<std::string>().find("tilted up 2 deg"), std::string::npos) << sign_off();
    EXPECT_NE(sign_off()["stale_because"].get<std::string>().find("is open"), std::string::npos) << sign_off();
}

TEST_F(Record, ReportsCarryRemarksAndPhotos) {
    const std::string box = run({"plan", "show", small_plan, "--json"}).json()["boxes"][0]["box"];
    rehearse(log, "3");
    ASSERT_EQ(run({"note", log, "--who", "R. Walker", "--about", "box " + box, "--text", "went silent <twice>", "--incident"}).status, 0);
    write_file(in_folder("shackle.png"), "\x89PNG\r\n\x1a\n" + std::string(40, 'x'));
    write_file(in_folder("script.html"), "<script>alert(1)</script>");
    for (const char* file : {"shackle.png", "script.html"})
        ASSERT_EQ(run({"attach", log, in_folder(file), "--about", "box " + box, "--who", "R. Walker"}).status, 0);
    ASSERT_EQ(run({"report", log, "--out", in_folder("report"), "--data"}).status, 0);
    const std::string page = slurp(in_folder("report") + "/index.html");
    EXPECT_NE(page.find("Went silent &lt;twice&gt;"), std::string::npos);
    EXPECT_NE(page.find("data:image/png;base64,iVBORw0KGgp4eHh4"), std::string::npos);
    EXPECT_NE(page.find("script.html"), std::string::npos);
    EXPECT_EQ(page.find("alert(1)"), std::string::npos) << "what is attached is named, never run";
    const json show = json::parse(slurp(in_folder("report") + "/show.json"));
    ASSERT_EQ(show["remarks"].size(), 3U);
    EXPECT_EQ(show["remarks"][0]["what"], "incident");
    EXPECT_TRUE(fs::exists(in_folder("report") + "/remarks.csv"));
}

// Every command that is given a log refuses what is none with one sentence that names the file, and leaves it as it was.
class NoSoundLog : public Record {
protected:
    [[nodiscard]] std::vector<std::vector<std::string>> commands(const std::string& file) const {
        const std::string photo = in_folder("photo.jpg");
        write_file(photo, "picture");
        return {{"audit", file},
                {"recover", file, "--into", in_folder("never.db"), "--who", "R. Walker"},
                {"review", file},
                {"merge", file, log, "--into", in_folder("never.db")},
                {"history", file, "polarity", "M1"},
                {"note", file, "--who", "R. Walker", "--text", "rain"},
                {"attach", file, photo, "--about", "show", "--who", "R. Walker"},
                {"skip", file, "level", "M1", "--who", "R. Walker", "--why", "no time"},
                {"change", file, "M1", "--who", "R. Walker", "--what", "moved"},
                {"sign", file, "--who", "R. Walker", "--role", "crew lead"},
                {"tally", file},
                {"report", file, "--out", in_folder("report")}};
    }
    void expect_refused(const std::string& file, const std::vector<std::string>& command, std::initializer_list<int> statuses) const {
        const Outcome done = run(command);
        EXPECT_NE(std::ranges::find(statuses, done.status), statuses.end()) << command[0] << " ended with " << done.status << "\n" << done.err;
        EXPECT_NE(done.err.find(fs::path(file).filename().string()), std::string::npos) << command[0] << ": " << done.err;
        EXPECT_FALSE(fs::exists(in_folder("never.db"))) << command[0];
    }
};

TEST_F(NoSoundLog, AMissingFile) {
    rehearse(log, "3");
    const std::string missing = in_folder("missing.db");
    for (const auto& command : commands(missing)) {
        expect_refused(missing, command, {2, 3});
        EXPECT_FALSE(fs::exists(missing)) << command[0] << " made a log of it";
    }
}

TEST_F(NoSoundLog, AFileThatIsNoLog) {
    rehearse(log, "3");
    const std::string letter = in_folder("letter.db");
    write_file(letter, std::string(5000, 'x'));
    const std::string before = slurp(letter);
    for (const auto& command : commands(letter)) {
        expect_refused(letter, command, {2, 3});
        EXPECT_EQ(slurp(letter), before) << command[0];
    }
}

TEST_F(NoSoundLog, ALogFromANewerVersion) {
    rehearse(log, "3");
    const std::string newer = in_folder("newer.db");
    fs::copy_file(log, newer);
    std::string bytes = slurp(newer);
    bytes.replace(60, 4, std::string("\0\0\x7f\0", 4));  // user_version, big-endian, in SQLite's file header
    write_file(newer, bytes);
    for (const auto& command : commands(newer)) {
        if (command[0] == "recover") continue;  // takes over what it understands
        expect_refused(newer, command, {2, 3});
        EXPECT_EQ(slurp(newer), bytes) << command[0];
    }
}

TEST_F(NoSoundLog, AReadOnlyPlaceIsReadAndNotWritten) {
    rehearse(log, "3");
    // The superuser writes everywhere, so somebody else looks on.
    const bool superuser = ::geteuid() == 0;
    const std::string as_reader = superuser ? "setpriv --reuid=65534 --regid=65534 --clear-groups" : "";
    const auto write = fs::perms::owner_write | fs::perms::group_write | fs::perms::others_write;
    const auto look = fs::perms::group_read | fs::perms::group_exec | fs::perms::others_read | fs::perms::others_exec;
    const Outcome start = run_with(as_reader, {"--version"});
    if (start.status != 0) GTEST_SKIP() << "the program cannot be run as another person here: " << start.err;
    fs::permissions(folder, look, fs::perm_options::add);
    fs::permissions(folder, superuser ? fs::perms::none : write, fs::perm_options::remove);
    const std::string before = slurp(log);
    const Outcome audit = run_with(as_reader, {"audit", log, "--without-recordings"});
    EXPECT_EQ(audit.status, 0) << audit.out << audit.err;
    EXPECT_EQ(run_with(as_reader, {"tally", log}).status, 0);
    const Outcome note = run_with(as_reader, {"note", log, "--who", "R. Walker", "--text", "rain"});
    EXPECT_EQ(note.status, 3) << note.out;
    EXPECT_NE(note.err.find("show.db"), std::string::npos) << note.err;
    EXPECT_EQ(slurp(log), before);
}

}  // namespace
}  // namespace proofwalk::cli_test
