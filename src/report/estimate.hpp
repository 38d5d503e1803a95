// An estimate of the design desk, worked out elsewhere and arranged here: words, JSON and a small drawing.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "report/report.hpp"
#include "units/lengths.hpp"

namespace proofwalk::report {

struct EstimateFigure {
    std::string key;    // in JSON, with its unit: "tilt_deg"
    std::string words;  // for people: "tilt"
    std::optional<double> value;
    std::string unit;   // "deg", "m" (shown in feet on request), "dB", "ms", ""
    int decimals = 2;
};

// Rows of figures; the first column may be words.
struct EstimateTable {
    std::string key, title;
    struct Column {
        std::string key, words, unit;
        int decimals = 2;
    };
    std::vector<Column> columns;
    struct Row {
        std::string label;  // empty for all rows: no label column
        std::vector<std::optional<double>> values;
    };
    std::vector<Row> rows;
    std::string label_words;  // head of the label column
};

// A drawing to scale, in metres, v up.
struct EstimateSketch {
    enum class Kind { audience, axis, edge, box, join };
    struct Stroke {
        Kind kind = Kind::audience;
        std::vector<std::pair<double, double>> points;
        std::string label;  // at its last point
    };
    std::string title;
    std::vector<Stroke> strokes;
    // Levels over a grid, drawn as bands of hatching; values row by row, u then v.
    struct Field {
        std::size_t rows = 0, columns = 0;
        std::vector<std::pair<double, double>> places;
        std::vector<double> db;
    };
    std::optional<Field> field;
};

struct Estimate {
    std::string what;                  // "vertical-aim"
    std::string title;                 // "Vertical aim"
    std::vector<std::string> says;     // sentences, the answer first
    std::vector<std::string> assumes;  // what it rests on
    std::vector<EstimateFigure> figures;
    std::vector<EstimateTable> tables;
    std::optional<EstimateSketch> sketch;
};

// "format": "proofwalk.estimate/1". Lengths are metres there, whatever people asked to read.
[[nodiscard]] std::string estimate_json(const Estimate& estimate);
[[nodiscard]] std::string estimate_text(const Estimate& estimate, const TextStyle& style, LengthUnit unit);
// A whole SVG file; nothing without a sketch.
[[nodiscard]] std::optional<std::string> estimate_svg(const Estimate& estimate);

}  // namespace proofwalk::report
