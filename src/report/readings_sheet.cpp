// Every reading, before any judgement.
#include <fmt/format.h>

#include "report/html_pieces.hpp"
#include "report/reading_rows.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {

Sheet readings_sheet(const Show& show) {
    Sheet sheet{"Readings", "readings", "<h2>Readings</h2>\n", {}, false};
    const auto relative_s = arrivals_within_takes_s(show.readings);
    HtmlTable table("What was measured, each figure with one standard uncertainty. Arrival after the reference; with a + where "
                    "the take has none: after its earliest arrival. Retired: a later change of the rig took its place.",
                    {{"take"}, {"circuit"}, {"position"}, {"mic"}, {"arrival, ms", true}, {"distance, m", true},
                     {"polarity", true}, {"aim band, dB", true}, {"signal to noise, dB", true}, {"remarks"}});
    for (std::size_t i = 0; i < show.readings.size(); ++i) {
        const auto& [take, circuit, mic, position, reading] = show.readings[i].taken;
        std::string arrival(no_figure), level(no_figure);
        if (reading.arrival_s && relative_s[i])
            arrival = (reading.absolute ? "" : "+") +
                      with_uncertainty((reading.absolute ? reading.arrival_s->value : *relative_s[i]) * 1e3,
                                       reading.arrival_s->u * 1e3, "ms", Sign::when_negative);
        if (reading.aim_band_db)
            level = with_uncertainty(reading.aim_band_db->value, reading.aim_band_db->u, "dB", Sign::when_negative);
        std::string remarks = flag_words(reading.flags, ", ");
        if (reading.calibrated) remarks += remarks.empty() ? "dB SPL" : ", dB SPL";
        if (show.readings[i].retired) remarks += remarks.empty() ? "retired" : ", retired";
        table.add({escaped(take), escaped(circuit), escaped(position), escaped(mic), arrival, fixed(show.readings[i].distance_m, 2),
                   reading.polarity ? fixed(*reading.polarity, 0, Sign::always) : std::string(no_figure), level,
                   fixed(reading.signal_to_noise_db, 0), escaped(remarks)});
    }
    sheet.body = table.html();
    return sheet;
}

}  // namespace proofwalk::report
