#include "verify/hang_solver.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

namespace proofwalk::verify {
namespace {

using Kind = Observation::Kind;

constexpr std::size_t most_suspects = 4;
constexpr double suspect_share = 0.5;  // of the worst residual
constexpr double outlier_z = 4.5, least_redundancy = 0.15;
constexpr double untrusted_level_u_db = 5.0, untrusted_arrival_u_ms = 0.4;  // where a reading is no evidence for the fit
constexpr double narrowest_level_u_db = 0.3, narrowest_arrival_u_ms = 0.03;
constexpr double longest_turn_deg = 2.0;                               // of one step
constexpr double believable_turn_deg = 12.0, believable_misfit = 3.0;  // beyond them a fit starts a second time
constexpr double usual_aim_u_deg = 2.0;                                // of a box that hangs as planned, where hypotheses are compared
constexpr double start_hold = 4.0;                                     // of that start: aims within half a degree first
constexpr double farthest_of_normal = 4.0, farthest_of_heavy_tail = 500.0;  // standard uncertainties of what is known before
// What a hang and its delay usually stray by, as a mic hears it: where nothing is fitted.
constexpr double slack_level_db = 1.5, slack_arrival_ms = 0.25;
constexpr double misfit_cap = 32.0;  // of one reading; a blocked mic must not decide between hypotheses
constexpr double no_cap = 1e30;

double prior_misfit(const Prior& prior, double x) {
    const double z2 = x * x / (prior.u * prior.u);
    return prior.freedom <= 0.0 ? 0.5 * z2 : 0.5 * (prior.freedom + 1.0) * std::log1p(z2 / prior.freedom);
}

// A step that looks straight ahead must not leave for where no pattern and no tape measure could be.
double within_belief(const Prior& prior, double x) {
    const double most = (prior.freedom > 0.0 ? farthest_of_heavy_tail : farthest_of_normal) * prior.u;
    return std::clamp(x, -most, most);
}

}  // namespace

double prior_weight(const Prior& prior, double x) {
    const double weight = 1.0 / (prior.u * prior.u);
    if (prior.freedom <= 0.0) return weight;
    return weight * (prior.freedom + 1.0) / (prior.freedom + x * x * weight);
}

HangSolver::HangSolver(Scene scene, HangFit::Work work)
    : evidence_(std::move(scene), work == HangFit::Work::solve || work == HangFit::Work::predict), x_(model().layout().size(), 0.0) {
    if (work == HangFit::Work::compare) kept_ = 1.0 / (usual_aim_u_deg * usual_aim_u_deg);
    switch (work) {
        case HangFit::Work::solve:
        case HangFit::Work::compare: solve(); break;
        case HangFit::Work::predict: settle(); break;
        case HangFit::Work::glance:
            start();
            glances_ = true;
            break;
    }
}

std::vector<std::size_t> HangSolver::aims() const {
    std::vector<std::size_t> at;
    for (std::size_t s = 0; s < model().scene().sources.size(); ++s)
        for (const Figure angle : {Figure::pan_deg, Figure::tilt_deg}) at.push_back(model().layout().figure(s, angle));
    return at;
}

// Narrow patterns are flat away from their sides: an aim that leaps there never comes back.
double HangSolver::shortening(const Eigen::VectorXd& move) const {
    double longest = 0.0;
    for (const std::size_t i : aims()) longest = std::max(longest, std::abs(move[static_cast<Eigen::Index>(i)]));
    return longest > longest_turn_deg ? longest_turn_deg / longest : 1.0;
}

double HangSolver::misfit(const Unknowns& at, double cap, bool with_unused) const {
    double sum = 0.0;
    const HangModel::Hung hung = model().hung(at);
    for (const Observation& seen : evidence_.observations()) {
        if (!seen.used && !seen.outlier && !with_unused) continue;
        const double r = seen.value - evidence_.predicted(hung, seen);
        sum += 0.5 * std::min(r * r / expected_variance(seen), cap);
    }
    for (std::size_t i = 0; i < at.size(); ++i) sum += prior_misfit(model().priors()[i], at[i]);
    if (held_ > 0.0)
        for (const std::size_t i : aims()) sum += 0.5 * held_ * at[i] * at[i];
    return sum;
}

// What each reading costs by how little is expected of it: where hypotheses are compared, none must gain by that.
double HangSolver::cost_of_doubt() const {
    double sum = 0.0;
    for (const Observation& seen : evidence_.observations()) {
        const bool in_db = seen.kind != Kind::arrival;
        const double narrowest_u = in_db ? narrowest_level_u_db : narrowest_arrival_u_ms;
        sum += 0.5 * std::log(std::max(1.0, expected_variance(seen) / (narrowest_u * narrowest_u)));
    }
    return sum;
}

double HangSolver::expected_variance(const Observation& seen) const {
    const bool in_db = seen.kind != Kind::arrival;
    const double untrusted_u = in_db ? untrusted_level_u_db : untrusted_arrival_u_ms, slack = in_db ? slack_level_db : slack_arrival_ms;
    return seen.variance() + (seen.used || seen.outlier ? 0.0 : untrusted_u * untrusted_u) + (glances_ ? slack * slack : 0.0);
}

double HangSolver::compared_misfit() const { return misfit(x_, misfit_cap, true) + cost_of_doubt(); }

void HangSolver::start_values() {
    const Scene& scene = model().scene();
    const auto middle = [](std::vector<double>& of) {
        std::ranges::nth_element(of, of.begin() + static_cast<std::ptrdiff_t>(of.size() / 2));
        return of[of.size() / 2];
    };
    std::map<std::size_t, std::vector<double>> off;
    const HangModel::Hung hung = model().hung(x_);
    for (const Observation& seen : evidence_.observations()) {
        if (!seen.used) continue;
        const double r = seen.value - evidence_.predicted(hung, seen);
        if (seen.kind == Kind::band)
            off[model().layout().tone(model().bands()[seen.band].tone)].push_back(r);
        else if (seen.is_level())
            off[model().layout().figure(evidence_.sound(seen).source, Figure::sensitivity_db)].push_back(r);
        else if (evidence_.sound(seen).untimed_take)
            off[model().layout().take(*evidence_.sound(seen).untimed_take)].push_back(r);
        else if (!scene.plan->drive_latency_ms)
            off[model().layout().latency()].push_back(r);
    }
    for (auto& [at, values] : off) x_[at] = middle(values);
}

void HangSolver::set_up_normal() {
    normal_ = NormalEquations(x_.size(), model().layout().place(0, 0), model().layout().positions());
    const HangModel::Hung hung = model().hung(x_);
    rows_.resize(evidence_.observations().size());
    for (std::size_t o = 0; o < evidence_.observations().size(); ++o) {
        const Observation& seen = evidence_.observations()[o];
        if (!seen.used && !seen.outlier) continue;
        rows_[o] = Row();
        const double r = seen.value - evidence_.predicted(hung, seen, &rows_[o]);
        if (seen.used) normal_.add(rows_[o], 1.0 / seen.variance(), r);
    }
    for (std::size_t i = 0; i < x_.size(); ++i) normal_.add_prior(i, prior_weight(model().priors()[i], x_[i]), -x_[i]);
    if (held_ > 0.0)
        for (const std::size_t i : aims()) normal_.add_prior(i, held_, -x_[i]);
}

void HangSolver::descend() {
    double damping = 1e-3, now = misfit(x_, no_cap);
    for (int step = 0; step < 40; ++step) {
        set_up_normal();
        bool better = false;
        double gain = 0.0;
        for (int attempt = 0; attempt < 8 && !better; ++attempt) {
            if (auto move = normal_.solve(damping)) {
                *move *= shortening(*move);
                Unknowns moved = x_;
                for (std::size_t i = 0; i < x_.size(); ++i)
                    moved[i] = within_belief(model().priors()[i], moved[i] + (*move)[static_cast<Eigen::Index>(i)]);
                const double then = misfit(moved, no_cap);
                better = std::isfinite(then) && then <= now;
                if (better) {
                    gain = now - then;
                    x_ = moved;
                    now = then;
                }
            }
            damping = better ? std::max(damping * 0.2, 1e-9) : damping * 8.0;
        }
        if (!better || gain < 1e-7 * (1.0 + now)) break;
    }
}

void HangSolver::invert() {
    set_up_normal();
    covariance_ = normal_.inverse();
}

// Residual over its own expected spread (what the fit took up of it removed); absent when nothing checks the reading.
std::optional<double> HangSolver::residual(const HangModel::Hung& hung, std::size_t observation) const {
    const Observation& seen = evidence_.observations()[observation];
    const double taken_up = covariance_.variance(rows_[observation]);
    const double variance = seen.variance();
    const double left = seen.used ? variance - taken_up : variance + taken_up;
    if (left < least_redundancy * variance) return std::nullopt;
    return (seen.value - evidence_.predicted(hung, seen)) / std::sqrt(left);
}

// A bad reading pulls the fit towards itself and makes good ones look bad: of the worst few, the one to leave out is
// the one without which all the others agree best.
bool HangSolver::drop_worst() {
    std::vector<std::pair<double, std::size_t>> suspects;
    double worst_z = 0.0;
    const HangModel::Hung hung = model().hung(x_);
    for (std::size_t o = 0; o < evidence_.observations().size(); ++o) {
        if (!evidence_.observations()[o].used) continue;
        const auto z = residual(hung, o);
        if (!z) continue;
        worst_z = std::max(worst_z, std::abs(*z));
        suspects.emplace_back(-std::abs(*z), o);
    }
    if (worst_z <= outlier_z) return false;
    std::ranges::sort(suspects);
    suspects.resize(std::min(suspects.size(), most_suspects));
    const Unknowns before = x_;
    Unknowns best_x = x_;
    std::size_t best = suspects.front().second;
    double least = std::numeric_limits<double>::infinity();
    for (const auto& [z, o] : suspects) {
        if (-z < suspect_share * worst_z) continue;
        x_ = before;
        evidence_.use(o, false);
        descend();
        const double left = misfit(x_, no_cap);
        evidence_.use(o, true);
        if (left >= least) continue;
        least = left;
        best = o;
        best_x = x_;
    }
    x_ = best_x;
    evidence_.leave_out(best);
    return true;
}

// An aim that left the pattern behind, or readings that fit nothing: the descent may have ended beside the valley.
bool HangSolver::believable() const {
    const std::vector<std::size_t> all = aims();
    const bool turned = std::ranges::any_of(all, [&](std::size_t i) { return std::abs(x_[i]) > believable_turn_deg; });
    return !turned && misfit(x_, misfit_cap, true) <= believable_misfit * static_cast<double>(evidence_.observations().size());
}

void HangSolver::solve() {
    solve_from(0.0);
    if (believable()) return;
    const HangSolver first = *this;
    solve_from(start_hold);
    if (first.compared_misfit() <= compared_misfit()) *this = first;
}

void HangSolver::start() {
    std::ranges::fill(x_, 0.0);
    evidence_.weigh_as_planned(x_);
    start_values();
}

// From readings that the plan itself gave: the room of full sound is still to be found, no reading to be doubted.
void HangSolver::settle() {
    start();
    descend();
    evidence_.weigh(x_);
    evidence_.evaluate_scatter(x_);
    descend();
    invert();
}

void HangSolver::solve_from(double hold) {
    start();
    held_ = std::max(hold, kept_);
    if (hold > 0.0) descend();
    held_ = kept_;
    for (int round = 0; round < 3; ++round) {
        descend();
        evidence_.weigh(x_);
    }
    evidence_.evaluate_scatter(x_);
    descend();
    invert();
    const std::size_t most = 1 + evidence_.observations().size() / 8;
    for (std::size_t dropped = 0; dropped < most && drop_worst(); ++dropped) {
        descend();
        evidence_.weigh(x_);
        descend();
        invert();
    }
}

std::optional<double> HangSolver::residual_of(std::size_t of_sound, Kind kind) const {
    const Observation* seen = evidence_.observation(of_sound, kind);
    if (seen == nullptr || (!seen->used && !seen->outlier)) return std::nullopt;
    return residual(model().hung(x_), static_cast<std::size_t>(seen - evidence_.observations().data()));
}

}  // namespace proofwalk::verify
