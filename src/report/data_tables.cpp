#include "report/data_tables.hpp"

#include <fmt/format.h>

#include <cmath>

#include "report/file_writing.hpp"
#include "report/reading_rows.hpp"
#include "report/room_layout.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::string cell(double value) { return std::isfinite(value) ? fmt::format("{}", value) : std::string(); }
std::string cell(std::optional<double> value) { return value ? cell(*value) : std::string(); }

plan::Sheet checks_of(const Show& show) {
    plan::Sheet table{"checks", "Checks", {}, {"check", "subject", "verdict", "value", "unit", "uncertainty", "probability", "target",
                                               "tolerance", "takes", "positions", "says", "advice"}, {}};
    for (const auto& check : show.tally.checks)
        table.rows.push_back({std::string(plan::word(check.kind)), check.subject, std::string(word(check.verdict)), cell(check.value),
                              check.unit, cell(check.uncertainty), cell(check.probability), cell(check.target), cell(check.tolerance),
                              joined(check.takes, " "), joined(check.positions, " "), check.says, check.advice});
    return table;
}

plan::Sheet boxes_of(const Show& show) {
    plan::Sheet table{"boxes", "Boxes", {}, {"box", "model", "circuit", "x_m", "y_m", "z_m", "pan_deg", "tilt_deg", "gain_db", "delay_ms",
                                             "inverted", "fit_x_m", "fit_x_u_m", "fit_y_m", "fit_y_u_m", "fit_z_m", "fit_z_u_m", "fit_pan_deg",
                                             "fit_pan_u_deg", "fit_tilt_deg", "fit_tilt_u_deg", "fit_gain_db", "fit_gain_u_db"}, {}};
    for (const auto& box : show.plan.boxes) {
        verify::Fit fit;
        for (const auto& known : show.tally.fits)
            if (known.box == box.id) fit = known;
        table.rows.push_back({box.id, box.model, box.circuit, cell(box.at.x), cell(box.at.y), cell(box.at.z), cell(box.pan_deg),
                              cell(box.tilt_deg), cell(box.gain_db), cell(box.delay_ms), box.inverted ? "yes" : "no", cell(fit.at[0]),
                              cell(fit.at_u[0]), cell(fit.at[1]), cell(fit.at_u[1]), cell(fit.at[2]), cell(fit.at_u[2]), cell(fit.pan_deg),
                              cell(fit.pan_u_deg), cell(fit.tilt_deg), cell(fit.tilt_u_deg), cell(fit.gain_db), cell(fit.gain_u_db)});
    }
    return table;
}

plan::Sheet positions_of(const Show& show) {
    plan::Sheet table{"positions", "Positions", {}, {"flag", "position", "x_m", "y_m", "z_m", "roles"}, {}};
    for (const auto& position : show.plan.positions)
        table.rows.push_back({fmt::format("{}", table.rows.size() + 1), position.id, cell(position.at.x), cell(position.at.y),
                              cell(position.at.z), roles_written_out(position)});
    return table;
}

plan::Sheet readings_of(const Show& show) {
    plan::Sheet table{"readings", "Readings", {}, {"take", "circuit", "mic", "position", "arrival_ms", "arrival_relative_ms", "arrival_u_ms",
                                                   "distance_m", "polarity", "level_reference", "aim_band_db", "aim_band_u_db",
                                                   "signal_to_noise_db", "gate_ms", "flags", "retired"}, {}};
    for (const double hz : nominal_hz) table.columns.push_back(fmt::format("direct_{}_hz_db", hz));
    for (const double hz : nominal_hz) table.columns.push_back(fmt::format("full_{}_hz_db", hz));
    const auto relative_s = arrivals_within_takes_s(show.readings);
    for (std::size_t i = 0; i < show.readings.size(); ++i) {
        const auto& [take, circuit, mic, position, reading] = show.readings[i].taken;
        std::vector<std::string> row = {take, circuit, mic, position};
        row.push_back(reading.arrival_s && reading.absolute ? cell(reading.arrival_s->value * 1e3) : "");
        row.push_back(relative_s[i] ? cell(*relative_s[i] * 1e3) : "");
        row.push_back(reading.arrival_s ? cell(reading.arrival_s->u * 1e3) : "");
        row.insert(row.end(), {cell(show.readings[i].distance_m), reading.polarity ? fmt::format("{}", *reading.polarity) : "",
                               std::string(level_reference(reading)), reading.aim_band_db ? cell(reading.aim_band_db->value) : "",
                               reading.aim_band_db ? cell(reading.aim_band_db->u) : "", cell(reading.signal_to_noise_db),
                               cell(reading.gate_s * 1e3), flag_words(reading.flags, " "), show.readings[i].retired ? "yes" : "no"});
        for (std::size_t band = 0; band < band_count; ++band) row.push_back(cell(reading.direct_db[band]));
        for (std::size_t band = 0; band < band_count; ++band) row.push_back(cell(reading.full_db[band]));
        table.rows.push_back(std::move(row));
    }
    return table;
}

void add_curve(plan::Sheet& table, const BoxCurves& curves, const char* name, const signal::Curve& curve) {
    for (std::size_t i = 0; i < curve.hz.size() && i < curve.db.size(); ++i)
        table.rows.push_back({curves.box, curves.position, curves.take, name, cell(curve.hz[i]), cell(curve.db[i]),
                              i < curve.u_db.size() ? cell(curve.u_db[i]) : ""});
}

plan::Sheet curves_of(const Show& show) {
    plan::Sheet table{"curves", "Magnitude", {}, {"box", "position", "take", "curve", "frequency_hz", "level_db", "u_db"}, {}};
    for (const auto& curves : show.curves) {
        add_curve(table, curves, "measured", curves.measured);
        add_curve(table, curves, "planned", curves.planned);
    }
    return table;
}

plan::Sheet impulses_of(const Show& show) {
    plan::Sheet table{"impulses", "Impulse responses", {}, {"box", "position", "take", "time_ms", "level_db"}, {}};
    for (const auto& curves : show.curves)
        for (std::size_t i = 0; i < curves.impulse_s.size() && i < curves.impulse_db.size(); ++i)
            table.rows.push_back({curves.box, curves.position, curves.take, cell(curves.impulse_s[i] * 1e3), cell(curves.impulse_db[i])});
    return table;
}

plan::Sheet skips_of(const Show& show) {
    plan::Sheet table{"skips", "Skips", {}, {"check", "subject", "who", "when", "why"}, {}};
    for (const auto& skip : show.skips) table.rows.push_back({skip.check, skip.subject, skip.who, to_text(skip.when), skip.why});
    return table;
}

plan::Sheet sign_offs_of(const Show& show) {
    plan::Sheet table{"sign-offs", "Sign-offs", {}, {"who", "role", "when", "covers", "exceptions", "hash", "stale", "stale_because"}, {}};
    for (const auto& line : show.sign_offs)
        table.rows.push_back({line.who, line.role, line.when, line.covers, joined(line.exceptions, " "), line.hash, line.stale ? "yes" : "no",
                              line.stale_because});
    return table;
}

plan::Sheet history_of(const Show& show) {
    plan::Sheet table{"history", "History", {}, {"when", "what", "who"}, {}};
    for (const auto& event : show.history) table.rows.push_back({event.when, event.what, event.who});
    return table;
}

plan::Sheet takes_of(const Show& show) {
    plan::Sheet table{"takes", "Takes", {}, {"take", "when", "kind", "circuits", "who"}, {}};
    for (const auto& take : show.takes) table.rows.push_back({take.label, take.when, take.kind, take.circuits, take.who});
    return table;
}

plan::Sheet remarks_of(const Show& show) {
    plan::Sheet table{"remarks", "Remarks", {}, {"when", "about", "what", "text", "who", "file", "sha256"}, {}};
    for (const auto& remark : show.remarks)
        table.rows.push_back({remark.when, remark.about, remark.what, remark.text, remark.who, remark.file, remark.sha256});
    return table;
}

plan::Sheet time_of(const Show& show) {
    plan::Sheet table{"time", "Where the time went", {}, {"circuit", "minutes", "takes", "retakes"}, {}};
    if (show.time)
        for (const auto& line : show.time->circuits)
            table.rows.push_back({line.circuit, cell(line.minutes), fmt::format("{}", line.takes), fmt::format("{}", line.retakes)});
    return table;
}

}  // namespace

std::vector<plan::Sheet> data_tables(const Show& show) {
    return {checks_of(show), boxes_of(show), positions_of(show), readings_of(show), curves_of(show),
            impulses_of(show), skips_of(show), sign_offs_of(show), history_of(show), takes_of(show), remarks_of(show), time_of(show)};
}

Result<std::vector<std::filesystem::path>> write_data(const Show& show, const std::filesystem::path& folder) {
    std::vector<std::filesystem::path> files;
    const auto add = [&](const std::string& name, const std::string& bytes) -> Result<void> {
        auto file = write_whole(folder, name, bytes);
        if (!file) return std::unexpected(file.error());
        files.push_back(std::move(*file));
        return {};
    };
    if (auto written = add("show.json", show_json(show)); !written) return std::unexpected(written.error());
    for (const auto& table : data_tables(show))
        if (auto written = add(table.name + ".csv", plan::csv(table)); !written) return std::unexpected(written.error());
    return files;
}

}  // namespace proofwalk::report
