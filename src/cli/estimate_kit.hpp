// What the estimate commands share: lengths as people type them, models out of a plan, and how the answer is shown.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "acoustics/air.hpp"
#include "cli/commands.hpp"
#include "plan/read.hpp"
#include "report/estimate.hpp"
#include "units/fault.hpp"
#include "units/lengths.hpp"
#include "walk/estimates.hpp"

namespace proofwalk::cli {

// Options that every estimate has.
struct EstimateOptions {
    bool json = false, feet = false;
    std::string draw;
    double temperature_c = 20.0, humidity_pct = 50.0;

    [[nodiscard]] LengthUnit unit() const { return feet ? LengthUnit::feet : LengthUnit::metres; }
    [[nodiscard]] acoustics::Air air() const { return {temperature_c, humidity_pct, 101.325}; }
};
void add_shared(CLI::App& command, EstimateOptions& options, bool with_air);

// Reads what was typed; every fault is kept, and a value stands in for what could not be read.
class Prompt {
public:
    explicit Prompt(LengthUnit bare) : bare_(bare) {}
    double length(const char* option, const std::string& text);
    std::optional<double> optional_length(const char* option, const std::string& text);
    Vec3 point(const char* option, const std::string& text);              // "x,y,z"
    std::vector<double> numbers(const char* option, const std::string& text);  // "0,1,2" or "0:5:0.5"
    [[nodiscard]] const Faults& faults() const { return faults_; }
    void fault(std::string reason, std::string remedy);

private:
    LengthUnit bare_;
    Faults faults_;
};

// A plan and one of its models, when --plan and --model are given.
struct PlanAndModel {
    std::optional<plan::Plan> plan;
    const plan::Model* model = nullptr;
};
[[nodiscard]] Checked<PlanAndModel> plan_and_model(const std::string& plan_file, const std::string& model_id);

using walk::air_db_per_m;

// Prints the estimate and writes its drawing; gives the exit status.
int show(Console& console, const report::Estimate& estimate, const EstimateOptions& options);

void add_geometry_estimates(CLI::App& estimate, Console& console, Action& action);
void add_pair_estimates(CLI::App& estimate, Console& console, Action& action);
void add_chain_estimates(CLI::App& estimate, Console& console, Action& action);
void add_plan_estimates(CLI::App& estimate, Console& console, Action& action);

}  // namespace proofwalk::cli
