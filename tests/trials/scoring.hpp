// What is true of each check of a show, and how verdicts stand to it.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "trials/show.hpp"
#include "verify/judge.hpp"

namespace proofwalk::trials {

// in: 20 % clear inside the limit, a fail is false; out: 20 % beyond, a pass is false; near: neither counts;
// dead: nothing sounds, only a pass is wrong; unjudged: no truth to hold it against.
enum class Class { in, out, near, dead, unjudged };

struct Truth {
    Class kind = Class::unjudged;
    std::optional<double> value;
    std::vector<double> readings = {};  // other defensible readings of the value, it included
};

[[nodiscard]] Truth truth_of(const Show& show, const plan::PlannedCheck& check);

struct Counts {
    long shows = 0;
    long out = 0, caught = 0, false_pass = 0;
    long in = 0, passed = 0, false_fail = 0;
    long unsettled = 0;       // unsure or open of in and out
    long uninformed = 0;      // of those not counted above: the plan and takes can't settle them, said beforehand
    long intervals = 0, inside = 0;
    long dead = 0;

    Counts& operator+=(const Counts& other);
};

// Of the shows with one planted fault.
struct Found {
    long shows = 0;
    long told_beforehand = 0;  // the plan and takes can't settle its check
    long named = 0;            // failed with the right subject and kind
    long blamed_another = 0;   // a check of one box failed that nothing is wrong with

    Found& operator+=(const Found& other);
};

struct Table {
    Counts all;
    std::map<std::string, Counts> by_fault, by_rig, by_hall, by_check;
    std::map<std::string, std::vector<double>> errors;  // absolute, of checks with a truth
    std::map<std::string, std::vector<double>> scores;  // signed error over stated standard uncertainty
    std::vector<std::string> wrong;                     // one line a false verdict
    std::vector<std::string> figures;                   // one line a figure that has a truth
    std::map<std::string, Found> found;                 // by planted fault

    Table& operator+=(const Table& other);
    void add(const Show& show, const verify::Judgement& judgement);

private:
    void add_places(const Show& show, const verify::Judgement& judgement);
};

[[nodiscard]] std::string text(const Table& table);

}  // namespace proofwalk::trials
