#include "trials/scoring.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "acoustics/geometry.hpp"
#include "plan/checks.hpp"
#include "trials/hall.hpp"
#include "units/convert.hpp"
#include "verify/decide.hpp"
#include "verify/predict.hpp"

namespace proofwalk::trials {
namespace {

using plan::CheckKind;

struct Truths {
    const Show& show;

    std::size_t index(const std::string& box) const {
        return static_cast<std::size_t>(show.plan.box(box) - show.plan.boxes.data());
    }
    double gain_off(std::size_t i) const { return show.hung[i].gain_db - show.plan.boxes[i].gain_db; }
    bool crossed(std::size_t i) const { return show.cable[i] != i || show.joined[i]; }
    bool lame(std::size_t i) const { return show.hung[i].drivers == Drivers::no_high; }

    // What a mic can tell of a gain: the level in the aim band, which the ripple of the unit is part of.
    double heard_off(std::size_t i) const {
        return gain_off(i) + true_voice_db(show, i, show.plan.model_of(show.plan.boxes[i]).aim_band_hz);
    }

    // Gain deviations of the boxes of one model that could be compared, as set or as heard.
    std::vector<double> gains(std::size_t i, bool with_own, bool heard) const {
        std::vector<double> all;
        for (std::size_t s = 0; s < show.hung.size(); ++s) {
            if (show.plan.boxes[s].model != show.plan.boxes[i].model || show.hung[s].silent || lame(s) || show.joined[s]) continue;
            if (s != i || with_own) all.push_back(heard ? heard_off(s) : gain_off(s));
        }
        std::ranges::sort(all);
        return all;
    }
    static double middle(const std::vector<double>& sorted) {
        const std::size_t half = sorted.size() / 2;
        return sorted.size() % 2 == 1 ? sorted[half] : 0.5 * (sorted[half - 1] + sorted[half]);
    }

    Truth classed(const std::vector<double>& readings, double tolerance) const {
        Truth truth{Class::near, readings.front(), readings};
        if (std::ranges::all_of(readings, [&](double v) { return std::abs(v) < 0.8 * tolerance; })) truth.kind = Class::in;
        if (std::ranges::all_of(readings, [&](double v) { return std::abs(v) > 1.2 * tolerance; })) truth.kind = Class::out;
        return truth;
    }

    double arrival_ms(std::size_t i, Vec3 at, bool planned) const {
        const plan::Box& box = show.plan.boxes[i];
        const double speed = acoustics::speed_of_sound(planned ? show.plan.air : show.air).value;
        return 1e3 * distance(planned ? box.at : show.hung[i].pose.at, at) / speed + (planned ? box.delay_ms : show.hung[i].delay_ms);
    }

    // Beside the level on the axis: what distance and aim change.
    double hang_off(std::size_t i, Vec3 at, bool in_aim_band) const {
        const plan::Box& box = show.plan.boxes[i];
        const acoustics::Pose& hung = show.hung[i].pose;
        const double off = -amplitude_db(distance(hung.at, at) / distance(box.at, at));
        if (!in_aim_band) return off;
        // The plan's level is that of its own pattern: the beam model.
        const acoustics::Bearing seen = acoustics::bearing(box.pose(), at);
        const plan::Model& model = show.plan.model_of(box);
        return off + true_loss_db(show, i, hung, at) -
               model.pattern_loss->loss_db(seen.h_deg, seen.v_deg, model.aim_band_hz.low_hz, model.aim_band_hz.high_hz);
    }

    // How far one of the two is off at the crossover, as heard.
    double crossover_off(const plan::PlannedCheck& check, std::size_t i) const {
        const Vec3 at = show.plan.crossover_of(check.boxes[0], check.boxes[1])->at;
        const bool aim = check.band_hz == show.plan.model_of(show.plan.boxes[i]).aim_band_hz;
        return hang_off(i, at, aim) + heard_off(i) - middle(gains(i, true, true));
    }

    Truth crossover(const plan::PlannedCheck& check, const std::vector<std::size_t>& boxes) const {
        const Vec3 at = show.plan.crossover_of(check.boxes[0], check.boxes[1])->at;
        const bool aim = check.band_hz == show.plan.model_of(show.plan.boxes[boxes[0]]).aim_band_hz;
        std::vector<double> readings;
        for (const bool heard : {true, false}) {
            double worst = 0.0;
            for (const std::size_t i : boxes) {
                const double off = hang_off(i, at, aim) + (heard ? heard_off(i) : gain_off(i)) - middle(gains(i, true, heard));
                if (std::abs(off) > std::abs(worst)) worst = off;
            }
            readings.push_back(worst);
        }
        return classed(readings, show.plan.rules.crossover_db);
    }

    Truth pair(const plan::PlannedCheck& check, const std::vector<std::size_t>& boxes) const {
        const auto &one = show.hung[boxes[0]].pose, &two = show.hung[boxes[1]].pose;
        const plan::Box &a = show.plan.boxes[boxes[0]], &b = show.plan.boxes[boxes[1]];
        const plan::Rules& rules = show.plan.rules;
        if (check.kind == CheckKind::splay) {
            const auto between = [](const acoustics::Pose& p, const acoustics::Pose& q) {
                return acoustics::angle_between_deg({p.pan_deg, p.tilt_deg}, {q.pan_deg, q.tilt_deg});
            };
            return classed({between(one, two) - between(a.pose(), b.pose())}, rules.splay_deg);
        }
        if (check.kind == CheckKind::spacing) return classed({distance(one.at, two.at) - distance(a.at, b.at)}, rules.spacing_m);
        if (check.kind == CheckKind::crossover) return crossover(check, boxes);
        const Vec3 at = show.plan.crossover_of(check.boxes[0], check.boxes[1])->at;
        return classed({arrival_ms(boxes[1], at, false) - arrival_ms(boxes[0], at, false) - arrival_ms(boxes[1], at, true) +
                        arrival_ms(boxes[0], at, true)},
                       rules.alignment_ms);
    }

    Truth single(const plan::PlannedCheck& check, std::size_t i) const {
        const plan::Rules& rules = show.plan.rules;
        const plan::Box& box = show.plan.boxes[i];
        const Hung& hung = show.hung[i];
        switch (check.kind) {
            case CheckKind::sounding: return {Class::in, std::nullopt};
            case CheckKind::polarity: return {hung.inverted == box.inverted ? Class::in : Class::out, hung.inverted ? -1.0 : 1.0};
            case CheckKind::response: return {hung.drivers == Drivers::all ? Class::in : Class::out, std::nullopt};
            case CheckKind::level: {
                const std::vector<double> others = gains(i, false, true);
                if (others.empty() || lame(i)) return {};
                return classed({heard_off(i) - middle(others), heard_off(i) - middle(gains(i, true, true)),
                                gain_off(i) - middle(gains(i, false, false)), gain_off(i) - middle(gains(i, true, false))},
                               rules.level_db);
            }
            case CheckKind::arrival: {
                const Vec3 at = show.plan.position(check.positions.front())->at;
                return classed({arrival_ms(i, at, false) - arrival_ms(i, at, true)}, rules.arrival_ms);
            }
            case CheckKind::aim_h: return lame(i) ? Truth{} : classed({hung.pose.pan_deg - box.pan_deg}, rules.aim_deg);
            case CheckKind::aim_v: return lame(i) ? Truth{} : classed({hung.pose.tilt_deg - box.tilt_deg}, rules.aim_deg);
            default: return {};
        }
    }
};

std::string name_of(CheckKind kind) { return std::string(plan::word(kind)); }

// The check and subject that must fail when the planted fault is found.
bool is_of_fault(const Show& show, const verify::CheckResult& check) {
    const auto is = [&](CheckKind kind) { return check.kind == kind && check.subject == show.fault_subject; };
    switch (show.fault) {
        case Planted::none: return false;
        case Planted::aim_h: return is(CheckKind::aim_h);
        case Planted::aim_v: return is(CheckKind::aim_v);
        case Planted::splay: return is(CheckKind::splay);
        case Planted::spacing: return is(CheckKind::spacing);
        case Planted::delay: return is(CheckKind::arrival);
        case Planted::gain: return is(CheckKind::level);
        case Planted::polarity: return is(CheckKind::polarity);
        case Planted::dead_high:
        case Planted::dead_low: return is(CheckKind::response);
        case Planted::silent: return is(CheckKind::sounding);
        case Planted::doubled:
        case Planted::swap: return check.kind == CheckKind::sounding && check.subject == show.fault_subject.substr(0, 1);
    }
    return false;
}

bool names_fault(const Show& show, const verify::CheckResult& check) {
    if (check.verdict != verify::Verdict::fail || !is_of_fault(show, check)) return false;
    const auto says = [&](const std::string& words) { return check.says.find(words) != std::string::npos; };
    switch (show.fault) {
        case Planted::dead_high: return says("dead high");
        case Planted::dead_low: return says("dead low");
        case Planted::doubled: return check.says.starts_with(show.fault_subject.substr(2, 1) + " sounds together");
        case Planted::swap: return says("crossed: the cable of " + check.subject + " feeds " + show.fault_subject.substr(3, 1));
        default: return true;
    }
}

double percentile(std::vector<double> values, double share) {
    if (values.empty()) return 0.0;
    const auto at = static_cast<std::size_t>(share * static_cast<double>(values.size() - 1));
    std::ranges::nth_element(values, values.begin() + static_cast<std::ptrdiff_t>(at));
    return values[at];
}

double percent(long part, long whole) { return whole > 0 ? 100.0 * static_cast<double>(part) / static_cast<double>(whole) : 0.0; }

std::string line(const std::string& name, const Counts& c) {
    return fmt::format("| {:<18} | {:>5} | {:>5} | {:>6.1f} | {:>3} | {:>6} | {:>6.1f} | {:>3} | {:>5.1f} | {:>5} | {:>5.1f} |\n", name, c.shows,
                       c.out, percent(c.caught, c.out), c.false_pass, c.in, percent(c.passed, c.in), c.false_fail,
                       percent(c.unsettled, c.in + c.out), c.uninformed, percent(c.inside, c.intervals));
}

}  // namespace

Truth truth_of(const Show& show, const plan::PlannedCheck& check) {
    const Truths truths{show};
    std::vector<std::size_t> boxes;
    for (const std::string& id : check.boxes) boxes.push_back(truths.index(id));
    for (const std::size_t i : boxes) {
        if (show.hung[i].silent) return {check.kind == CheckKind::sounding ? Class::out : Class::dead, std::nullopt};
        if (truths.crossed(i)) return {check.kind == CheckKind::sounding ? Class::out : Class::unjudged, std::nullopt};
    }
    if (boxes.size() == 2) {
        for (const std::size_t i : boxes)
            if (truths.lame(i)) return {};
        return truths.pair(check, boxes);
    }
    return truths.single(check, boxes.front());
}

Counts& Counts::operator+=(const Counts& o) {
    shows += o.shows; out += o.out; caught += o.caught; false_pass += o.false_pass; in += o.in; passed += o.passed;
    false_fail += o.false_fail; unsettled += o.unsettled; uninformed += o.uninformed; intervals += o.intervals;
    inside += o.inside; dead += o.dead;
    return *this;
}

Found& Found::operator+=(const Found& o) {
    shows += o.shows; told_beforehand += o.told_beforehand; named += o.named; blamed_another += o.blamed_another;
    return *this;
}

Table& Table::operator+=(const Table& other) {
    all += other.all;
    const auto merge = [](auto& mine, const auto& theirs) {
        for (const auto& [name, counts] : theirs) mine[name] += counts;
    };
    merge(by_fault, other.by_fault);
    merge(by_rig, other.by_rig);
    merge(by_hall, other.by_hall);
    merge(by_check, other.by_check);
    const auto append = [](auto& mine, const auto& theirs) {
        for (const auto& [name, values] : theirs) mine[name].insert(mine[name].end(), values.begin(), values.end());
    };
    append(errors, other.errors);
    append(scores, other.scores);
    wrong.insert(wrong.end(), other.wrong.begin(), other.wrong.end());
    figures.insert(figures.end(), other.figures.begin(), other.figures.end());
    merge(found, other.found);
    return *this;
}

// Where the fits have the boxes, in axes that the takes tell, against where they hang.
void Table::add_places(const Show& show, const verify::Judgement& judgement) {
    const Truths truths{show};
    for (const verify::Fit& fit : judgement.fits) {
        const std::size_t box = truths.index(fit.box);
        if (show.hung[box].silent || truths.crossed(box)) continue;
        const Vec3 at = show.hung[box].pose.at;
        const std::array<double, 3> hung = {at.x, at.y, at.z};
        double square = 0.0, variance = 0.0;
        std::size_t told = 0;
        for (std::size_t axis = 0; axis < 3; ++axis) {
            if (!fit.at[axis] || !fit.at_u[axis]) continue;
            ++told;
            square += std::pow(*fit.at[axis] - hung[axis], 2);
            variance += std::pow(*fit.at_u[axis], 2);
        }
        if (told == 0) continue;
        const std::string name = fmt::format("place, {} of 3 axes told", told);
        errors[name].push_back(std::sqrt(square));
        scores[name].push_back(std::sqrt(square / variance));
    }
}

void Table::add(const Show& show, const verify::Judgement& judgement) {
    const auto planned = plan::checks(show.plan);
    const auto predicted = verify::predict(show.plan, verify::takes_of(show.plan, true), show.signal_to_noise_db);
    Counts of_show;
    of_show.shows = 1;
    Found fault;
    fault.shows = 1;
    for (std::size_t i = 0; i < planned.size(); ++i) {
        const verify::CheckResult& result = judgement.checks[i];
        const Truth truth = truth_of(show, planned[i]);
        const bool blames_one = planned[i].boxes.size() == 1 && result.verdict == verify::Verdict::fail;
        if (blames_one && (truth.kind == Class::in || truth.kind == Class::unjudged) && show.fault_subject.find(planned[i].boxes.front()) == std::string::npos)
            fault.blamed_another = 1;
        Counts counts;
        const bool settled = result.verdict == verify::Verdict::pass || result.verdict == verify::Verdict::fail;
        const bool informed = settled || predicted[i].best == verify::Verdict::pass;
        if (names_fault(show, result)) fault.named = 1;
        if (is_of_fault(show, result) && !informed) fault.told_beforehand = 1;
        const std::string name = name_of(result.kind);
        const auto tell = [&](const char* what) {
            wrong.push_back(fmt::format("{} seed {} {} {} fault {} {} {:.2f}: {} {} = {:.3f} +-{:.3f}, true {:.3f}: {}", what, show.seed,
                                        word(show.rig), show.hall.name, word(show.fault), show.fault_subject, show.fault_amount, name,
                                        result.subject, result.value.value_or(0.0), result.uncertainty.value_or(0.0),
                                        truth.value.value_or(0.0), result.says));
        };
        if (truth.kind == Class::dead) {
            ++counts.dead;
            if (result.verdict == verify::Verdict::pass) { ++counts.false_pass; tell("FALSE PASS (dead)"); }
        }
        if (truth.kind == Class::in || truth.kind == Class::out) {
            if (!informed) {
                ++counts.uninformed;
            } else if (truth.kind == Class::in) {
                ++counts.in;
                if (result.verdict == verify::Verdict::pass) ++counts.passed;
                if (result.verdict == verify::Verdict::fail) { ++counts.false_fail; tell("FALSE FAIL"); }
            } else {
                ++counts.out;
                if (result.verdict == verify::Verdict::fail) ++counts.caught;
                if (result.verdict == verify::Verdict::pass) { ++counts.false_pass; tell("FALSE PASS"); }
            }
            if (informed && !settled) { ++counts.unsettled; tell("unsettled"); }
        }
        // A crossover tells the larger of two deviations: hold it against the box that it speaks of.
        double held_against = truth.value.value_or(0.0);
        if (result.kind == CheckKind::crossover && truth.value && result.value) {
            const Truths truths{show};
            const double first = truths.crossover_off(planned[i], truths.index(planned[i].boxes[0]));
            const double second = truths.crossover_off(planned[i], truths.index(planned[i].boxes[1]));
            const std::string named = fmt::format("{} is {:+.1f} dB", planned[i].boxes[0], *result.value);
            held_against = result.says.find(named) != std::string::npos ? first : second;
        }
        // A level is asked for as a gain; against the others or against all is told in words: the nearer one.
        if (result.kind == CheckKind::level && truth.value && result.value)
            held_against = *std::min_element(truth.readings.begin() + 2, truth.readings.end(), [&](double a, double b) {
                return std::abs(a - *result.value) < std::abs(b - *result.value);
            });
        if (truth.value && truth.kind != Class::unjudged && result.value && result.uncertainty && *result.uncertainty > 0.0) {
            const double error = *result.value - held_against;
            ++counts.intervals;
            if (std::abs(error) <= *result.uncertainty) ++counts.inside;
            else tell("outside");
            const std::string kind = informed ? name : name + ", told beforehand";
            errors[kind].push_back(std::abs(error));
            scores[kind].push_back(1.96 * error / *result.uncertainty);
            figures.push_back(fmt::format("{} {} {} {} {} {} {} {:.4f} {:.4f} {:.4f}", show.seed, word(show.rig), show.hall.name,
                                          word(show.fault), name, result.subject, informed ? "informed" : "uninformed", *result.value,
                                          *result.uncertainty, held_against));
        }
        of_show += counts;
        by_check[name] += counts;
    }
    add_places(show, judgement);
    found[word(show.fault)] += fault;
    if (show.fault != Planted::none && fault.named == 0)
        wrong.push_back(fmt::format("NOT FOUND seed {} {} {}: {} {} {:.2f}{}", show.seed, word(show.rig), show.hall.name, word(show.fault),
                                    show.fault_subject, show.fault_amount, fault.told_beforehand > 0 ? ", told beforehand" : ""));
    all += of_show;
    by_fault[word(show.fault)] += of_show;
    by_rig[word(show.rig)] += of_show;
    by_hall[show.hall.name] += of_show;
}

std::string text(const Table& table) {
    std::string out;
    const std::string head =
        "| {:<18} | shows |   out | caught%| f.p |    in  | passed%| f.f | open% | uninf | ivl%  |\n|---|---|---|---|---|---|---|---|---|---|---|\n";
    const auto block = [&](const char* name, const std::map<std::string, Counts>& rows) {
        out += "\n" + fmt::format(fmt::runtime(head), name);
        for (const auto& [row, counts] : rows) out += line(row, counts);
    };
    out += fmt::format(fmt::runtime(head), "all") + line("all checks", table.all);
    block("planted fault", table.by_fault);
    block("rig", table.by_rig);
    block("room", table.by_hall);
    block("check", table.by_check);
    out += "\n| planted fault | shows | can't be settled, told beforehand | of the others rightly named | % | shows that blame another box |\n|---|---|---|---|---|---|\n";
    for (const auto& [name, f] : table.found) {
        const long to_name = name == word(Planted::none) ? 0 : f.shows - f.told_beforehand;
        out += fmt::format("| {} | {} | {} | {} of {} | {:.1f} | {} |\n", name, f.shows, f.told_beforehand, f.named, to_name,
                           percent(f.named, to_name), f.blamed_another);
    }
    out += "\n| check | figures | 50 % | 95 % of |error| | rms error over stated u | mean |\n|---|---|---|---|---|---|\n";
    for (const auto& [name, values] : table.errors) {
        double square = 0.0, sum = 0.0;
        const auto& scores = table.scores.at(name);
        for (const double z : scores) { square += z * z; sum += z; }
        const double n = static_cast<double>(scores.size());
        out += fmt::format("| {} | {} | {:.3f} | {:.3f} | {:.2f} | {:.2f} |\n", name, values.size(), percentile(values, 0.5),
                           percentile(values, 0.95), std::sqrt(square / n), sum / n);
    }
    return out;
}

}  // namespace proofwalk::trials
