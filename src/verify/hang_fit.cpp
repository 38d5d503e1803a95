#include "verify/hang_fit.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <list>
#include <mutex>

#include <Eigen/Dense>

#include "verify/hang_solver.hpp"

namespace proofwalk::verify {
namespace {

using Unknowns = HangModel::Unknowns;
using Kind = Observation::Kind;

constexpr double usual_level_u_db = 0.15, usual_arrival_u_ms = 0.03;  // of a take that is yet to come
constexpr double nothing_assumed = 1.0 / (20.0 * 20.0);               // weight of a figure (ms, m) of which nothing is assumed
constexpr std::string_view noise_line = "noise and room", directivity_line = "directivity", group_delay_line = "group delay of the box";

// A variance that is no number must not become certainty; none at all is that of a figure which is the same for any hang.
double uncertainty(double variance) {
    return variance >= 0.0 ? std::sqrt(variance) : std::numeric_limits<double>::quiet_NaN();
}

using Gradient = std::vector<Row::Term>;

double along(const auto& gradient, const auto& vector) {
    double sum = 0.0;
    for (const Row::Term& term : gradient) sum += term.slope * vector[static_cast<Eigen::Index>(term.at)];
    return sum;
}

}  // namespace

struct HangFit::Impl {
    HangSolver solved;
    // The same with nothing assumed of some figures, for each list of them that was asked for.
    struct Alone {
        std::vector<Figure> figures;
        Covariance covariance;
        Eigen::VectorXd moved;  // of the unknowns, to where the takes alone have them
    };
    mutable std::list<Alone> alone;  // stay where they are: checks are judged side by side
    mutable std::mutex alone_in_use;
    std::vector<std::string_view> lines;  // of a budget, in their alphabet
    std::vector<std::size_t> line_of;     // of each unknown

    Impl(Scene scene, Work work) : solved(std::move(scene), work) {
        lines = {noise_line, directivity_line, group_delay_line};
        for (const Prior& prior : model().priors()) lines.push_back(prior.source);
        std::ranges::sort(lines);
        lines.erase(std::ranges::unique(lines).begin(), lines.end());
        for (const Prior& prior : model().priors()) line_of.push_back(line(prior.source));
    }

    [[nodiscard]] const HangModel& model() const { return solved.model(); }
    [[nodiscard]] const std::vector<Observation>& observations() const { return solved.evidence().observations(); }

    [[nodiscard]] std::size_t line(std::string_view name) const {
        return static_cast<std::size_t>(std::ranges::lower_bound(lines, name) - lines.begin());
    }

    // Of the unknowns that the formula looks at.
    [[nodiscard]] Gradient gradient_of(const Formula& formula, double& value) const {
        std::vector<std::size_t> looked_at;
        value = formula(State(*this, solved.at(), &looked_at));
        std::ranges::sort(looked_at);
        looked_at.erase(std::ranges::unique(looked_at).begin(), looked_at.end());
        Gradient gradient;
        Unknowns moved = solved.at();
        for (const std::size_t i : looked_at) {
            const double step = 1e-4 * std::max(1e-2, std::min(1.0, model().priors()[i].u));
            moved[i] = solved.at()[i] + step;
            const double up = formula(State(*this, moved));
            moved[i] = solved.at()[i] - step;
            gradient.push_back({i, (up - formula(State(*this, moved))) / (2.0 * step)});
            moved[i] = solved.at()[i];
        }
        return gradient;
    }

    // Taking an assumption away moves the solution, near enough linearly, by what the assumption had pulled it.
    [[nodiscard]] const Alone& without(std::initializer_list<Figure> figures) const {
        const std::lock_guard one_at_a_time(alone_in_use);
        const auto known = std::ranges::find_if(alone, [&](const Alone& one) { return std::ranges::equal(one.figures, figures); });
        if (known != alone.end()) return *known;
        NormalEquations less = solved.normal();
        Gradient pulled;
        for (std::size_t source = 0; source < model().scene().sources.size(); ++source)
            for (const Figure figure : figures) {
                const std::size_t at = model().layout().figure(source, figure);
                const double taken_away = prior_weight(model().priors()[at], solved.at()[at]) - nothing_assumed;
                less.add_prior(at, -taken_away, 0.0);
                pulled.push_back({at, taken_away * solved.at()[at]});
            }
        Alone one{figures, less.inverse(), {}};
        one.moved = one.covariance.pull(pulled);
        return alone.emplace_back(std::move(one));
    }

    // The estimate is linear in every error source near the solution: its variance is the sum of their shares.
    [[nodiscard]] std::vector<BudgetLine> budget(const Eigen::VectorXd& pull) const {
        std::vector<double> shares(lines.size(), 0.0);
        const std::size_t noise = line(noise_line), directivity = line(directivity_line), group_delay = line(group_delay_line);
        for (std::size_t o = 0; o < observations().size(); ++o) {
            const Observation& seen = observations()[o];
            if (!seen.used) continue;
            const double through = along(solved.rows()[o], pull), variance = seen.variance();
            const double share = through * through / (variance * variance);
            shares[noise] += share * seen.reading_u * seen.reading_u;
            shares[seen.kind != Kind::arrival ? directivity : group_delay] += share * seen.pattern_u * seen.pattern_u;
        }
        for (std::size_t i = 0; i < solved.at().size(); ++i) {
            const double through = pull[static_cast<Eigen::Index>(i)];
            shares[line_of[i]] += through * through * prior_weight(model().priors()[i], solved.at()[i]);
        }
        std::vector<BudgetLine> told;
        for (std::size_t l = 0; l < lines.size(); ++l)
            if (shares[l] > 0.0) told.push_back({std::string(lines[l]), std::sqrt(shares[l])});
        std::ranges::stable_sort(told, std::ranges::greater{}, &BudgetLine::u);
        const double largest = told.empty() ? 0.0 : told.front().u;
        std::erase_if(told, [&](const BudgetLine& one) { return one.u < 0.03 * largest; });
        return told;
    }
};

HangFit::HangFit(Scene scene, Work work) : impl_(std::make_unique<Impl>(std::move(scene), work)) {}
HangFit::HangFit(HangFit&&) noexcept = default;
HangFit& HangFit::operator=(HangFit&&) noexcept = default;
HangFit::~HangFit() = default;

const Scene& HangFit::scene() const { return impl_->model().scene(); }

Quantity HangFit::quantity(const Formula& formula) const {
    Quantity quantity;
    const Gradient gradient = impl_->gradient_of(formula, quantity.value);
    const Eigen::VectorXd pull = impl_->solved.covariance().pull(gradient);
    quantity.u = uncertainty(along(gradient, pull));
    quantity.pull.assign(pull.begin(), pull.end());
    double prior = 0.0;
    for (const auto& [at, slope] : gradient) prior += slope * slope / prior_weight(impl_->model().priors()[at], impl_->solved.at()[at]);
    quantity.prior_u = std::sqrt(prior);
    quantity.budget = impl_->budget(pull);
    return quantity;
}

Quantity HangFit::without_assumed(const Formula& formula, std::initializer_list<Figure> figures) const {
    Quantity alone;
    const Gradient gradient = impl_->gradient_of(formula, alone.value);
    const Impl::Alone& without = impl_->without(figures);
    alone.value += along(gradient, without.moved);
    alone.u = uncertainty(along(gradient, without.covariance.pull(gradient)));
    return alone;
}

double HangFit::u_after(const Quantity& quantity, std::size_t source, const plan::Position& position) const {
    const Impl& fit = *impl_;
    const HangModel& model = fit.model();
    const plan::Rules& rules = scene().plan->rules;
    const HangModel::Hung hung = model.hung(fit.solved.at());
    const double loss = model.loss_db(hung, source, position.at);
    if (loss < useless_loss_db || quantity.pull.size() != fit.solved.at().size()) return quantity.u;
    // A new mic and its place are nobody's error yet.
    Row level, arrival;
    static_cast<void>(model.level_db(hung, source, position.at, &level));
    static_cast<void>(model.arrival_ms(hung, source, position.at, &arrival));
    const auto place_variance = [&](const Row& row) {
        const std::size_t place = model.layout().figure(source, Figure::x_m);
        const double u = position.place_u_m.value_or(rules.mic_place_m);
        double variance = 0.0;
        for (const Row::Term& term : row)
            if (term.at - place < 3) variance += term.slope * term.slope * u * u;
        return variance;
    };
    const plan::Model& box = *scene().sources[source].model;
    const bool low = measured_by_full_sound(box);
    const Eigen::VectorXd pull_level = fit.solved.covariance().pull(level), pull_arrival = fit.solved.covariance().pull(arrival);
    Eigen::Matrix2d spread;
    spread << along(level, pull_level), along(level, pull_arrival), along(arrival, pull_level), along(arrival, pull_arrival);
    const auto [bounce_own, bounce_common] = fit.solved.evidence().bounce_u_db(source, position);
    spread(0, 0) += place_variance(level) + std::pow(std::hypot(bounce_own, bounce_common), 2) + std::pow(low ? most_scatter_db : usual_level_u_db, 2) +
                    std::pow(rules.mic_match_db, 2) + std::pow(pattern_uncertainty_db(box, loss), 2);
    spread(1, 1) += place_variance(arrival) + std::pow(low ? 1e3 / box.range_hz.high_hz : usual_arrival_u_ms, 2);
    const Eigen::Map<const Eigen::VectorXd> pull(quantity.pull.data(), static_cast<Eigen::Index>(quantity.pull.size()));
    const Eigen::Vector2d with{along(level, pull), along(arrival, pull)};
    return uncertainty(std::max(0.0, quantity.u * quantity.u - with.dot(spread.ldlt().solve(with))));
}

void add_share(Quantity& quantity, const BudgetLine& share) {
    const auto known = std::ranges::find(quantity.budget, share.source, &BudgetLine::source);
    if (known != quantity.budget.end()) known->u = std::hypot(known->u, share.u);
    else quantity.budget.push_back(share);
    quantity.u = std::hypot(quantity.u, share.u);
}

double HangFit::own_pattern_u_db(std::size_t sound) const {
    const Observation* seen = impl_->solved.evidence().observation(sound, Kind::level);
    return seen == nullptr ? 0.0 : seen->pattern_u;
}

std::optional<double> HangFit::level_residual(std::size_t sound) const { return impl_->solved.residual_of(sound, Kind::level); }
std::optional<double> HangFit::arrival_residual(std::size_t sound) const { return impl_->solved.residual_of(sound, Kind::arrival); }

std::vector<std::string> HangFit::outliers(std::size_t source) const {
    std::vector<std::string> names;
    for (const Observation& seen : impl_->observations()) {
        if (!seen.outlier || seen.kind == Kind::band || impl_->solved.evidence().sound(seen).source != source) continue;
        const std::string& name = scene().positions[impl_->solved.evidence().sound(seen).position]->id;
        if (std::ranges::find(names, name) == names.end()) names.push_back(name);
    }
    return names;
}

bool HangFit::believable() const { return impl_->solved.believable(); }
double HangFit::misfit() const { return impl_->solved.compared_misfit(); }

void HangFit::State::look_at(std::size_t source, std::initializer_list<Figure> figures) const {
    if (looked_at_ == nullptr) return;
    for (const Figure figure : figures) looked_at_->push_back(fit_->model().layout().figure(source, figure));
}
double HangFit::State::figure(std::size_t source, Figure figure) const {
    look_at(source, {figure});
    return (*unknowns_)[fit_->model().layout().figure(source, figure)];
}
double HangFit::State::drive_latency_ms() const {
    if (looked_at_ != nullptr) looked_at_->push_back(fit_->model().layout().latency());
    return fit_->model().drive_latency_ms(*unknowns_);
}
double HangFit::State::group_delay_ms(std::size_t source) const {
    const std::size_t at = fit_->model().layout().shape(fit_->model().model_of(source), Shape::latency_ms);
    if (looked_at_ != nullptr) looked_at_->push_back(at);
    return (*unknowns_)[at];
}
acoustics::Pose HangFit::State::pose(std::size_t source, std::size_t box) const {
    look_at(source, {Figure::pan_deg, Figure::tilt_deg, Figure::x_m, Figure::y_m, Figure::z_m});
    return fit_->model().pose(*unknowns_, source, box);
}
double HangFit::State::level_db(std::size_t source, Vec3 at) const {
    Row slopes;
    const double level = fit_->model().level_db(fit_->model().hung(*unknowns_), source, at, looked_at_ == nullptr ? nullptr : &slopes);
    for (const Row::Term& term : slopes) looked_at_->push_back(term.at);
    return level;
}
double HangFit::State::level_towards_db(std::size_t sound) const {
    const HangModel& model = fit_->model();
    const Sound& heard = model.scene().sounds[sound];
    const double level = level_db(heard.source, model.scene().positions[heard.position]->at);
    const Observation* seen = fit_->solved.evidence().observation(sound, Kind::level);
    if (seen == nullptr) return level;
    const std::size_t direction = model.layout().direction(model.direction_of(sound));
    if (looked_at_ != nullptr) looked_at_->push_back(direction);
    return level + seen->common_u * (*unknowns_)[direction];
}
double HangFit::State::arrival_ms(std::size_t source, Vec3 at) const {
    Row slopes;
    const double arrival = fit_->model().arrival_ms(fit_->model().hung(*unknowns_), source, at, looked_at_ == nullptr ? nullptr : &slopes);
    for (const Row::Term& term : slopes) looked_at_->push_back(term.at);
    return arrival;
}

}  // namespace proofwalk::verify
