#include "engine/core/errors.h"

#include <gtest/gtest.h>

using namespace undercap;

namespace {

Fault fault_at(const char* file, int line, int column, const char* message) {
  Fault fault;
  fault.place.file = file;
  fault.place.line = line;
  fault.place.column = column;
  fault.message = message;
  return fault;
}

}  // namespace

TEST(Fault, TextHasThePartsThatAreKnown) {
  EXPECT_EQ(fault_at("a.toml", 3, 7, "f_number 0.1 is outside 0.7 to 64").text(),
            "a.toml:3:7: f_number 0.1 is outside 0.7 to 64");
  EXPECT_EQ(fault_at("a.toml", 3, 0, "wrong").text(), "a.toml:3: wrong");
  EXPECT_EQ(fault_at("a.toml", 0, 0, "wrong").text(), "a.toml: wrong");
  EXPECT_EQ(fault_at("", 0, 0, "wrong").text(), "wrong");
  // A column means nothing without its line.
  EXPECT_EQ(fault_at("a.toml", 0, 7, "wrong").text(), "a.toml: wrong");
}

TEST(Refusal, KeepsEveryFaultAndSaysThemLineByLine) {
  const Refusal refusal(std::vector<Fault>{fault_at("a.toml", 3, 7, "one"), fault_at("a.toml", 9, 1, "two")});
  EXPECT_STREQ(refusal.what(), "a.toml:3:7: one\na.toml:9:1: two");
  ASSERT_EQ(refusal.faults().size(), 2U);
  EXPECT_EQ(refusal.faults()[1].place.line, 9);
  EXPECT_EQ(refusal.faults()[1].message, "two");
}

TEST(Refusal, OneMessageIsOneFault) {
  const Refusal refusal("nothing to do");
  EXPECT_STREQ(refusal.what(), "nothing to do");
  EXPECT_EQ(refusal.faults().size(), 1U);
}

// main tells bad input (status 1) from trouble of the machine (status 2) by the type.
TEST(Failures, RefusalAndTroubleAreTold) {
  static_assert(!std::is_base_of_v<Trouble, Refusal> && !std::is_base_of_v<Refusal, Trouble>);
  EXPECT_THROW(throw Trouble("no OpenGL 4.5"), Trouble);
}

TEST(CheckDeathTest, SaysTheRuleAndThePlace) {
  UNDERCAP_CHECK(1 + 1 == 2, "sums are right");
  EXPECT_DEATH(UNDERCAP_CHECK(1 + 1 == 3, "the sum is 3, not 2"),
               "errors_test.cpp:[0-9]+: this must hold but does not: the sum is 3, not 2");
}
