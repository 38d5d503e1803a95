#include "verify/hang_fit.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include <Eigen/Dense>

#include "plan/heard.hpp"
#include "verify/hang_model.hpp"

namespace proofwalk::verify {
namespace {

using Unknowns = HangModel::Unknowns;

// A pattern is trusted less the further it has fallen, and not at all near its floor or behind the box.
constexpr double trusted_loss_db = -8.0, useless_loss_db = -22.0, useless_arrival_loss_db = -20.0;
constexpr double pattern_u_per_db = 0.12;
// The part of the pattern's uncertainty that differs between mirrored directions and between boxes of a model: measured on a
// two-way PA box left and right agree within 0.05 dB in the aim band where pattern_u_db is 0.3; twice that is allowed.
constexpr double own_share = 0.33;
constexpr double same_direction = 0.3;  // half coverage angles over which what a pattern deviates by is the same
constexpr double band_share = 1.7;   // of the pattern's uncertainty in the aim band: of one of its third octaves
constexpr double axis_share = 0.4;  // of the pattern's uncertainty on the axis, where loss is nil by definition
constexpr double arrival_u_ms = 0.02, arrival_u_ms_per_db = 0.01;
constexpr double lowest_reading_u_db = 0.1;
constexpr double usual_level_u_db = 0.15, usual_arrival_u_ms = 0.03;  // of a take that is yet to come
// A floor bounce so soon after the direct sound that no gate parts the two in the aim band: what is left of it.
constexpr double bounce_u_db = 0.6, soonest_parted_ms = 0.9;
// Scatter of full sound about the fit, as found where enough readings tell it (a type A evaluation).
constexpr std::size_t enough_to_tell_scatter = 6;
constexpr double least_scatter_db = 0.6, most_scatter_db = 3.0;
constexpr std::size_t most_suspects = 4;
constexpr double suspect_share = 0.5;  // of the worst residual
constexpr double outlier_z = 4.5, least_redundancy = 0.15;
constexpr double untrusted_level_u_db = 5.0, untrusted_arrival_u_ms = 0.4;  // where a reading is no evidence for the fit
constexpr double narrowest_level_u_db = 0.3, narrowest_arrival_u_ms = 0.03;
constexpr double longest_turn_deg = 2.0;  // of one step
constexpr double nothing_assumed = 1.0 / (20.0 * 20.0);  // weight of a figure (ms, m) of which nothing is assumed
constexpr double believable_turn_deg = 12.0, believable_misfit = 3.0;  // beyond them a fit starts a second time
constexpr double usual_aim_u_deg = 2.0;  // of a box that hangs as planned, where hypotheses are compared
constexpr double start_hold = 4.0;                                      // of that start: aims within half a degree first
constexpr double farthest_of_normal = 4.0, farthest_of_heavy_tail = 500.0;  // standard uncertainties of what is known before
constexpr std::string_view noise_line = "noise and room", directivity_line = "directivity", group_delay_line = "group delay of the box";
// What a hang and its delay usually stray by, as a mic hears it: where nothing is fitted.
constexpr double slack_level_db = 1.5, slack_arrival_ms = 0.25;
constexpr double misfit_cap = 32.0;  // of one reading; a blocked mic must not decide between hypotheses

enum class Kind { level, arrival, band };

struct Observation {
    std::size_t sound = 0;
    Kind kind = Kind::level;
    double value = 0.0;
    double reading_u = 0.0;  // noise and room
    double pattern_u = 0.0;  // directivity, of this box towards this side
    double common_u = 0.0;   // directivity, the same for all sounds of its direction
    std::size_t band = 0;    // of HangModel::bands
    bool used = true;
    bool used_as_planned = false;  // a fit must not win by turning away from what the plan says is heard
    bool outlier = false;

    [[nodiscard]] bool is_level() const { return kind == Kind::level; }
    [[nodiscard]] double variance() const { return reading_u * reading_u + pattern_u * pattern_u; }
};

double prior_weight(const Prior& prior, double x) {
    const double weight = 1.0 / (prior.u * prior.u);
    if (prior.freedom <= 0.0) return weight;
    return weight * (prior.freedom + 1.0) / (prior.freedom + x * x * weight);
}

double prior_misfit(const Prior& prior, double x) {
    const double z2 = x * x / (prior.u * prior.u);
    return prior.freedom <= 0.0 ? 0.5 * z2 : 0.5 * (prior.freedom + 1.0) * std::log1p(z2 / prior.freedom);
}

// A variance that is no number must not become certainty; none at all is that of a figure which is the same for any hang.
double uncertainty(double variance) {
    return variance >= 0.0 ? std::sqrt(variance) : std::numeric_limits<double>::quiet_NaN();
}

// A step that looks straight ahead must not leave for where no pattern and no tape measure could be.
double within_belief(const Prior& prior, double x) {
    const double most = (prior.freedom > 0.0 ? farthest_of_heavy_tail : farthest_of_normal) * prior.u;
    return std::clamp(x, -most, most);
}

double pattern_uncertainty_db(const plan::Model& model, double loss_db) {
    return model.pattern_u_db * std::clamp(-loss_db / 6.0, axis_share, 1.0) +
           pattern_u_per_db * std::clamp(trusted_loss_db - loss_db, 0.0, trusted_loss_db - useless_loss_db);
}

using Gradient = std::vector<Row::Term>;

double along(const auto& gradient, const auto& vector) {
    double sum = 0.0;
    for (const Row::Term& term : gradient) sum += term.slope * vector[static_cast<Eigen::Index>(term.at)];
    return sum;
}

}  // namespace

struct HangFit::Impl {
    HangModel model;
    Unknowns x;
    std::vector<Observation> observations;
    std::vector<Row> rows;  // of each observation, at x
    bool started = false;   // the first weighing, at the planned hang, is done
    bool glances = false;
    double kept = 0.0;      // weight that keeps the aims near the plan to the end
    double held = 0.0;      // weight that keeps the aims near the plan while all else settles
    NormalEquations normal;  // at x
    Covariance covariance;
    // The same with nothing assumed of some figures, for each list of them that was asked for.
    struct Alone {
        std::vector<Figure> figures;
        Covariance covariance;
        Eigen::VectorXd moved;  // of the unknowns, to where the takes alone have them
    };
    mutable std::vector<Alone> alone;
    std::vector<std::string_view> lines;  // of a budget, in their alphabet
    std::vector<std::size_t> line_of;     // of each unknown

    // by_bands: third octaves tell directions too; hypotheses of other models could not be compared by them.
    Impl(Scene scene, bool by_bands) : model(std::move(scene)), x(model.layout().size(), 0.0) {
        list_observations(by_bands);
        lines = {noise_line, directivity_line, group_delay_line};
        for (const Prior& prior : model.priors()) lines.push_back(prior.source);
        std::ranges::sort(lines);
        lines.erase(std::ranges::unique(lines).begin(), lines.end());
        for (const Prior& prior : model.priors()) line_of.push_back(line(prior.source));
    }

    [[nodiscard]] std::size_t line(std::string_view name) const {
        return static_cast<std::size_t>(std::ranges::lower_bound(lines, name) - lines.begin());
    }

    void list_observations(bool by_bands) {
        const Scene& scene = model.scene();
        for (std::size_t s = 0; s < scene.sounds.size(); ++s) {
            const Sound& sound = scene.sounds[s];
            if (sound.level_db) {
                const bool parted = bounce_after_ms(sound) > soonest_parted_ms || measured_by_full_sound(*scene.sources[sound.source].model);
                const double u = std::hypot(std::max(sound.level_db->u, lowest_reading_u_db), parted ? 0.0 : bounce_u_db);
                observations.push_back({s, Kind::level, sound.level_db->value, u});
            }
            if (sound.arrival_ms) observations.push_back({s, Kind::arrival, sound.arrival_ms->value, sound.arrival_ms->u});
        }
        if (!by_bands) return;
        for (std::size_t b = 0; b < model.bands().size(); ++b) {
            const HangModel::Band& band = model.bands()[b];
            if (bounce_after_ms(scene.sounds[band.sound]) <= soonest_parted_ms) continue;
            observations.push_back({band.sound, Kind::band, band.beside_aim_band_db.value, band.beside_aim_band_db.u});
            observations.back().band = b;
        }
    }

    // The way by the floor is so much longer, as planned.
    [[nodiscard]] double bounce_after_ms(const Sound& sound) const {
        const Scene& scene = model.scene();
        return 1e3 * plan::floor_bounce_s(*scene.sources[sound.source].boxes.front(), *scene.positions[sound.position], scene.air);
    }

    [[nodiscard]] std::size_t direction_at(const Observation& seen) const {
        return model.layout().direction(model.direction_of(seen.sound));
    }

    [[nodiscard]] const Sound& sound(const Observation& seen) const { return model.scene().sounds[seen.sound]; }

    [[nodiscard]] double predicted(const HangModel::Hung& hung, const Observation& seen, Row* slopes = nullptr) const {
        if (seen.kind == Kind::arrival) return model.arrival_at_mic_ms(hung, sound(seen), slopes);
        if (seen.kind == Kind::band) return model.band_at_mic_db(hung, model.bands()[seen.band], slopes);
        const std::size_t direction = direction_at(seen);
        const double level = model.level_at_mic_db(hung, sound(seen), slopes);
        if (slopes != nullptr) slopes->add(direction, seen.common_u);
        return level + seen.common_u * (*hung.x)[direction];
    }

    // Which readings count and how far the pattern is trusted, at the present state of the hang.
    void weigh() {
        const HangModel::Hung hung = model.hung(x);
        std::vector<HangModel::Leaving> leaving;
        for (const Sound& heard : model.scene().sounds) leaving.push_back(model.leaves(hung, heard));
        for (Observation& seen : observations) {
            const Sound& heard = sound(seen);
            const Source& source = model.scene().sources[heard.source];
            const double loss = model.loss_db(hung, heard.source, model.scene().positions[heard.position]->at);
            const bool in_front = leaving[seen.sound].in_front;
            if (seen.kind == Kind::band) {
                const double in_band = model.band_loss_db(hung, model.bands()[seen.band]);
                seen.pattern_u = band_share * pattern_uncertainty_db(*source.model, in_band);
                seen.used = in_front && std::min(loss, in_band) > useless_loss_db;
            } else if (seen.is_level()) {
                seen.pattern_u = pattern_uncertainty_db(*source.model, loss);
                seen.used = in_front && loss > useless_loss_db;
            } else {
                seen.pattern_u = arrival_u_ms + arrival_u_ms_per_db * std::max(0.0, trusted_loss_db - loss);
                seen.used = in_front && loss > useless_arrival_loss_db;
            }
            if (!started) seen.used_as_planned = seen.used;
            seen.used = (seen.used || seen.used_as_planned) && !seen.outlier;
        }
        share_directions(leaving);
    }

    // How much of a pattern's deviation a sound has in common with the others of its direction: less, the farther the
    // boxes turn out to be turned away from one another's mirror image.
    void share_directions(const std::vector<HangModel::Leaving>& leaving) {
        struct Middle {
            double h = 0.0, v = 0.0, count = 0.0;
        };
        std::vector<Middle> middles(model.directions());
        for (std::size_t s = 0; s < model.scene().sounds.size(); ++s) {
            const auto [h, v, in_front] = leaving[s];
            Middle& middle = middles[model.direction_of(s)];
            middle.h += h;
            middle.v += v;
            middle.count += 1.0;
        }
        for (Observation& seen : observations) {
            if (!seen.is_level()) continue;
            const Middle& middle = middles[model.direction_of(seen.sound)];
            const auto [h, v, in_front] = leaving[seen.sound];
            const double apart = std::hypot(h - middle.h / middle.count, v - middle.v / middle.count) / same_direction;
            const double common = (1.0 - own_share * own_share) * std::exp(-apart * apart);
            seen.common_u = seen.pattern_u * std::sqrt(common);
            seen.pattern_u *= std::sqrt(1.0 - common);
        }
    }

    [[nodiscard]] std::vector<std::size_t> aims() const {
        std::vector<std::size_t> at;
        for (std::size_t s = 0; s < model.scene().sources.size(); ++s)
            for (const Figure angle : {Figure::pan_deg, Figure::tilt_deg}) at.push_back(model.layout().figure(s, angle));
        return at;
    }

    // Narrow patterns are flat away from their sides: an aim that leaps there never comes back.
    [[nodiscard]] double shortening(const Eigen::VectorXd& move) const {
        double longest = 0.0;
        for (const std::size_t i : aims()) longest = std::max(longest, std::abs(move[static_cast<Eigen::Index>(i)]));
        return longest > longest_turn_deg ? longest_turn_deg / longest : 1.0;
    }

    [[nodiscard]] double misfit(const Unknowns& at, double cap, bool with_unused = false) const {
        double sum = 0.0;
        const HangModel::Hung hung = model.hung(at);
        for (const Observation& seen : observations) {
            if (!seen.used && !seen.outlier && !with_unused) continue;
            const double r = seen.value - predicted(hung, seen);
            sum += 0.5 * std::min(r * r / expected_variance(seen), cap);
        }
        for (std::size_t i = 0; i < at.size(); ++i) sum += prior_misfit(model.priors()[i], at[i]);
        if (held > 0.0)
            for (const std::size_t i : aims()) sum += 0.5 * held * at[i] * at[i];
        return sum;
    }

    // What each reading costs by how little is expected of it: where hypotheses are compared, none must gain by that.
    [[nodiscard]] double cost_of_doubt() const {
        double sum = 0.0;
        for (const Observation& seen : observations) {
            const bool in_db = seen.kind != Kind::arrival;
            const double narrowest_u = in_db ? narrowest_level_u_db : narrowest_arrival_u_ms;
            sum += 0.5 * std::log(std::max(1.0, expected_variance(seen) / (narrowest_u * narrowest_u)));
        }
        return sum;
    }

    [[nodiscard]] double expected_variance(const Observation& seen) const {
        const bool in_db = seen.kind != Kind::arrival;
        const double untrusted_u = in_db ? untrusted_level_u_db : untrusted_arrival_u_ms, slack = in_db ? slack_level_db : slack_arrival_ms;
        return seen.variance() + (seen.used || seen.outlier ? 0.0 : untrusted_u * untrusted_u) + (glances ? slack * slack : 0.0);
    }

    [[nodiscard]] double compared_misfit() const { return misfit(x, misfit_cap, true) + cost_of_doubt(); }

    void start_values() {
        const Scene& scene = model.scene();
        const auto middle = [](std::vector<double>& of) {
            std::ranges::nth_element(of, of.begin() + static_cast<std::ptrdiff_t>(of.size() / 2));
            return of[of.size() / 2];
        };
        std::map<std::size_t, std::vector<double>> off;
        const HangModel::Hung hung = model.hung(x);
        for (const Observation& seen : observations) {
            if (!seen.used) continue;
            const double r = seen.value - predicted(hung, seen);
            if (seen.kind == Kind::band)
                off[model.layout().tone(model.bands()[seen.band].tone)].push_back(r);
            else if (seen.is_level())
                off[model.layout().figure(sound(seen).source, Figure::sensitivity_db)].push_back(r);
            else if (sound(seen).untimed_take)
                off[model.layout().take(*sound(seen).untimed_take)].push_back(r);
            else if (!scene.plan->drive_latency_ms)
                off[model.layout().latency()].push_back(r);
        }
        for (auto& [at, values] : off) x[at] = middle(values);
    }

    void set_up_normal() {
        normal = NormalEquations(x.size(), model.layout().place(0, 0), model.layout().positions());
        const HangModel::Hung hung = model.hung(x);
        rows.resize(observations.size());
        for (std::size_t o = 0; o < observations.size(); ++o) {
            const Observation& seen = observations[o];
            if (!seen.used && !seen.outlier) continue;
            rows[o] = Row();
            const double r = seen.value - predicted(hung, seen, &rows[o]);
            if (seen.used) normal.add(rows[o], 1.0 / seen.variance(), r);
        }
        for (std::size_t i = 0; i < x.size(); ++i) normal.add_prior(i, prior_weight(model.priors()[i], x[i]), -x[i]);
        if (held > 0.0)
            for (const std::size_t i : aims()) normal.add_prior(i, held, -x[i]);
    }

    void descend() {
        double damping = 1e-3, now = misfit(x, 1e30);
        for (int step = 0; step < 40; ++step) {
            set_up_normal();
            bool better = false;
            double gain = 0.0;
            for (int attempt = 0; attempt < 8 && !better; ++attempt) {
                if (auto move = normal.solve(damping)) {
                    *move *= shortening(*move);
                    Unknowns moved = x;
                    for (std::size_t i = 0; i < x.size(); ++i)
                        moved[i] = within_belief(model.priors()[i], moved[i] + (*move)[static_cast<Eigen::Index>(i)]);
                    const double then = misfit(moved, 1e30);
                    better = std::isfinite(then) && then <= now;
                    if (better) {
                        gain = now - then;
                        x = moved;
                        now = then;
                    }
                }
                damping = better ? std::max(damping * 0.2, 1e-9) : damping * 8.0;
            }
            if (!better || gain < 1e-7 * (1.0 + now)) break;
        }
    }

    void invert() {
        set_up_normal();
        covariance = normal.inverse();
    }

    // Residual over its own expected spread (what the fit took up of it removed); absent when nothing checks the reading.
    [[nodiscard]] std::optional<double> residual(const HangModel::Hung& hung, const Observation& seen) const {
        const double taken_up = covariance.variance(rows[static_cast<std::size_t>(&seen - observations.data())]);
        const double variance = seen.variance();
        const double left = seen.used ? variance - taken_up : variance + taken_up;
        if (left < least_redundancy * variance) return std::nullopt;
        return (seen.value - predicted(hung, seen)) / std::sqrt(left);
    }

    // A bad reading pulls the fit towards itself and makes good ones look bad: of the worst few, the one to leave out is
    // the one without which all the others agree best.
    bool drop_worst() {
        std::vector<std::pair<double, std::size_t>> suspects;
        double worst_z = 0.0;
        const HangModel::Hung hung = model.hung(x);
        for (std::size_t o = 0; o < observations.size(); ++o) {
            if (!observations[o].used) continue;
            const auto z = residual(hung, observations[o]);
            if (!z) continue;
            worst_z = std::max(worst_z, std::abs(*z));
            suspects.emplace_back(-std::abs(*z), o);
        }
        if (worst_z <= outlier_z) return false;
        std::ranges::sort(suspects);
        suspects.resize(std::min(suspects.size(), most_suspects));
        const Unknowns before = x;
        Unknowns best_x = x;
        std::size_t best = suspects.front().second;
        double least = std::numeric_limits<double>::infinity();
        for (const auto& [z, o] : suspects) {
            if (-z < suspect_share * worst_z) continue;
            x = before;
            observations[o].used = false;
            descend();
            const double left = misfit(x, 1e30);
            observations[o].used = true;
            if (left >= least) continue;
            least = left;
            best = o;
            best_x = x;
        }
        x = best_x;
        observations[best].outlier = true;
        observations[best].used = false;
        return true;
    }

    // An aim that left the pattern behind, or readings that fit nothing: the descent may have ended beside the valley.
    [[nodiscard]] bool astray() const {
        const std::vector<std::size_t> all = aims();
        const bool turned = std::ranges::any_of(all, [&](std::size_t i) { return std::abs(x[i]) > believable_turn_deg; });
        return turned || misfit(x, misfit_cap, true) > believable_misfit * static_cast<double>(observations.size());
    }

    void solve() {
        solve_from(0.0);
        if (!astray()) return;
        const Impl first = *this;
        solve_from(start_hold);
        if (first.compared_misfit() <= compared_misfit()) *this = first;
    }

    // Rooms differ in how much their low bands stray from place to place; the takes themselves tell it.
    void evaluate_scatter() {
        double square = 0.0;
        std::size_t count = 0;
        std::vector<bool> of_source(model.scene().sources.size(), false);
        const HangModel::Hung hung = model.hung(x);
        for (const Observation& seen : observations) {
            if (!seen.used || !by_full_sound(seen)) continue;
            const double r = seen.value - predicted(hung, seen);
            square += r * r;
            ++count;
            of_source[sound(seen).source] = true;
        }
        // Each source takes up one reading for its level, all together one for the room.
        const auto taken_up = 1 + static_cast<std::size_t>(std::ranges::count(of_source, true));
        if (count < enough_to_tell_scatter + taken_up) return;
        const double scatter = std::sqrt(square / static_cast<double>(count - taken_up));
        for (Observation& seen : observations)
            if (by_full_sound(seen)) seen.reading_u = std::clamp(scatter, least_scatter_db, most_scatter_db);
    }

    [[nodiscard]] bool by_full_sound(const Observation& seen) const {
        return seen.is_level() && measured_by_full_sound(*model.scene().sources[sound(seen).source].model);
    }

    void start() {
        std::ranges::fill(x, 0.0);
        for (Observation& seen : observations) seen.outlier = false;
        started = false;
        weigh();
        started = true;
        start_values();
    }

    // From readings that the plan itself gave: the room of full sound is still to be found, no reading to be doubted.
    void settle() {
        start();
        descend();
        weigh();
        evaluate_scatter();
        descend();
        invert();
    }

    void solve_from(double hold) {
        start();
        held = std::max(hold, kept);
        if (hold > 0.0) descend();
        held = kept;
        for (int round = 0; round < 3; ++round) {
            descend();
            weigh();
        }
        evaluate_scatter();
        descend();
        invert();
        const std::size_t most = 1 + observations.size() / 8;
        for (std::size_t dropped = 0; dropped < most && drop_worst(); ++dropped) {
            descend();
            weigh();
            descend();
            invert();
        }
    }

    [[nodiscard]] const Observation* observation(std::size_t of_sound, bool level) const {
        const auto found = std::ranges::find_if(observations, [&](const Observation& seen) {
            return seen.sound == of_sound && seen.kind == (level ? Kind::level : Kind::arrival);
        });
        return found == observations.end() ? nullptr : &*found;
    }

    [[nodiscard]] std::optional<double> residual_of(std::size_t of_sound, bool level) const {
        const Observation* seen = observation(of_sound, level);
        if (seen == nullptr || (!seen->used && !seen->outlier)) return std::nullopt;
        return residual(model.hung(x), *seen);
    }

    // Of the unknowns that the formula looks at.
    [[nodiscard]] Gradient gradient_of(const Formula& formula, double& value) const {
        std::vector<std::size_t> looked_at;
        value = formula(State(*this, x, &looked_at));
        std::ranges::sort(looked_at);
        looked_at.erase(std::ranges::unique(looked_at).begin(), looked_at.end());
        Gradient gradient;
        Unknowns moved = x;
        for (const std::size_t i : looked_at) {
            const double step = 1e-4 * std::max(1e-2, std::min(1.0, model.priors()[i].u));
            moved[i] = x[i] + step;
            const double up = formula(State(*this, moved));
            moved[i] = x[i] - step;
            gradient.push_back({i, (up - formula(State(*this, moved))) / (2.0 * step)});
            moved[i] = x[i];
        }
        return gradient;
    }

    // Taking an assumption away moves the solution, near enough linearly, by what the assumption had pulled it.
    [[nodiscard]] const Alone& without(std::initializer_list<Figure> figures) const {
        const auto known = std::ranges::find_if(alone, [&](const Alone& one) { return std::ranges::equal(one.figures, figures); });
        if (known != alone.end()) return *known;
        NormalEquations less = normal;
        Gradient pulled;
        for (std::size_t source = 0; source < model.scene().sources.size(); ++source)
            for (const Figure figure : figures) {
                const std::size_t at = model.layout().figure(source, figure);
                const double taken_away = prior_weight(model.priors()[at], x[at]) - nothing_assumed;
                less.add_prior(at, -taken_away, 0.0);
                pulled.push_back({at, taken_away * x[at]});
            }
        Alone one{figures, less.inverse(), {}};
        one.moved = one.covariance.pull(pulled);
        return alone.emplace_back(std::move(one));
    }

    // The estimate is linear in every error source near the solution: its variance is the sum of their shares.
    [[nodiscard]] std::vector<BudgetLine> budget(const Eigen::VectorXd& pull) const {
        std::vector<double> shares(lines.size(), 0.0);
        const std::size_t noise = line(noise_line), directivity = line(directivity_line), group_delay = line(group_delay_line);
        for (std::size_t o = 0; o < observations.size(); ++o) {
            const Observation& seen = observations[o];
            if (!seen.used) continue;
            const double through = along(rows[o], pull), variance = seen.variance();
            const double share = through * through / (variance * variance);
            shares[noise] += share * seen.reading_u * seen.reading_u;
            shares[seen.kind != Kind::arrival ? directivity : group_delay] += share * seen.pattern_u * seen.pattern_u;
        }
        for (std::size_t i = 0; i < x.size(); ++i) {
            const double through = pull[static_cast<Eigen::Index>(i)];
            shares[line_of[i]] += through * through * prior_weight(model.priors()[i], x[i]);
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

HangFit::HangFit(Scene scene, Work work)
    : impl_(std::make_unique<Impl>(std::move(scene), work == Work::solve || work == Work::predict)) {
    if (work == Work::compare) impl_->kept = 1.0 / (usual_aim_u_deg * usual_aim_u_deg);
    switch (work) {
        case Work::solve:
        case Work::compare: impl_->solve(); break;
        case Work::predict:
            impl_->settle();
            break;
        case Work::glance:
            impl_->start();
            impl_->glances = true;
            break;
    }
}
HangFit::HangFit(HangFit&&) noexcept = default;
HangFit& HangFit::operator=(HangFit&&) noexcept = default;
HangFit::~HangFit() = default;

const Scene& HangFit::scene() const { return impl_->model.scene(); }

Quantity HangFit::quantity(const Formula& formula) const {
    Quantity quantity;
    const Gradient gradient = impl_->gradient_of(formula, quantity.value);
    const Eigen::VectorXd pull = impl_->covariance.pull(gradient);
    quantity.u = uncertainty(along(gradient, pull));
    quantity.pull.assign(pull.begin(), pull.end());
    double prior = 0.0;
    for (const auto& [at, slope] : gradient) prior += slope * slope / prior_weight(impl_->model.priors()[at], impl_->x[at]);
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
    const HangModel& model = fit.model;
    const plan::Rules& rules = scene().plan->rules;
    const HangModel::Hung hung = model.hung(fit.x);
    const double loss = model.loss_db(hung, source, position.at);
    if (loss < useless_loss_db || quantity.pull.size() != fit.x.size()) return quantity.u;
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
    const Eigen::VectorXd pull_level = fit.covariance.pull(level), pull_arrival = fit.covariance.pull(arrival);
    Eigen::Matrix2d spread;
    spread << along(level, pull_level), along(level, pull_arrival), along(arrival, pull_level), along(arrival, pull_arrival);
    spread(0, 0) += place_variance(level) + std::pow(low ? most_scatter_db : usual_level_u_db, 2) +
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

double HangFit::pattern_u_db(std::size_t sound) const {
    const Observation* seen = impl_->observation(sound, true);
    return seen == nullptr ? 0.0 : std::hypot(seen->pattern_u, seen->common_u);
}

std::optional<double> HangFit::level_residual(std::size_t sound) const { return impl_->residual_of(sound, true); }
std::optional<double> HangFit::arrival_residual(std::size_t sound) const { return impl_->residual_of(sound, false); }

std::vector<std::string> HangFit::outliers(std::size_t source) const {
    std::vector<std::string> names;
    for (const Observation& seen : impl_->observations) {
        if (!seen.outlier || seen.kind == Kind::band || impl_->sound(seen).source != source) continue;
        const std::string& name = scene().positions[impl_->sound(seen).position]->id;
        if (std::ranges::find(names, name) == names.end()) names.push_back(name);
    }
    return names;
}

bool HangFit::believable() const { return !impl_->astray(); }
double HangFit::misfit() const { return impl_->compared_misfit(); }

void HangFit::State::look_at(std::size_t source, std::initializer_list<Figure> figures) const {
    if (looked_at_ == nullptr) return;
    for (const Figure figure : figures) looked_at_->push_back(fit_->model.layout().figure(source, figure));
}
double HangFit::State::figure(std::size_t source, Figure figure) const {
    look_at(source, {figure});
    return (*unknowns_)[fit_->model.layout().figure(source, figure)];
}
double HangFit::State::drive_latency_ms() const {
    if (looked_at_ != nullptr) looked_at_->push_back(fit_->model.layout().latency());
    return fit_->model.drive_latency_ms(*unknowns_);
}
double HangFit::State::group_delay_ms(std::size_t source) const {
    const std::size_t at = fit_->model.layout().shape(fit_->model.model_of(source), Shape::latency_ms);
    if (looked_at_ != nullptr) looked_at_->push_back(at);
    return (*unknowns_)[at];
}
acoustics::Pose HangFit::State::pose(std::size_t source, std::size_t box) const {
    look_at(source, {Figure::pan_deg, Figure::tilt_deg, Figure::x_m, Figure::y_m, Figure::z_m});
    return fit_->model.pose(*unknowns_, source, box);
}
double HangFit::State::level_db(std::size_t source, Vec3 at) const {
    Row slopes;
    const double level = fit_->model.level_db(fit_->model.hung(*unknowns_), source, at, looked_at_ == nullptr ? nullptr : &slopes);
    for (const Row::Term& term : slopes) looked_at_->push_back(term.at);
    return level;
}
double HangFit::State::arrival_ms(std::size_t source, Vec3 at) const {
    Row slopes;
    const double arrival = fit_->model.arrival_ms(fit_->model.hung(*unknowns_), source, at, looked_at_ == nullptr ? nullptr : &slopes);
    for (const Row::Term& term : slopes) looked_at_->push_back(term.at);
    return arrival;
}

}  // namespace proofwalk::verify
