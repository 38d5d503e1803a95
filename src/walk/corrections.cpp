#include "walk/corrections.hpp"

#include <algorithm>

#include "plan/checks.hpp"

namespace proofwalk::walk {
namespace {

struct Failed {
    const verify::CheckResult* result = nullptr;
    std::vector<std::string> boxes, circuits;
};

std::vector<Failed> failed_of(const plan::Plan& plan, const std::vector<verify::CheckResult>& checks) {
    const std::vector<plan::PlannedCheck> planned = plan::checks(plan);
    std::vector<Failed> failed;
    for (const verify::CheckResult& check : checks) {
        if (check.verdict != verify::Verdict::fail) continue;
        const auto asks = std::ranges::find_if(planned, [&](const auto& other) { return other.kind == check.kind && other.subject == check.subject; });
        if (asks != planned.end()) failed.push_back({&check, asks->boxes, asks->circuits});
    }
    return failed;
}

// What fails in a box by itself when a pair fails in this way because of it.
bool explains(plan::CheckKind of_box, plan::CheckKind of_pair) {
    using enum plan::CheckKind;
    switch (of_pair) {
        case alignment: return of_box == arrival;
        case crossover: return of_box == level || of_box == aim_h || of_box == aim_v;
        case splay: return of_box == aim_h || of_box == aim_v;
        default: return false;
    }
}

bool of_pair(const Failed& failed) { return failed.result->kind != plan::CheckKind::sounding && failed.boxes.size() == 2; }

class Gathered {
public:
    explicit Gathered(const plan::Plan& plan) : plan_(plan) {}

    [[nodiscard]] Correction* of(const std::string& subject) {
        const auto found = std::ranges::find(all_, subject, &Correction::subject);
        return found == all_.end() ? nullptr : &*found;
    }
    void add(const std::string& subject, std::vector<std::string> circuits, const verify::CheckResult& result) {
        if (Correction* known = of(subject))
            known->failed.push_back(result);
        else
            all_.push_back({subject, std::move(circuits), {result}});
    }
    void add_to_box(const std::string& box, const verify::CheckResult& result) { add(box, {plan_.box(box)->circuit}, result); }
    [[nodiscard]] std::vector<Correction> all() && { return std::move(all_); }

private:
    const plan::Plan& plan_;
    std::vector<Correction> all_;
};

}  // namespace

std::vector<Correction> corrections(const plan::Plan& plan, const std::vector<verify::CheckResult>& checks) {
    const std::vector<Failed> failed = failed_of(plan, checks);
    Gathered gathered(plan);
    std::vector<const Failed*> pairs;
    for (const Failed& one : failed)
        if (of_pair(one))
            pairs.push_back(&one);
        else
            gathered.add(one.result->subject, one.circuits, *one.result);
    std::erase_if(pairs, [&](const Failed* pair) {
        const auto fails_alike = [&](const std::string& box) {
            const Correction* own = gathered.of(box);
            return own != nullptr && std::ranges::any_of(own->failed, [&](const verify::CheckResult& check) { return explains(check.kind, pair->result->kind); });
        };
        auto known = std::ranges::find_if(pair->boxes, fails_alike);
        if (known == pair->boxes.end()) known = std::ranges::find_if(pair->boxes, [&](const std::string& box) { return gathered.of(box) != nullptr; });
        if (known != pair->boxes.end()) gathered.add_to_box(*known, *pair->result);
        return known != pair->boxes.end();
    });
    while (!pairs.empty()) {
        // Pairs of one kind each: a pair that fails in two ways tells no more of which box it is.
        const auto shared_by = [&](const std::string& box) {
            std::vector<std::string> subjects;
            for (const Failed* pair : pairs)
                if (std::ranges::find(pair->boxes, box) != pair->boxes.end() && std::ranges::find(subjects, pair->result->subject) == subjects.end())
                    subjects.push_back(pair->result->subject);
            return subjects.size();
        };
        std::string most;
        std::size_t count = 1;
        for (const Failed* pair : pairs)
            for (const std::string& box : pair->boxes)
                if (const std::size_t shared = shared_by(box); shared > count) {
                    count = shared;
                    most = box;
                }
        if (most.empty()) {
            for (const Failed* pair : pairs) gathered.add(pair->result->subject, pair->circuits, *pair->result);
            break;
        }
        std::erase_if(pairs, [&](const Failed* pair) {
            const bool its = std::ranges::find(pair->boxes, most) != pair->boxes.end();
            if (its) gathered.add_to_box(most, *pair->result);
            return its;
        });
    }
    return std::move(gathered).all();
}

}  // namespace proofwalk::walk
