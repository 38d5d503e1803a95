#include "walk/route/stakes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "acoustics/geometry.hpp"
#include "plan/area.hpp"
#include "units/nearest.hpp"

namespace proofwalk::walk::route {
namespace {

constexpr int rows = 24, seats = 16;     // of the grid over each area
constexpr double least_share = 0.005;    // a box that is nobody's first still counts
constexpr std::string_view corrected_word = "corrected";
constexpr double earlier_checks = 20.0;  // what the default likelihoods weigh against what was found

double heard_db(const plan::Plan& plan, const plan::Box& box, Vec3 place) {
    const acoustics::Bearing bearing = acoustics::bearing(box.pose(), place);
    const plan::Model& model = plan.model_of(box);
    const double middle_hz = std::sqrt(model.aim_band_hz.low_hz * model.aim_band_hz.high_hz);
    return box.gain_db - 20.0 * std::log10(std::max(1.0, bearing.distance_m)) +
           model.pattern_loss->loss_db(bearing.h_deg, bearing.v_deg, middle_hz);
}

}  // namespace

Result<void> set_odds(Odds& odds, std::string_view text) {
    const auto refused = [&](std::string reason, std::string remedy) {
        return std::unexpected(Fault{FaultKind::input, "", fmt::format("--odds {}", text), std::move(reason), std::move(remedy)});
    };
    const std::size_t equals = text.find('=');
    if (equals == std::string_view::npos) return refused("odds are KIND=LIKELIHOOD", "write for example aim-v=0.1");
    const std::string_view word = text.substr(0, equals), figure = text.substr(equals + 1);
    const auto kind = plan::check_from_word(word);
    if (!kind && word != corrected_word) {
        std::vector<std::string_view> words = {corrected_word};
        for (std::size_t index = 0; index < check_kinds; ++index) words.push_back(plan::word(static_cast<plan::CheckKind>(index)));
        return refused(fmt::format("unknown check \"{}\"", word), nearest_remedy(word, words, "check"));
    }
    double value = 0.0;
    const auto [end, error] = std::from_chars(figure.data(), figure.data() + figure.size(), value);
    if (error != std::errc() || end != figure.data() + figure.size() || !(value >= 0.0 && value <= 1.0))
        return refused(fmt::format("\"{}\" is no likelihood", figure), "give a number from 0 to 1");
    (kind ? odds.fault[static_cast<std::size_t>(*kind)] : odds.after_correction) = value;
    return {};
}

Odds learnt(const Odds& odds, const Outcomes& outcomes) {
    Odds better = odds;
    for (std::size_t kind = 0; kind < check_kinds; ++kind)
        better.fault[kind] = (odds.fault[kind] * earlier_checks + outcomes.failed[kind]) / (earlier_checks + outcomes.judged[kind]);
    return better;
}

std::vector<double> people_of(const plan::Plan& plan) {
    std::vector<double> shares(plan.boxes.size(), 0.0);
    std::vector<std::size_t> beams, others;
    for (std::size_t index = 0; index < plan.boxes.size(); ++index)
        (plan.model_of(plan.boxes[index]).pattern == plan::Pattern::beam ? beams : others).push_back(index);
    for (const std::size_t index : others) shares[index] = 1.0 / static_cast<double>(others.size());
    double whole = 0.0;
    for (const plan::Area& area : plan.areas) {
        // A seat is worth the ground it stands on.
        const double ground = distance(area.near, area.far) * (area.near_width_m + area.far_width_m) / 2.0 / (rows * seats);
        for (int row = 0; row < rows && !beams.empty(); ++row)
            for (int seat = 0; seat < seats; ++seat) {
                const Vec3 place = plan::point_on(area, {(row + 0.5) / rows, -1.0 + (2.0 * seat + 1.0) / seats});
                const std::size_t loudest = *std::ranges::max_element(beams, {}, [&](std::size_t index) { return heard_db(plan, plan.boxes[index], place); });
                shares[loudest] += ground;
                whole += ground;
            }
    }
    for (const std::size_t index : beams)
        shares[index] = whole > 0.0 ? std::max(least_share, shares[index] / whole) : 1.0 / static_cast<double>(beams.size());
    return shares;
}

Stake doubted(const Stake& stake, const Odds& odds) {
    Stake more = stake;
    more.likelihood = std::max(stake.likelihood, odds.after_correction);
    if (stake.likelihood > 0.0) more.risk *= more.likelihood / stake.likelihood;
    return more;
}

std::vector<Stake> stakes_of(const plan::Plan& plan, const std::vector<plan::PlannedCheck>& checks, const Odds& odds) {
    const std::vector<double> shares = people_of(plan);
    std::vector<Stake> stakes;
    for (const plan::PlannedCheck& check : checks) {
        double people = 0.0;
        for (const std::string& id : check.boxes)
            people += shares[static_cast<std::size_t>(std::ranges::find(plan.boxes, id, &plan::Box::id) - plan.boxes.begin())];
        // Two neighbours share their seam only; boxes of one circuit are silent together.
        if (check.kind != plan::CheckKind::sounding && check.boxes.size() == 2) people /= 2.0;
        people = std::min(people, 1.0);
        const double likelihood = odds.fault_of(check.kind);
        stakes.push_back({likelihood, people, likelihood * odds.harm_of(check.kind) * people});
    }
    return stakes;
}

}  // namespace proofwalk::walk::route
