// The room drawn in plan and section, and in tables what the drawing says.
#include <fmt/format.h>

#include <algorithm>

#include "report/html_pieces.hpp"
#include "report/room_drawing.hpp"
#include "report/sheets.hpp"
#include "report/wording.hpp"

namespace proofwalk::report {
namespace {

constexpr double most_landscape = 0.72;  // height over width: a higher drawing is larger on upright paper

const verify::Fit* fit_of(const Show& show, const std::string& box) {
    const auto found = std::ranges::find(show.tally.fits, box, &verify::Fit::box);
    return found == show.tally.fits.end() ? nullptr : &*found;
}

std::string planned_and_fitted(double planned, int decimals, std::string_view unit, std::optional<double> value,
                               std::optional<double> u) {
    std::string html = escaped(with_unit(fixed(planned, decimals), unit));
    if (value && std::isfinite(*value))
        html += fmt::format(" <br><b>{}</b>", escaped(fitted(value, u, unit)));
    return html;
}

std::string boxes_table(const Show& show) {
    HtmlTable table("Each box as planned; in bold where it stands and points by the sound, with one standard uncertainty. No "
                    "bold figure: the takes do not determine it.",
                    {{"box"}, {"model"}, {"x, m", true}, {"y, m", true}, {"z, m", true}, {"pan", true}, {"tilt", true},
                     {"gain, dB", true}, {"delay, ms", true}, {"circuit"}});
    for (const auto& box : show.plan.boxes) {
        static const verify::Fit none;
        const verify::Fit* known = fit_of(show, box.id);
        const verify::Fit& fit = known == nullptr ? none : *known;
        table.add({fmt::format("<a href=\"#{}\">{}</a>", box_anchor(show, box.id), escaped(box.id)), escaped(box.model),
                   planned_and_fitted(box.at.x, 2, "", fit.at[0], fit.at_u[0]),
                   planned_and_fitted(box.at.y, 2, "", fit.at[1], fit.at_u[1]),
                   planned_and_fitted(box.at.z, 2, "", fit.at[2], fit.at_u[2]),
                   planned_and_fitted(box.pan_deg, 1, "deg", fit.pan_deg, fit.pan_u_deg),
                   planned_and_fitted(box.tilt_deg, 1, "deg", fit.tilt_deg, fit.tilt_u_deg),
                   planned_and_fitted(box.gain_db, 1, "", fit.gain_db, fit.gain_u_db), fixed(box.delay_ms, 2),
                   escaped(box.circuit)});
    }
    return table.html();
}

std::string positions_table(const Show& show) {
    HtmlTable table("Flags of the drawing: mic positions and what each is for.",
                    {{"flag", true}, {"position"}, {"x, m", true}, {"y, m", true}, {"z, m", true}, {"role"}});
    int number = 0;
    for (const auto& position : show.plan.positions)
        table.add({fmt::format("{}", ++number), escaped(position.id), fixed(position.at.x, 2), fixed(position.at.y, 2),
                   fixed(position.at.z, 2), escaped(roles_written_out(position))},
                  1);
    return table.html();
}

std::string sample(std::string_view line_class) {
    return fmt::format("<svg class=\"sample\" viewBox=\"0 0 34 10\" aria-hidden=\"true\"><path class=\"{}\" d=\"M1 5H33\"/></svg>",
                       line_class);
}

}  // namespace

Sheet room_sheet(const Show& show, const Notes& notes) {
    const RoomLayout layout = room_layout(show.plan, show.tally.fits);
    const RoomMarks marks{notes.of_box};
    const RoomPicture wide = room_picture(layout, show.plan.name, RoomFormat::wide, marks);
    const RoomPicture narrow = room_picture(layout, show.plan.name, RoomFormat::narrow, marks);
    Sheet sheet{"Room", "room", {}, {}, wide.height < most_landscape * wide.width};
    sheet.head = "<h2>Room</h2>\n";
    sheet.body = "<figure>\n" + wide.svg + narrow.svg;
    sheet.body += fmt::format("<figcaption>{} planned aim {} aim by the sound, with a fan of two standard uncertainties {} "
                              "\u22126 dB edges. Numbered flags: mic positions. {} with a number: the note of a fail. "
                              "x from the stage into the room, y to stage left, z up.</figcaption></figure>\n",
                              sample("axis-planned"), sample("axis-fitted"), sample("edge"),
                              mark_html(verify::Verdict::fail));
    sheet.body += "<h3>Boxes</h3>\n" + boxes_table(show) + "<h3>Positions</h3>\n" + positions_table(show);
    return sheet;
}

}  // namespace proofwalk::report
