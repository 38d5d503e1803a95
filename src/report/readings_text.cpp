// Readings on a terminal, before any judgement.
#include <fmt/format.h>

#include <cmath>

#include "report/reading_rows.hpp"
#include "report/report.hpp"
#include "report/text_table.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

std::string polarity_text(const signal::Reading& reading) {
    return reading.polarity ? fixed(*reading.polarity, 0, Sign::always) : std::string(no_figure);
}

std::string arrival_text(const signal::Reading& reading, std::optional<double> relative_s) {
    if (!reading.arrival_s || !relative_s) return std::string(no_figure);
    const double shown_s = reading.absolute ? reading.arrival_s->value : *relative_s;
    return (reading.absolute ? "" : "+") +
           with_uncertainty(shown_s * 1e3, reading.arrival_s->u * 1e3, "ms", Sign::when_negative);
}

std::string level_text(const signal::Reading& reading) {
    if (!reading.aim_band_db) return std::string(no_figure);
    return with_uncertainty(reading.aim_band_db->value, reading.aim_band_db->u, "dB", Sign::when_negative);
}

}  // namespace

std::string readings_text(const std::vector<ReadingRow>& rows, const TextStyle& style) {
    if (rows.empty()) return "No take is logged yet.\n";
    const auto relative_s = arrivals_within_takes_s(rows);
    std::vector<std::string> arrivals, levels;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        arrivals.push_back(arrival_text(rows[i].taken.reading, relative_s[i]));
        levels.push_back(level_text(rows[i].taken.reading));
    }
    arrivals = aligned_on_point(std::move(arrivals));
    levels = aligned_on_point(std::move(levels));
    TextTable table({{"take", Align::left, 12}, {"circuit", Align::left, 14}, {"mic", Align::left, 8},
                     {"position", Align::left, 12}, {"arrival, ms", Align::left, 20}, {"pol", Align::right, 4},
                     {"aim band, dB", Align::left, 16}, {"S/N, dB", Align::right, 8}, {"flags", Align::left, 30, true}});
    bool relative = false;
    bool calibrated = false;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const auto& [take, circuit, mic, position, reading] = rows[i].taken;
        relative = relative || !reading.absolute;
        calibrated = calibrated || reading.calibrated;
        std::string remarks = flag_words(reading.flags, ", ");
        if (rows[i].retired) remarks += remarks.empty() ? "retired" : ", retired";
        table.add({{printable(take)}, {printable(circuit)}, {printable(mic)}, {printable(position)}, {arrivals[i]},
                   {polarity_text(reading)}, {levels[i]}, {fixed(reading.signal_to_noise_db, 0)},
                   {remarks, remarks.empty() ? "" : "38;5;172"}});
    }
    std::string text = table.text(style, 0);
    text += "\nEach figure with one standard uncertainty.";
    if (relative) text += " A + in front: counted from the earliest arrival of its take, which has no reference.";
    if (calibrated) text += " Levels of calibrated mics are dB SPL.";
    return text + "\n";
}

}  // namespace proofwalk::report
