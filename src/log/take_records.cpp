// Takes with their evidence and readings: one transaction each.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <future>
#include <unordered_map>
#include <unordered_set>

#include "log/bytes.hpp"
#include "log/open_log.hpp"
#include "log/packed_evidence.hpp"
#include "log/packed_reading.hpp"
#include "log/plan_records.hpp"
#include "log/raw_store.hpp"
#include "units/side_by_side.hpp"

namespace proofwalk::log {
namespace {

constexpr std::array<std::pair<signal::TakeKind, std::string_view>, 6> take_kinds = {{
    {signal::TakeKind::sweep, "sweep"},
    {signal::TakeKind::noise, "noise"},
    {signal::TakeKind::silence, "silence"},
    {signal::TakeKind::calibrator, "calibrator"},
    {signal::TakeKind::loopback, "loopback"},
    {signal::TakeKind::match, "match"},
}};

std::string_view kind_word(signal::TakeKind kind) {
    for (const auto& [known, name] : take_kinds)
        if (known == kind) return name;
    return "";
}

std::int64_t number_of_recording(const Database& db, const std::string& sha) {
    return db.find_integer("SELECT min(record) FROM take WHERE sha256 = ?1", sha).value_or(0);
}

void write_take(const Database& db, std::int64_t number, const TakeRecord& take, const std::vector<RawFile>& raw) {
    const auto air = [&](double acoustics::Air::*figure) {
        return take.air ? std::optional{(*take.air).*figure} : std::nullopt;
    };
    db.run("INSERT INTO take (record, sha256, label, kind, temperature_c, humidity_pct, pressure_kpa, rate_hz, seconds, plan) "
           "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
           number, take.sha256, take.label, kind_word(take.kind), air(&acoustics::Air::temperature_c),
           air(&acoustics::Air::humidity_pct), air(&acoustics::Air::pressure_kpa), take.rate_hz, take.seconds,
           plan_hash(db, take.plan_revision));
    std::int64_t place = 0;
    for (const std::string& circuit : take.sounding)
        db.run("INSERT INTO take_circuit (record, place, circuit) VALUES (?1, ?2, ?3)", number, place++, circuit);
    place = 0;
    for (const RawFile& file : raw)
        db.run("INSERT INTO raw_file (record, place, name, channels, bytes, sha256) VALUES (?1, ?2, ?3, ?4, ?5, ?6)", number,
               place++, file.name, file.channels, file.bytes, file.sha256);
}

struct PackedHeard {
    std::vector<std::byte> reading, evidence;
};

std::vector<PackedHeard> packed_heard(const TakeRecord& take) {
    std::vector<PackedHeard> bodies(take.evidence.size());
    side_by_side(bodies.size(), [&](std::size_t at) { bodies[at] = {packed(take.evidence[at].reading), packed(take.evidence[at].evidence)}; });
    return bodies;
}

void write_heard(const Database& db, std::int64_t number, const TakeRecord& take, const std::vector<PackedHeard>& bodies) {
    std::int64_t place = 0;
    for (const EvidenceRecord& heard : take.evidence) {
        const signal::Reading& reading = heard.reading;
        const auto value = [](const std::optional<Measured>& figure) {
            return figure ? std::optional{figure->value} : std::nullopt;
        };
        const auto u = [](const std::optional<Measured>& figure) {
            return figure ? std::optional{figure->u} : std::nullopt;
        };
        Statement insert = db.prepare(
            "INSERT INTO reading (record, place, circuit, mic, position, arrival_s, arrival_u_s, aim_band_db, aim_band_u_db, "
            "signal_to_noise_db, flags, body, polarity) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)");
        insert.bind(number).bind(place).bind(heard.circuit).bind(heard.mic).bind(heard.position);
        insert.bind(value(reading.arrival_s)).bind(u(reading.arrival_s));
        insert.bind(value(reading.aim_band_db)).bind(u(reading.aim_band_db)).bind(reading.signal_to_noise_db);
        insert.bind(std::int64_t{reading.flags.bits()}).bind(bodies[static_cast<std::size_t>(place)].reading);
        if (reading.polarity) insert.bind(*reading.polarity);
        insert.step();
        db.run("INSERT INTO evidence (record, place, body) VALUES (?1, ?2, ?3)", number, place,
               bodies[static_cast<std::size_t>(place)].evidence);
        ++place;
    }
    place = 0;
    for (const SilenceLevel& silence : take.silence)
        db.run("INSERT INTO silence (record, place, mic, position, body) VALUES (?1, ?2, ?3, ?4, ?5)", number, place++,
               silence.mic, silence.position, packed(silence.level_dbfs));
    place = 0;
    for (const Calibration& calibration : take.calibrations)
        db.run("INSERT INTO calibration (record, place, mic, pascal_per_fs, level_db) VALUES (?1, ?2, ?3, ?4, ?5)", number,
               place++, calibration.mic, calibration.pascal_per_fs, calibration.level_db);
}

StoreError impossible_figures(const Database& db, const TakeRecord& take) {
    return {{FaultKind::log, db.file(), "take " + take.label, "its evidence holds figures that cannot be",
             "take it again; nothing of it was stored"}};
}

// Takes by record number while their parts are read.
class TakesByRecord {
public:
    explicit TakesByRecord(std::vector<TakeRecord>& takes) : takes_(takes) {
        for (std::size_t place = 0; place < takes.size(); ++place) places_[takes[place].number] = place;
    }
    // Null for the second record of a recording that two merged logs both hold.
    [[nodiscard]] TakeRecord* find(std::int64_t record) {
        const auto found = places_.find(record);
        return found == places_.end() ? nullptr : &takes_[found->second];
    }

private:
    std::vector<TakeRecord>& takes_;
    std::unordered_map<std::int64_t, std::size_t> places_;
};

// Which takes are read: all of the log, or those whose record numbers a query gives.
struct Chosen {
    std::string records;  // empty: all
    [[nodiscard]] std::string where() const { return records.empty() ? "" : fmt::format(" WHERE record IN ({})", records); }
};

Chosen only(std::int64_t number) { return {fmt::format("{}", number)}; }

std::vector<TakeRecord> bare_takes(const Database& db, const Chosen& chosen) {
    const auto revisions = plan_revisions(db);
    std::vector<TakeRecord> takes;
    std::unordered_set<std::string> seen;
    Statement rows = db.prepare(fmt::format(
        "SELECT record, sha256, label, take.kind, temperature_c, humidity_pct, pressure_kpa, rate_hz, seconds, plan, {} "
        "FROM take JOIN record ON record.number = take.record{} ORDER BY record",
        origin_columns, chosen.where()));
    while (rows.step()) {
        TakeRecord take;
        take.number = rows.integer(0);
        take.sha256 = rows.text(1);
        if (!seen.insert(take.sha256).second) continue;
        take.label = rows.text(2);
        const std::string word = rows.text(3);
        bool known = false;
        for (const auto& [kind, name] : take_kinds)
            if (name == word) {
                take.kind = kind;
                known = true;
            }
        if (!known) throw damaged_record(db, take.number, "unknown kind of take");
        if (const auto temperature = rows.maybe_real(4)) take.air = acoustics::Air{*temperature, rows.real(5), rows.real(6)};
        take.rate_hz = rows.real(7);
        take.seconds = rows.real(8);
        if (const auto found = revisions.find(rows.text(9)); found != revisions.end()) take.plan_revision = found->second;
        take.origin = origin_from(rows, 10);
        takes.push_back(std::move(take));
    }
    return takes;
}

void read_circuits_and_files(const Database& db, const Chosen& chosen, TakesByRecord& takes) {
    Statement circuits =
        db.prepare("SELECT record, circuit FROM take_circuit" + chosen.where() + " ORDER BY record, place");
    while (circuits.step())
        if (TakeRecord* take = takes.find(circuits.integer(0))) take->sounding.push_back(circuits.text(1));
    Statement files = db.prepare("SELECT record, place, name FROM raw_file" + chosen.where() + " ORDER BY record, place");
    while (files.step())
        if (TakeRecord* take = takes.find(files.integer(0)); take && files.integer(1) == 0) take->raw_file = files.text(2);
}

void read_heard(const Database& db, const Chosen& chosen, TakesByRecord& takes) {
    Statement rows = db.prepare("SELECT record, circuit, mic, position, body FROM reading" + chosen.where() +
                                " ORDER BY record, place");
    while (rows.step()) {
        TakeRecord* take = takes.find(rows.integer(0));
        if (!take) continue;
        take->evidence.push_back({rows.text(1), rows.text(2), rows.text(3), {}, reading_from(rows.blob(4))});
    }
    Statement silences = db.prepare("SELECT record, mic, position, body FROM silence" + chosen.where() + " ORDER BY record, place");
    while (silences.step())
        if (TakeRecord* take = takes.find(silences.integer(0)))
            take->silence.push_back({silences.text(1), silences.text(2), bands_from(silences.blob(3))});
    Statement calibrations =
        db.prepare("SELECT record, mic, pascal_per_fs, level_db FROM calibration" + chosen.where() + " ORDER BY record, place");
    while (calibrations.step())
        if (TakeRecord* take = takes.find(calibrations.integer(0)))
            take->calibrations.push_back({calibrations.text(1), calibrations.real(2), calibrations.real(3)});
}

void read_evidence(const Database& db, const Chosen& chosen, TakesByRecord& takes) {
    Statement rows = db.prepare("SELECT record, place, body FROM evidence" + chosen.where() + " ORDER BY record, place");
    while (rows.step()) {
        TakeRecord* take = takes.find(rows.integer(0));
        if (!take) continue;
        const auto place = static_cast<std::size_t>(rows.integer(1));
        if (place >= take->evidence.size()) throw BadBytes{};
        take->evidence[place].evidence = evidence_from(rows.blob(2));
    }
}

std::vector<TakeRecord> read_takes(const Database& db, const Chosen& chosen, bool with_evidence) {
    const Snapshot snapshot(db);
    std::vector<TakeRecord> takes = bare_takes(db, chosen);
    TakesByRecord by_record(takes);
    try {
        read_circuits_and_files(db, chosen, by_record);
        read_heard(db, chosen, by_record);
        if (with_evidence) read_evidence(db, chosen, by_record);
    } catch (const BadBytes&) {
        throw StoreError{damaged(db.file(), "packed readings or evidence of a take cannot be unpacked")};
    }
    return takes;
}

}  // namespace

struct Log::Recording::Work {
    std::filesystem::path folder;
    std::future<std::vector<RawFile>> storing;
    std::vector<RawFile> stored = {};
    bool belongs_to_a_take = false;

    const std::vector<RawFile>& files() {
        if (storing.valid()) stored = storing.get();
        return stored;
    }
};

Log::Recording::Recording(std::unique_ptr<Work> work) : work_(std::move(work)) {}
Log::Recording::Recording(Recording&&) noexcept = default;
Log::Recording::~Recording() {
    if (!work_ || work_->belongs_to_a_take) return;
    try {
        for (const RawFile& file : work_->files()) {
            std::error_code ignored;
            std::filesystem::remove(work_->folder / file.name, ignored);
        }
    } catch (const std::exception&) {
        // Nothing whole was stored.
    } catch (const StoreError&) {
    }
}

Log::Recording Log::store_ahead(const std::string& sha256, double rate_hz,
                                const std::vector<std::vector<float>>& raw_channels) const {
    auto work = std::make_unique<Recording::Work>();
    work->folder = impl_->takes_folder();
    if (!raw_channels.empty())
        work->storing = std::async(std::launch::async, [folder = work->folder, sha256, rate_hz, &raw_channels] {
            return store_raw(folder, sha256, rate_hz, raw_channels);
        });
    return Recording(std::move(work));
}

Result<Log::Added> Log::add_take(const TakeRecord& take, const std::vector<std::vector<float>>& raw_channels) {
    if (const auto known = as_result([&] { return number_of_recording(impl_->db(), take.sha256); }); !known)
        return std::unexpected(known.error());
    else if (*known != 0)
        return Added{*known, true, 0};
    // The recording and what was read from it are packed side by side, before anything keeps others from writing.
    return add_take(take, store_ahead(take.sha256, take.rate_hz, raw_channels));
}

Result<Log::Added> Log::add_take(const TakeRecord& take, Recording recording) {
    return as_result([&]() -> Added {
        const Database& db = impl_->db();
        if (const std::int64_t known = number_of_recording(db, take.sha256)) {
            recording.work_->belongs_to_a_take = true;
            return {known, true, 0};
        }
        std::vector<PackedHeard> bodies;
        try {
            bodies = packed_heard(take);
        } catch (const BadBytes&) {
            throw impossible_figures(db, take);
        }
        const std::vector<RawFile>& raw = recording.work_->files();
        // Whatever becomes of the transaction: a disk that fails may have kept it.
        recording.work_->belongs_to_a_take = true;
        Transaction transaction(db);
        if (const std::int64_t known = number_of_recording(db, take.sha256)) return {known, true, 0};
        const std::int64_t number = next_number(db), before = db.find_integer("SELECT max(record) FROM take").value_or(0);
        write_take(db, number, take, raw);
        try {
            write_heard(db, number, take, bodies);
        } catch (const BadBytes&) {
            throw impossible_figures(db, take);
        }
        append(db, number, "take", take.origin);
        transaction.commit();
        return {number, false, before};
    });
}

Result<std::vector<TakeRecord>> Log::takes(bool with_evidence) const {
    return as_result([&] { return read_takes(impl_->db(), {}, with_evidence); });
}

Result<std::optional<TakeRecord>> Log::take(std::int64_t number, bool with_evidence) const {
    return as_result([&]() -> std::optional<TakeRecord> {
        auto found = read_takes(impl_->db(), only(number), with_evidence);
        if (found.empty()) return std::nullopt;
        return std::move(found.front());
    });
}

Result<std::vector<TakeRecord>> Log::takes_to_measure_by() const {
    return as_result([&] {
        return read_takes(impl_->db(),
                          {"SELECT record FROM take WHERE kind IN ('silence', 'calibrator') OR "
                           "record = (SELECT max(record) FROM take WHERE temperature_c IS NOT NULL)"},
                          false);
    });
}

Result<std::optional<TakeRecord>> Log::take_of_recording(const std::string& sha256) const {
    return as_result([&]() -> std::optional<TakeRecord> {
        const std::int64_t number = number_of_recording(impl_->db(), sha256);
        if (number == 0) return std::nullopt;
        auto found = read_takes(impl_->db(), only(number), false);
        if (found.empty()) return std::nullopt;
        return std::move(found.front());
    });
}

Result<bool> Log::heard_after(std::int64_t number, const std::vector<std::string>& circuits,
                              const std::vector<std::string>& positions) const {
    return as_result([&] {
        Statement anywhere = impl_->db().prepare("SELECT 1 FROM reading WHERE circuit = ?1 AND record > ?2 LIMIT 1");
        Statement there = impl_->db().prepare("SELECT 1 FROM reading WHERE circuit = ?1 AND position = ?2 AND record > ?3 LIMIT 1");
        for (const std::string& circuit : circuits) {
            if (positions.empty()) {
                anywhere.restart();
                if (anywhere.bind(circuit).bind(number).step()) return true;
            }
            for (const std::string& position : positions) {
                there.restart();
                if (there.bind(circuit).bind(position).bind(number).step()) return true;
            }
        }
        return false;
    });
}

Result<std::vector<std::vector<float>>> Log::raw_channels(std::int64_t take_number) const {
    return as_result([&] {
        std::vector<RawFile> files;
        Statement rows = impl_->db().prepare(
            "SELECT name, channels, bytes, sha256 FROM raw_file WHERE record = ?1 ORDER BY place");
        rows.bind(take_number);
        while (rows.step())
            files.push_back({rows.text(0), static_cast<int>(rows.integer(1)), rows.integer(2), rows.text(3)});
        return load_raw(impl_->takes_folder(), files);
    });
}

}  // namespace proofwalk::log
