#include "log/packed_judgement.hpp"

#include <map>

#include "log/bytes.hpp"

namespace proofwalk::log {
namespace {

constexpr std::uint8_t difference_form = 1;

using Entries = std::vector<PackedJudgement::Entry>;

void add_names(ByteWriter& out, const std::vector<std::string>& names) {
    out.count(names.size());
    for (const std::string& name : names) out.text(name);
}

std::vector<std::string> names(ByteReader& in) {
    std::vector<std::string> list(in.count(sizeof(std::uint32_t)));
    for (std::string& name : list) name = in.text();
    return list;
}

std::vector<std::byte> packed(const verify::CheckResult& result) {
    ByteWriter out;
    out.number(static_cast<std::uint8_t>(result.kind));
    out.text(result.subject);
    out.number(static_cast<std::uint8_t>(result.verdict));
    out.maybe(result.value);
    out.text(result.unit);
    for (const auto* figure : {&result.uncertainty, &result.probability, &result.target, &result.tolerance})
        out.maybe(*figure);
    add_names(out, result.takes);
    add_names(out, result.positions);
    out.text(result.says);
    out.text(result.advice);
    out.count(result.budget.size());
    for (const verify::BudgetLine& line : result.budget) {
        out.text(line.source);
        out.number(line.u);
    }
    out.maybe(result.predicted_u);
    return out.bytes();
}

verify::CheckResult check_from(std::span<const std::byte> bytes) {
    ByteReader in(bytes);
    verify::CheckResult result;
    const auto kind = in.number<std::uint8_t>();
    if (kind > static_cast<std::uint8_t>(plan::CheckKind::alignment)) throw BadBytes{};
    result.kind = static_cast<plan::CheckKind>(kind);
    result.subject = in.text();
    const auto verdict = in.number<std::uint8_t>();
    if (verdict > static_cast<std::uint8_t>(verify::Verdict::skipped)) throw BadBytes{};
    result.verdict = static_cast<verify::Verdict>(verdict);
    result.value = in.maybe();
    result.unit = in.text();
    for (auto* figure : {&result.uncertainty, &result.probability, &result.target, &result.tolerance}) *figure = in.maybe();
    result.takes = names(in);
    result.positions = names(in);
    result.says = in.text();
    result.advice = in.text();
    result.budget.resize(in.count(sizeof(std::uint32_t) + sizeof(double)));
    for (verify::BudgetLine& line : result.budget) {
        line.source = in.text();
        line.u = in.number<double>();
    }
    result.predicted_u = in.maybe();
    if (!in.at_end()) throw BadBytes{};
    return result;
}

std::vector<std::byte> packed(const verify::Fit& fit) {
    ByteWriter out;
    out.text(fit.box);
    for (const auto* figure :
         {&fit.pan_deg, &fit.pan_u_deg, &fit.tilt_deg, &fit.tilt_u_deg, &fit.gain_db, &fit.gain_u_db})
        out.maybe(*figure);
    for (const auto* point : {&fit.at, &fit.at_u})
        for (const auto& coordinate : *point) out.maybe(coordinate);
    add_names(out, fit.outliers);
    return out.bytes();
}

verify::Fit fit_from(std::span<const std::byte> bytes) {
    ByteReader in(bytes);
    verify::Fit fit;
    fit.box = in.text();
    for (auto* figure : {&fit.pan_deg, &fit.pan_u_deg, &fit.tilt_deg, &fit.tilt_u_deg, &fit.gain_db, &fit.gain_u_db})
        *figure = in.maybe();
    for (auto* point : {&fit.at, &fit.at_u})
        for (auto& coordinate : *point) coordinate = in.maybe();
    fit.outliers = names(in);
    if (!in.at_end()) throw BadBytes{};
    return fit;
}

bool same_keys(const Entries& first, const Entries& second) {
    if (first.size() != second.size()) return false;
    for (std::size_t place = 0; place < first.size(); ++place)
        if (first[place].key != second[place].key) return false;
    return true;
}

std::vector<std::size_t> changed(const Entries& base, const Entries& target) {
    std::vector<std::size_t> places;
    if (same_keys(base, target)) {
        for (std::size_t place = 0; place < target.size(); ++place)
            if (base[place].bytes != target[place].bytes) places.push_back(place);
        return places;
    }
    std::map<std::string_view, const PackedJudgement::Entry*> known;
    for (const auto& entry : base) known[entry.key] = &entry;
    for (std::size_t place = 0; place < target.size(); ++place) {
        const auto found = known.find(target[place].key);
        if (found == known.end() || found->second->bytes != target[place].bytes) places.push_back(place);
    }
    return places;
}

// Keys in order where they are new, then each changed entry with its place.
void add_difference(ByteWriter& out, const Entries& base, const Entries& target) {
    const bool same = same_keys(base, target);
    out.number(static_cast<std::uint8_t>(!same));
    if (!same) {
        out.count(target.size());
        for (const auto& entry : target) out.text(entry.key);
    }
    const auto places = changed(base, target);
    out.count(places.size());
    for (const std::size_t place : places) {
        out.count(place);
        out.blob(target[place].bytes);
    }
}

Entries apply_difference(ByteReader& in, const Entries& base) {
    Entries target = base;
    if (in.yes()) {
        std::map<std::string_view, const PackedJudgement::Entry*> known;
        for (const auto& entry : base) known[entry.key] = &entry;
        target.assign(in.count(sizeof(std::uint32_t)), {});
        for (auto& entry : target) {
            entry.key = in.text();
            if (const auto found = known.find(entry.key); found != known.end()) entry.bytes = found->second->bytes;
        }
    }
    for (std::size_t left = in.count(2 * sizeof(std::uint32_t)); left > 0; --left) {
        const std::size_t place = in.number<std::uint32_t>();
        if (place >= target.size()) throw BadBytes{};
        const auto bytes = in.blob();
        target[place].bytes.assign(bytes.begin(), bytes.end());
    }
    return target;
}

}  // namespace

std::string key_of(const verify::CheckResult& result) {
    return std::string{plan::word(result.kind)} + " " + result.subject;
}

PackedJudgement packed(const verify::Judgement& judgement) {
    PackedJudgement out;
    for (const verify::CheckResult& result : judgement.checks) out.checks.push_back({key_of(result), packed(result)});
    for (const verify::Fit& fit : judgement.fits) out.fits.push_back({fit.box, packed(fit)});
    out.drive_latency_ms = judgement.drive_latency_ms;
    return out;
}

verify::Judgement judgement_from(const PackedJudgement& judgement) {
    verify::Judgement out;
    for (const auto& entry : judgement.checks) out.checks.push_back(check_from(entry.bytes));
    for (const auto& entry : judgement.fits) out.fits.push_back(fit_from(entry.bytes));
    out.drive_latency_ms = judgement.drive_latency_ms;
    return out;
}

std::vector<std::byte> difference(const PackedJudgement& base, const PackedJudgement& target) {
    ByteWriter out;
    out.number(difference_form);
    add_difference(out, base.checks, target.checks);
    add_difference(out, base.fits, target.fits);
    out.maybe(target.drive_latency_ms);
    return out.bytes();
}

PackedJudgement applied(const PackedJudgement& base, std::span<const std::byte> difference) {
    ByteReader in(difference);
    if (in.number<std::uint8_t>() != difference_form) throw BadBytes{};
    PackedJudgement target;
    target.checks = apply_difference(in, base.checks);
    target.fits = apply_difference(in, base.fits);
    target.drive_latency_ms = in.maybe_measured();
    if (!in.at_end()) throw BadBytes{};
    return target;
}

std::vector<std::size_t> changed_checks(const PackedJudgement& base, const PackedJudgement& target) {
    return changed(base.checks, target.checks);
}

}  // namespace proofwalk::log
