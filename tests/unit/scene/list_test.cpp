// Lists of numbers and of rows of numbers: what may stand, what is told, what the builder gets.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include "engine/scene/read.h"

namespace undercap {
namespace {

const ListShape numbers{{{"leaf", 1, 900, true}}, 0, 4};
const ListShape corners{{{"x_m", -1, 1}, {"y_m", -1, 1}}, 3, 100};

// What is wrong with a value, or the rows it gives as text.
std::string outcome(const ListShape& shape, const std::string& value) {
  const Document document = parse_document("v = " + value + "\n", "wood.toml");
  const KeyRow row{.name = "v", .type = ValueType::list, .list = &shape};
  const FileNode& node = document.root.entries[0].value;
  if (auto fault = fault_of_value(document, row, "prop.leaves.v", node)) return *fault;
  std::string text;
  const Rows rows = std::get<Rows>(kind_value(row, node));
  for (const auto& one : rows) {
    text += '[';
    for (const double number : one) text += fmt::format("{:f}", number).substr(0, 4) + " ";
    text += ']';
  }
  return text;
}

TEST(List, GivesItsRows) {
  EXPECT_EQ(outcome(numbers, "[]"), "");
  EXPECT_EQ(outcome(numbers, "[1, 900, 12.0]"), "[1.00 ][900. ][12.0 ]");
  EXPECT_EQ(outcome(corners, "[]"), "");
  EXPECT_EQ(outcome(corners, "[[0, 0], [1, 0.5], [-1, 1]]"), "[0.00 0.00 ][1.00 0.50 ][-1.0 1.00 ]");
}

TEST(List, TellsTheFirstBadItemAndWhatIsAllowed) {
  const std::string one_column = "; allowed: a list of whole numbers, each from 1 to 900, 4 at most";
  EXPECT_EQ(outcome(numbers, "7"), "prop.leaves.v is 7" + one_column);
  EXPECT_EQ(outcome(numbers, "[3, 0]"), "prop.leaves.v is [3, 0], where item 2 is 0" + one_column);
  EXPECT_EQ(outcome(numbers, "[3.5]"), "prop.leaves.v is [3.5], where item 1 is 3.5" + one_column);
  EXPECT_EQ(outcome(numbers, "[nan]"), "prop.leaves.v is [nan], where item 1 is nan" + one_column);
  EXPECT_EQ(outcome(numbers, "[[3]]"), "prop.leaves.v is [[3]], where item 1 is [3]" + one_column);
  EXPECT_EQ(outcome(numbers, "[1, 2, 3, 4, 5]"), "prop.leaves.v is [1, 2, 3, 4, 5], 5 long" + one_column);
  const std::string rows = "; allowed: a list of rows [x_m -1 to 1, y_m -1 to 1], 3 at least or none";
  EXPECT_EQ(outcome(corners, "[[0, 0], [1, 0]]"), "prop.leaves.v is [[0, 0], [1, 0]], 2 long" + rows);
  EXPECT_EQ(outcome(corners, "[[0, 0], [1, 2], [0, 1]]"),
            "prop.leaves.v is [[0, 0], [1, 2], [0, 1]], where item 2 is [1, 2]" + rows);
  EXPECT_EQ(outcome(corners, "[[0, 0], [1], [0, 1]]"),
            "prop.leaves.v is [[0, 0], [1], [0, 1]], where item 2 is [1]" + rows);
  EXPECT_EQ(outcome(corners, "[0, 0, 1]"), "prop.leaves.v is [0, 0, 1], where item 1 is 0" + rows);
}

}  // namespace
}  // namespace undercap
