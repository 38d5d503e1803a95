#include "plan/read.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <fstream>
#include <map>
#include <system_error>

#include <fmt/format.h>

#include "plan/contradictions.hpp"
#include "plan/toml_fields.hpp"
#include "units/sha256.hpp"

namespace proofwalk::plan {
namespace {

using Keys = std::span<const std::string_view>;
constexpr std::string_view format_word = "proofwalk.plan/1";
constexpr std::uintmax_t largest_file = 16u << 20;

constexpr Limits any_angle{-360.0, 360.0, "deg"};
constexpr Limits tilt_angle{-90.0, 90.0, "deg"};
constexpr Limits coverage_angle{1.0, 360.0, "deg"};

std::optional<Decision> decision_from_word(std::string_view word) {
    if (word == "guarded") return Decision::guarded;
    if (word == "simple") return Decision::simple;
    return std::nullopt;
}
std::optional<Pattern> pattern_from_word(std::string_view word) {
    if (word == "beam") return Pattern::beam;
    if (word == "omni") return Pattern::omni;
    return std::nullopt;
}

class Reader {
public:
    Reader(Findings& findings, const toml::table& root, std::filesystem::path folder, std::span<const std::string_view> needed)
        : findings_(findings), root_(root), folder_(std::move(folder)), needed_(needed) {}

    Plan read() {
        read_top();
        read_air();
        read_rules();
        each("area", [&](const toml::table& table) { read_area(table); });
        each("model", [&](const toml::table& table) { read_model(table); });
        each("box", [&](const toml::table& table) { read_box(table); });
        each("array", [&](const toml::table& table) { read_array(table); });
        each("position", [&](const toml::table& table) { read_position(table); });
        return std::move(plan_);
    }
    [[nodiscard]] const SourceLines& lines() const { return lines_; }

private:
    void read_top() {
        static constexpr std::array<std::string_view, 10> known = {"format", "name", "air",   "drive",    "rules",
                                                                   "area",   "model", "box",  "array",    "position"};
        Fields top(findings_, &root_, "the plan", known);
        const std::string format = top.needed_text("format");
        if (!format.empty() && format != format_word)
            top.fault("format", fmt::format("format is {}", in_quotes(format)), fmt::format("this program reads {}", in_quotes(format_word)));
        plan_.name = top.needed_text("name");
        for (const std::string_view section : needed_)
            if (!top.has(section)) findings_.fault(0, fmt::format("there is no [[{}]] in the file", section), "add at least one");
    }

    const toml::table* section(std::string_view name) {
        const toml::node* node = root_.get(name);
        if (node == nullptr) return nullptr;
        if (!node->is_table()) findings_.fault(line_of(*node), fmt::format("{} must be a section", name), fmt::format("write [{}]", name));
        return node->as_table();
    }

    template <class Do>
    void each(std::string_view name, Do&& read_one) {
        const toml::node* node = root_.get(name);
        if (node == nullptr) return;
        const toml::array* list = node->as_array();
        const auto complain = [&](const toml::node& at) {
            findings_.fault(line_of(at), fmt::format("{} must be a list of sections", name), fmt::format("write [[{}]], with two brackets", name));
        };
        if (list == nullptr) return complain(*node);
        if (list->empty() && std::ranges::find(needed_, name) != needed_.end())
            findings_.fault(line_of(*node), fmt::format("the list {} is empty", name), "add at least one");
        for (const toml::node& item : *list) {
            if (const toml::table* table = item.as_table())
                read_one(*table);
            else
                complain(item);
        }
    }

    void read_air() {
        static constexpr std::array<std::string_view, 3> known = {"temperature_c", "humidity_pct", "pressure_kpa"};
        Fields air(findings_, section("air"), "[air]", known);
        plan_.air.temperature_c = air.number("temperature_c", 20.0, {-40.0, 60.0, "C"});
        plan_.air.humidity_pct = air.number("humidity_pct", 50.0, {0.0, 100.0, "%"});
        plan_.air.pressure_kpa = air.number("pressure_kpa", 101.325, {50.0, 110.0, "kPa"});
        static constexpr std::array<std::string_view, 1> drive_keys = {"latency_ms"};
        Fields drive(findings_, section("drive"), "[drive]", drive_keys);
        plan_.drive_latency_ms = drive.optional_number("latency_ms", {0.0, 5000.0, "ms"});
    }

    void read_rules() {
        static constexpr std::array<std::string_view, 13> known = {
            "decision",   "confidence",   "aim_deg",     "splay_deg",   "spacing_m",    "level_db",        "crossover_db",
            "arrival_ms", "alignment_ms", "response_db", "mic_place_m", "mic_match_db", "temperature_u_c"};
        static constexpr std::array<std::string_view, 2> decisions = {"guarded", "simple"};
        Fields rules(findings_, section("rules"), "[rules]", known);
        Rules& r = plan_.rules;
        r.decision = rules.one_of("decision", r.decision, decision_from_word, decisions, "decision rule");
        r.confidence = rules.number("confidence", r.confidence, {0.5, 0.9999, ""});
        const auto tolerance = [&](std::string_view key, double& value, double high, std::string_view unit) {
            value = rules.number(key, value, {1e-3, high, unit});
        };
        tolerance("aim_deg", r.aim_deg, 90.0, "deg");
        tolerance("splay_deg", r.splay_deg, 90.0, "deg");
        tolerance("spacing_m", r.spacing_m, 50.0, "m");
        tolerance("level_db", r.level_db, 40.0, "dB");
        tolerance("crossover_db", r.crossover_db, 40.0, "dB");
        tolerance("arrival_ms", r.arrival_ms, 1000.0, "ms");
        tolerance("alignment_ms", r.alignment_ms, 1000.0, "ms");
        tolerance("response_db", r.response_db, 40.0, "dB");
        r.mic_place_m = rules.number("mic_place_m", r.mic_place_m, {0.0, 5.0, "m"});
        r.mic_match_db = rules.number("mic_match_db", r.mic_match_db, {0.0, 10.0, "dB"});
        r.temperature_u_c = rules.number("temperature_u_c", r.temperature_u_c, {0.0, 30.0, "C"});
    }

    void read_area(const toml::table& table) {
        static constexpr std::array<std::string_view, 5> known = {"id", "near", "far", "near_width_m", "far_width_m"};
        Fields fields(findings_, &table, "[[area]]", known);
        Area area;
        area.id = fields.id();
        area.near = fields.needed_point("near");
        area.far = fields.needed_point("far");
        if (fields.has("near") && fields.has("far") && area.near.x == area.far.x && area.near.y == area.far.y)
            fields.fault("far", "the nearest and the farthest row are in one place", "give the middle of each row");
        area.near_width_m = fields.needed_number("near_width_m", {0.01, 1000.0, "m"});
        area.far_width_m = fields.needed_number("far_width_m", {0.01, 1000.0, "m"});
        lines_.areas.push_back(fields.line("id"));
        plan_.areas.push_back(area);
    }

    void read_model(const toml::table& table) {
        static constexpr std::array<std::string_view, 13> known = {
            "id",           "pattern",     "coverage_h_deg", "coverage_v_deg", "aim_band_hz", "range_hz",  "size_m",
            "directivity",  "coverage_u_pct", "pattern_u_db", "level_1m_db",    "latency_ms",  "inverted"};
        static constexpr std::array<std::string_view, 2> patterns = {"beam", "omni"};
        Fields fields(findings_, &table, "[[model]]", known);
        Model model;
        model.id = fields.id();
        const std::size_t before = findings_.faults.size();
        model.pattern = fields.one_of("pattern", Pattern::beam, pattern_from_word, patterns, "pattern");
        const bool known_pattern = findings_.faults.size() == before;
        const bool beam = known_pattern && model.pattern == Pattern::beam;  // of a misspelt pattern no coverage is asked
        const auto coverage = [&](std::string_view key) {
            return beam ? fields.needed_number(key, coverage_angle) : fields.number(key, 360.0, coverage_angle);
        };
        model.coverage_h_deg = coverage("coverage_h_deg");
        model.coverage_v_deg = coverage("coverage_v_deg");
        read_bands(fields, model, beam);
        model.size_m = fields.optional_triple("size_m", {0.01, 20.0, "m"}).value_or(Vec3{});
        model.directivity = fields.text("directivity", "");
        model.coverage_u_pct = fields.number("coverage_u_pct", model.directivity.empty() ? 5.0 : 2.0, {0.0, 100.0, "%"});
        model.pattern_u_db = fields.number("pattern_u_db", 0.3, {0.0, 20.0, "dB"});
        model.level_1m_db = fields.optional_number("level_1m_db", {-200.0, 200.0, "dB"});
        model.latency_ms = fields.number("latency_ms", 0.0, {0.0, 5000.0, "ms"});
        model.inverted = fields.boolean("inverted", false);
        model.pattern_loss = pattern_of(fields, model);
        lines_.models.push_back(fields.line("id"));
        plan_.models.push_back(model);
    }

    static void read_bands(Fields& fields, Model& model, bool beam) {
        if (!fields.has("range_hz")) fields.fault("range_hz", "the key \"range_hz\" is missing", "add it");
        const auto range = fields.optional_band("range_hz");
        model.range_hz = range.value_or(Band{20.0, 20000.0});
        const auto aim = fields.optional_band("aim_band_hz");
        model.aim_band_hz = aim.value_or(model.range_hz);
        if (!fields.has("aim_band_hz") && beam)
            fields.fault("aim_band_hz", "the key \"aim_band_hz\" is missing", "add it: the band in which the coverage angles hold");
        const bool outside = aim && range && (aim->low_hz < range->low_hz || aim->high_hz > range->high_hz);
        if (outside)
            fields.fault("aim_band_hz",
                         fmt::format("aim_band_hz {} to {} Hz reaches outside range_hz {} to {} Hz", aim->low_hz, aim->high_hz,
                                     range->low_hz, range->high_hz),
                         "the box is judged in a band where it plays");
    }

    std::shared_ptr<const acoustics::Directivity> pattern_of(Fields& fields, const Model& model) {
        if (!model.directivity.empty()) {
            const auto known = files_.find(model.directivity);
            if (known != files_.end()) return known->second;
            auto loaded = acoustics::directivity_from_sofa(folder_ / model.directivity);
            if (loaded) return files_[model.directivity] = *loaded;
            fields.fault("directivity", fmt::format("directivity file {}: {}", in_quotes(model.directivity), loaded.error().reason),
                         loaded.error().remedy);
        }
        if (model.pattern == Pattern::omni) return acoustics::omni_directivity();
        return acoustics::beam_directivity(
            {model.coverage_h_deg, model.coverage_v_deg, model.aim_band_hz.low_hz, model.size_m.x, model.size_m.y});
    }

    void read_box(const toml::table& table) {
        static constexpr std::array<std::string_view, 11> known = {"id",       "model",    "at",      "pan_deg", "tilt_deg", "gain_db",
                                                                   "delay_ms", "inverted", "circuit", "output",  "patch"};
        Fields fields(findings_, &table, "[[box]]", known);
        Box box;
        box.id = fields.id();
        box.model = fields.needed_text("model");
        box.at = fields.needed_point("at");
        box.pan_deg = fields.number("pan_deg", 0.0, any_angle);
        box.tilt_deg = fields.number("tilt_deg", 0.0, tilt_angle);
        box.gain_db = fields.number("gain_db", 0.0, {-120.0, 60.0, "dB"});
        box.delay_ms = fields.number("delay_ms", 0.0, {0.0, 5000.0, "ms"});
        box.inverted = fields.boolean("inverted", false);
        if (const toml::node* circuit = fields.node("circuit"); circuit != nullptr && circuit->is_array())
            fields.fault("circuit", "a box has one circuit", "write circuit = \"NAME\"");
        else
            box.circuit = fields.text("circuit", box.id);
        if (box.circuit.empty()) box.circuit = box.id;
        box.output = fields.optional_integer("output", 1, 4096);
        box.patch = fields.text("patch", "");
        lines_.boxes.push_back({fields.line("id"), fields.line("model"), fields.line("circuit"), fields.line("output")});
        plan_.boxes.push_back(box);
    }

    void read_array(const toml::table& table) {
        static constexpr std::array<std::string_view, 4> known = {"id", "kind", "boxes", "band_hz"};
        Fields fields(findings_, &table, "[[array]]", known);
        Array array;
        array.id = fields.id();
        (void)fields.needed_text("kind");
        array.kind = fields.has("kind") ? fields.one_of("kind", ArrayKind::uncoupled, array_kind_from_word, array_kind_names(), "kind of array")
                                        : ArrayKind::uncoupled;
        array.boxes = fields.texts("boxes", true);
        array.band_hz = fields.optional_band("band_hz");
        lines_.arrays.push_back({fields.line("id"), fields.line("boxes")});
        plan_.arrays.push_back(array);
    }

    void read_position(const toml::table& table) {
        static constexpr std::array<std::string_view, 4> known = {"id", "at", "place_u_m", "serves"};
        Fields fields(findings_, &table, "[[position]]", known);
        Position position;
        position.id = fields.id();
        position.at = fields.needed_point("at");
        position.place_u_m = fields.optional_number("place_u_m", {0.0, 5.0, "m"});
        std::vector<int> serve_lines;
        if (const toml::node* serves = fields.node("serves")) {
            if (const toml::array* list = serves->as_array())
                for (const toml::node& item : *list) read_serve(fields, item, position, serve_lines);
            else
                fields.fault("serves", "serves must be a list", "write serves = [{ role = \"on-axis\", boxes = [\"...\"] }]");
        }
        lines_.positions.push_back({fields.line("id"), fields.line("at"), serve_lines});
        plan_.positions.push_back(position);
    }

    void read_serve(Fields& position_fields, const toml::node& item, Position& position, std::vector<int>& serve_lines) {
        static constexpr std::array<std::string_view, 2> known = {"role", "boxes"};
        const toml::table* table = item.as_table();
        if (table == nullptr) {
            position_fields.fault("serves", "serves holds something that is no table", "write { role = \"on-axis\", boxes = [\"...\"] }");
            return;
        }
        Fields fields(findings_, table, fmt::format("[[position]] {}, serves", in_quotes(position.id)), known);
        Serve serve;
        if (fields.needed_text("role").empty()) return;
        const std::size_t before = findings_.faults.size();
        serve.role = fields.one_of("role", Role::on_axis, role_from_word, role_names(), "role");
        serve.boxes = fields.texts("boxes", true);
        if (findings_.faults.size() != before) return;
        serve_lines.push_back(fields.line());
        position.serves.push_back(serve);
    }

    Findings& findings_;
    const toml::table& root_;
    std::filesystem::path folder_;
    std::span<const std::string_view> needed_;  // sections that must be there
    Plan plan_;
    SourceLines lines_;
    std::map<std::string, std::shared_ptr<const acoustics::Directivity>> files_;
};

Fault whole_file(std::string_view file, std::string reason, std::string remedy) {
    return {FaultKind::input, std::string(file), "", std::move(reason), std::move(remedy)};
}

constexpr std::array<std::string_view, 2> plan_needs = {"model", "box"};
constexpr std::array<std::string_view, 1> venue_needs = {"area"};

Checked<PlanFile> read_needing(std::string_view bytes, std::string_view file, const std::filesystem::path& folder,
                               std::span<const std::string_view> needed) {
    if (std::ranges::all_of(bytes, [](char c) { return std::isspace(static_cast<unsigned char>(c)) != 0; }))
        return std::unexpected(Faults{whole_file(file, "the file is empty", fmt::format("start it with format = {}", in_quotes(format_word)))});
    if (bytes.find('\0') != std::string_view::npos)
        return std::unexpected(Faults{whole_file(file, "the file is not text (it holds zero bytes)", "give the plan, a TOML file")});

    Findings findings{std::string(file), {}, {}};
    toml::table root;
    try {
        root = toml::parse(bytes, std::string_view(findings.file));
    } catch (const toml::parse_error& error) {
        findings.fault(static_cast<int>(error.source().begin.line), fmt::format("not TOML: {}", error.description()), "correct this line first; the rest was not read");
        return std::unexpected(std::move(findings.faults));
    }
    Reader reader(findings, root, folder, needed);
    PlanFile found;
    found.plan = reader.read();
    find_contradictions(found.plan, reader.lines(), findings);
    if (!findings.faults.empty()) {
        std::ranges::stable_sort(findings.faults, {}, [](const Fault& fault) {
            return fault.place.empty() ? 0 : std::stoi(fault.place.substr(5));  // after "line "
        });
        return std::unexpected(std::move(findings.faults));
    }
    found.bytes = bytes;
    found.sha256 = sha256(bytes);
    found.warnings = std::move(findings.warnings);
    return found;
}

Checked<PlanFile> load_needing(const std::filesystem::path& file, std::span<const std::string_view> needed) {
    const auto refuse = [&](std::string reason, std::string remedy) {
        return std::unexpected(Faults{whole_file(file.string(), std::move(reason), std::move(remedy))});
    };
    std::error_code error;
    const auto status = std::filesystem::status(file, error);
    if (!std::filesystem::exists(status)) return refuse("there is no such file", "check the path");
    if (std::filesystem::is_directory(status)) return refuse("this is a folder", "name the plan file in it");
    if (std::filesystem::is_regular_file(status) && std::filesystem::file_size(file, error) > largest_file)
        return refuse("the file is larger than 16 MB, which no plan is", "check the path");
    std::ifstream stream(file, std::ios::binary);
    std::string bytes{std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
    if (!stream.is_open() || stream.bad()) return refuse("the file can't be read", "check its permissions");
    return read_needing(bytes, file.string(), file.parent_path(), needed);
}

}  // namespace

Checked<PlanFile> read(std::string_view bytes, std::string_view file, const std::filesystem::path& folder) {
    return read_needing(bytes, file, folder, plan_needs);
}
Checked<PlanFile> load(const std::filesystem::path& file) { return load_needing(file, plan_needs); }
Checked<PlanFile> load_venue(const std::filesystem::path& file) { return load_needing(file, venue_needs); }

}  // namespace proofwalk::plan
