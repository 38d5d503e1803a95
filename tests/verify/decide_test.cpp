// The decision rule against JCGM 106: probability of conformity of a two-sided tolerance, worked values of the table in
// the project's physics reference (T 3, y 2.0 .. 3.5, u 0.5), which follows ILAC-G8:09/2019 and JCGM 106:2012 clause 7.
#include <gtest/gtest.h>

#include "verify/decide.hpp"

namespace proofwalk::verify {
namespace {

TEST(Decide, ProbabilityOfConformityOfWorkedValues) {
    EXPECT_NEAR(probability_of_conformity(2.0, 0.5, 3.0), 0.97725, 5e-6);
    EXPECT_NEAR(probability_of_conformity(2.5, 0.5, 3.0), 0.84134, 5e-6);
    EXPECT_NEAR(probability_of_conformity(3.0, 0.5, 3.0), 0.50000, 5e-6);
    EXPECT_NEAR(probability_of_conformity(3.5, 0.5, 3.0), 0.15866, 5e-6);
    EXPECT_EQ(probability_of_conformity(-2.0, 0.5, 3.0), probability_of_conformity(2.0, 0.5, 3.0));
}

TEST(Decide, CoverageFactorIsTheNormalQuantile) {
    EXPECT_NEAR(coverage_factor(0.95), 1.959964, 1e-6);
    EXPECT_NEAR(coverage_factor(0.90), 1.644854, 1e-6);
    EXPECT_NEAR(coverage_factor(0.99), 2.575829, 1e-6);
}

TEST(Decide, GuardedSettlesOnlyWhatIsSure) {
    plan::Rules rules;
    EXPECT_EQ(decide(0.0, 0.5, 2.0, rules).verdict, Verdict::pass);
    EXPECT_EQ(decide(1.8, 0.5, 2.0, rules).verdict, Verdict::unsure);
    EXPECT_EQ(decide(2.2, 0.5, 2.0, rules).verdict, Verdict::unsure);
    EXPECT_EQ(decide(-4.0, 0.5, 2.0, rules).verdict, Verdict::fail);
    EXPECT_EQ(decide(0.0, 1.5, 2.0, rules).verdict, Verdict::unsure);
    EXPECT_FALSE(can_pass(1.5, 2.0, rules));
    EXPECT_TRUE(can_pass(1.0, 2.0, rules));
}

TEST(Decide, SimpleTakesTheFigureAsItIs) {
    plan::Rules rules;
    rules.decision = plan::Decision::simple;
    EXPECT_EQ(decide(2.0, 5.0, 2.0, rules).verdict, Verdict::pass);
    EXPECT_EQ(decide(2.01, 0.1, 2.0, rules).verdict, Verdict::fail);
}

TEST(Decide, WithoutUncertaintyTheLimitItselfConforms) {
    EXPECT_EQ(probability_of_conformity(2.0, 0.0, 2.0), 1.0);
    EXPECT_EQ(probability_of_conformity(2.1, 0.0, 2.0), 0.0);
}

}  // namespace
}  // namespace proofwalk::verify
