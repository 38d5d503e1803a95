#include "cli/estimate_kit.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <cmath>
#include <filesystem>

#include "report/file_writing.hpp"
#include "units/nearest.hpp"

namespace proofwalk::cli {
namespace {

std::vector<std::string> split(const std::string& text, char at) {
    std::vector<std::string> parts(1);
    for (const char c : text) {
        if (c == at)
            parts.emplace_back();
        else
            parts.back() += c;
    }
    return parts;
}

std::optional<double> number(const std::string& text) {
    std::size_t used = 0;
    try {
        const double value = std::stod(text, &used);
        if (text.find_first_not_of(" \t", used) == std::string::npos && std::isfinite(value)) return value;
    } catch (const std::exception&) {
        return std::nullopt;
    }
    return std::nullopt;
}

}  // namespace

void add_shared(CLI::App& command, EstimateOptions& options, bool with_air) {
    command.add_flag("--json", options.json, "for programs, metric");
    command.add_flag("--feet", options.feet, "bare lengths are feet, and lengths are shown in feet and inches");
    command.add_option("--draw", options.draw, "write a drawing to scale, an SVG file");
    if (!with_air) return;
    command.add_option("--temperature", options.temperature_c, "of the air, C")->check(CLI::Range(-40.0, 60.0))->capture_default_str();
    command.add_option("--humidity", options.humidity_pct, "of the air, %")->check(CLI::Range(0.0, 100.0))->capture_default_str();
}

void Prompt::fault(std::string reason, std::string remedy) { faults_.push_back({FaultKind::input, "", "command line", std::move(reason), std::move(remedy)}); }

double Prompt::length(const char* option, const std::string& text) {
    const auto metres = length_from_text(text, bare_);
    if (!metres || std::abs(*metres) > 2000.0) fault(fmt::format("{} \"{}\" is no length that can be used", option, text), "write 3.5, \"3.5 m\", \"12 ft\" or \"12' 6\\\"\"");
    return metres.value_or(1.0);
}

std::optional<double> Prompt::optional_length(const char* option, const std::string& text) {
    return text.empty() ? std::nullopt : std::optional(length(option, text));
}

Vec3 Prompt::point(const char* option, const std::string& text) {
    const auto parts = split(text, ',');
    if (parts.size() != 3) {
        fault(fmt::format("{} \"{}\" is no point", option, text), "write x,y,z");
        return {};
    }
    return {length(option, parts[0]), length(option, parts[1]), length(option, parts[2])};
}

std::vector<double> Prompt::numbers(const char* option, const std::string& text) {
    const auto bad = [&] {
        fault(fmt::format("{} \"{}\" is no list of numbers", option, text), "write 0,1,2.5 or from:to:step as 0:5:0.5");
        return std::vector<double>{};
    };
    if (text.empty()) return {};
    const auto range = split(text, ':');
    if (range.size() == 3) {
        const auto from = number(range[0]), to = number(range[1]), step = number(range[2]);
        if (!from || !to || !step || !(*step > 0.0) || *to < *from || (*to - *from) / *step > 500.0) return bad();
        std::vector<double> all;
        for (int i = 0; *from + i * *step <= *to + 1e-9; ++i) all.push_back(*from + i * *step);
        return all;
    }
    std::vector<double> all;
    for (const auto& part : split(text, ',')) {
        const auto value = number(part);
        if (!value) return bad();
        all.push_back(*value);
    }
    return all;
}

Checked<PlanAndModel> plan_and_model(const std::string& plan_file, const std::string& model_id) {
    PlanAndModel found;
    if (plan_file.empty()) {
        if (!model_id.empty()) return std::unexpected(Faults{{FaultKind::input, "", "command line", "--model needs the plan that has it", "add --plan PLAN"}});
        return found;
    }
    auto file = plan::load(plan_file);
    if (!file) return std::unexpected(file.error());
    found.plan = std::move(file->plan);
    if (model_id.empty()) return found;
    found.model = found.plan->model(model_id);
    if (found.model == nullptr) {
        std::vector<std::string_view> known;
        for (const auto& model : found.plan->models) known.push_back(model.id);
        return std::unexpected(Faults{{FaultKind::input, plan_file, "", fmt::format("there is no model \"{}\"", model_id), nearest_remedy(model_id, known, "model")}});
    }
    return found;
}

int show(Console& console, const report::Estimate& estimate, const EstimateOptions& options) {
    if (!options.draw.empty()) {
        const auto svg = report::estimate_svg(estimate);
        if (!svg) return console.tell(Fault{FaultKind::input, "", "command line", "this estimate has no drawing", "leave --draw out"});
        const std::filesystem::path path = options.draw;
        const auto written = report::write_whole(path.has_parent_path() ? path.parent_path() : ".", path.filename().string(), *svg);
        if (!written) return console.tell(written.error());
        console.note("drawn: " + written->string());
    }
    console.out() << (options.json ? report::estimate_json(estimate) : report::estimate_text(estimate, console.style(), options.unit()));
    return status_done;
}

}  // namespace proofwalk::cli
