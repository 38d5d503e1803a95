// A plot as files: SVG for paper, CSV for other programs. Pictures (PNG) are read back from the window.
#pragma once

#include <filesystem>
#include <string>

#include "app/plot.hpp"

namespace proofwalk::app {

// One row a point: curve, x, y, standard uncertainty (empty where there is none). Numbers with a point, in full.
[[nodiscard]] std::string plot_csv(const Plot& plot);
[[nodiscard]] std::string plot_svg(const Plot& plot, PaperKind kind, double width = 900.0, double height = 420.0);

}  // namespace proofwalk::app
