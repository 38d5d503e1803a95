// The log: one SQLite file per show. Append-only: a later record supersedes an earlier one and both stay. What a function
// returned as stored is on the disk (WAL, full sync). Schema: docs/log.md.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "acoustics/air.hpp"
#include "signal/evidence.hpp"
#include "signal/measure.hpp"
#include "units/fault.hpp"
#include "units/utc.hpp"
#include "verify/judge.hpp"
#include "verify/tally.hpp"

namespace proofwalk::log {

// Who made a record and with what; kept with every record.
struct Origin {
    std::string who;      // person; empty when nobody said
    std::string machine;  // host name
    std::string tool;     // "proofwalk 0.1.0"
    std::string device;   // audio device or "recorded" or "rehearsal"
    Moment when;
};

struct PlanRevision {
    int revision = 0;  // from 1, given by the log
    std::string name, bytes, sha256;
    std::string folder;  // where it was read, for directivity files
    Origin origin;
};

// One mic hearing one circuit in a take.
struct EvidenceRecord {
    std::string circuit;   // "A" or "A+B" when several sounded together; empty for silence and the like
    std::string mic, position;
    signal::Evidence evidence;  // empty when the takes were asked for without evidence
    signal::Reading reading;    // as read when the take was stored; every field comes back to the bit
};

struct SilenceLevel {
    std::string mic, position;
    BandLevels level_dbfs;
};

// What a calibrator take gave for one mic.
struct Calibration {
    std::string mic;
    double pascal_per_fs = 0.0;  // instantaneous pascals at sample value 1.0
    double level_db = 0.0;       // stated level of the calibrator
    friend bool operator==(const Calibration&, const Calibration&) = default;
};

struct TakeRecord {
    std::int64_t number = 0;   // given by the log, in order
    std::string sha256;        // identity: of the raw recording
    std::string label;
    signal::TakeKind kind = signal::TakeKind::sweep;
    std::vector<std::string> sounding;
    std::optional<acoustics::Air> air;
    double rate_hz = 48000.0;
    double seconds = 0.0;
    std::string raw_file;      // name inside NAME.takes/, empty when raw audio is not kept
    int plan_revision = 0;
    std::vector<EvidenceRecord> evidence;
    std::vector<SilenceLevel> silence;
    std::vector<Calibration> calibrations;  // calibrator takes
    Origin origin;
};

// When and where a take was made, for overviews.
struct TakeTime {
    std::int64_t number = 0;
    Moment when;
    std::string circuit;  // "A" or "A+B"; empty for silence and the like
    std::string places;   // "m1@p1 m2@p2", in the order of the mics
    std::string label, device;
};

struct SkipRecord {
    std::string check, subject, why;
    Origin origin;
    std::int64_t after_take = 0;  // number of the newest take when it was skipped; found by the log
    bool taken_up = false;        // true: this record takes up again what an earlier one skipped
    std::int64_t number = 0;      // given by the log
};

struct ChangeRecord {
    std::string subject, what;
    Origin origin;
    std::int64_t after_take = 0;  // takes up to this number that touch the subject are retired; found by the log
    std::int64_t number = 0;      // given by the log
};

struct Exception {
    std::string check, subject;
};

struct SignOff {
    std::string role;
    Origin origin;           // who signs
    std::vector<Exception> exceptions;
    int plan_revision = 0;
    std::int64_t last_take = 0;
    std::string tally_digest;  // what was signed, see walk
    std::string hash;          // chain hash printed on the sign-off
    std::vector<std::string> scope = {};  // boxes or arrays that it covers; empty: the whole plan
    std::int64_t number = 0;  // given by the log
};

struct GearRecord {
    std::string check, subject, verdict, says;
    Origin origin;
};

// A photo or a document about something, kept beside the log under its hash.
struct Attachment {
    std::int64_t number = 0;  // given by the log
    std::string subject;      // "box M1", "position p3", "take t01", "array mains", "show"
    std::string name;         // of the file as it was given
    std::string note;
    std::string stored_as;    // name inside takes_folder()
    std::int64_t bytes = 0;
    std::string sha256;
    Origin origin;
};

// What somebody wrote down: a remark, or an incident during the show with the time when it happened.
struct Note {
    std::int64_t number = 0;  // given by the log
    std::string subject;      // as in Attachment
    std::string text;
    bool incident = false;
    Moment happened;
    Origin origin;
};

// One judgement of one check that differed from the one before.
struct PastVerdict {
    std::int64_t number = 0;  // of the judgement
    std::string check, subject;
    verify::Verdict verdict = verify::Verdict::open;
    std::optional<double> value, uncertainty;
    std::string unit, says;
    Origin origin;
};

// The newest records that a judgement depends on; 0 where there is none yet.
struct Basis {
    int plan_revision = 0;
    std::int64_t last_take = 0, last_change = 0, last_hand_reading = 0, last_gear = 0;
    friend bool operator==(const Basis&, const Basis&) = default;
};

struct StoredJudgement {
    verify::Judgement judgement;
    Basis basis;
    Origin origin;
};

enum class Mode { read, write };

class Log {
public:
    // write creates the file when there is none. Faults: not a log, from a newer version, read-only, full disk, locked by
    // another process (waits politely first), corrupt.
    [[nodiscard]] static Result<Log> open(const std::filesystem::path& file, Mode mode,
                                          std::chrono::milliseconds wait = std::chrono::seconds{5});
    Log(Log&&) noexcept;
    Log& operator=(Log&&) noexcept;
    ~Log();

    [[nodiscard]] const std::filesystem::path& file() const;
    [[nodiscard]] std::filesystem::path takes_folder() const;  // NAME.takes beside the log

    // Adds a revision unless the newest one has the same bytes; gives its number.
    [[nodiscard]] Result<int> add_plan(const PlanRevision& plan);
    [[nodiscard]] Result<std::optional<PlanRevision>> newest_plan() const;
    [[nodiscard]] Result<std::vector<PlanRevision>> plans() const;

    // One transaction: take, evidence and readings. The raw recording is copied and synced into takes_folder() first
    // (from raw bytes named by hash). A take whose hash is there already changes nothing and gives its number.
    struct Added {
        std::int64_t number = 0;
        bool already_there = false;
        std::int64_t take_before = 0;  // number of the newest take that was there already
    };
    [[nodiscard]] Result<Added> add_take(const TakeRecord& take, const std::vector<std::vector<float>>& raw_channels);

    // The same with the recording on its way to the disk already, side by side with the measuring of its take. The
    // channels must stay as they are until the recording is gone; without a take added its files are taken away again.
    class Recording {
    public:
        Recording(Recording&&) noexcept;
        Recording& operator=(Recording&&) = delete;
        ~Recording();

    private:
        friend class Log;
        struct Work;
        explicit Recording(std::unique_ptr<Work> work);
        std::unique_ptr<Work> work_;
    };
    [[nodiscard]] Recording store_ahead(const std::string& sha256, double rate_hz,
                                        const std::vector<std::vector<float>>& raw_channels) const;
    [[nodiscard]] Result<Added> add_take(const TakeRecord& take, Recording recording);

    // Takes in order, with readings. `with_evidence` false leaves the impulse responses on the disk.
    [[nodiscard]] Result<std::vector<TakeRecord>> takes(bool with_evidence = true) const;

    // Takes that later ones are measured by: silences, calibrators, and the newest that knows the air.
    [[nodiscard]] Result<std::vector<TakeRecord>> takes_to_measure_by() const;
    // The take of a recording, without its evidence; nothing when the recording is not in the log.
    [[nodiscard]] Result<std::optional<TakeRecord>> take_of_recording(const std::string& sha256) const;
    // Whether a take after record `number` heard one of these circuits at one of these positions (no positions: anywhere).
    [[nodiscard]] Result<bool> heard_after(std::int64_t number, const std::vector<std::string>& circuits,
                                           const std::vector<std::string>& positions) const;

    // One take by its number; nothing when there is none.
    [[nodiscard]] Result<std::optional<TakeRecord>> take(std::int64_t number, bool with_evidence = true) const;
    // The raw recording of a take, every stored file checked against its hash first; empty when none was kept. Samples
    // come back to the bit.
    [[nodiscard]] Result<std::vector<std::vector<float>>> raw_channels(std::int64_t take_number) const;

    // What a judgement was made from: it is up to date while these are the newest of the log.
    [[nodiscard]] Result<Basis> newest_basis() const;
    // Verdicts and fits as judged after a take or another event; the newest judgement counts, older ones stay.
    [[nodiscard]] Result<void> add_judgement(const verify::Judgement& judgement, const Basis& basis, const Origin& origin);
    [[nodiscard]] Result<std::optional<StoredJudgement>> newest_judgement() const;

    [[nodiscard]] Result<void> add_skip(const SkipRecord& skip);
    [[nodiscard]] Result<std::vector<SkipRecord>> skips() const;
    [[nodiscard]] Result<void> add_change(const ChangeRecord& change);
    [[nodiscard]] Result<std::vector<ChangeRecord>> changes() const;
    [[nodiscard]] Result<SignOff> add_sign_off(const SignOff& sign_off);  // gives it back with its chain hash
    [[nodiscard]] Result<std::vector<SignOff>> sign_offs() const;
    [[nodiscard]] Result<void> add_hand_reading(const verify::HandReading& reading, const Origin& origin);
    [[nodiscard]] Result<std::vector<verify::HandReading>> hand_readings() const;
    [[nodiscard]] Result<void> add_gear(const GearRecord& gear);
    [[nodiscard]] Result<std::vector<GearRecord>> gear() const;

    // Copies a file beside the log, named by its hash, and records it; number, size and hash come back filled in.
    [[nodiscard]] Result<Attachment> attach(const Attachment& attachment, const std::filesystem::path& source);
    [[nodiscard]] Result<std::vector<Attachment>> attachments() const;
    [[nodiscard]] Result<void> add_note(const Note& note);
    [[nodiscard]] Result<std::vector<Note>> notes() const;

    // How a check was judged over time, oldest first: only where its result changed.
    [[nodiscard]] Result<std::vector<PastVerdict>> history(const std::string& check, const std::string& subject) const;

    // Short answers over all records, without evidence and readings: every take's time, every name of a person, and
    // subject and check of everything that was ever judged a fail.
    [[nodiscard]] Result<std::vector<TakeTime>> take_times() const;
    [[nodiscard]] Result<std::vector<std::string>> people() const;
    [[nodiscard]] Result<std::vector<std::pair<std::string, std::string>>> ever_failed() const;

private:
    struct Impl;
    explicit Log(std::unique_ptr<Impl> impl);
    std::unique_ptr<Impl> impl_;
};

}  // namespace proofwalk::log
