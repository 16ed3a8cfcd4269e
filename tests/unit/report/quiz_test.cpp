// A sheet asked as a question gives nothing away, and its answers fit.
#include "engine/report/quiz.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>

namespace undercap {
namespace {

ContactSheet sheet_of(std::size_t count, bool details) {
  ContactSheet sheet{.title = "Depth",
                     .under_title = "Changed: f-number. Kept: all else.",
                     .cells = {},
                     .small = {"90 mm, f/4 to f/16.", "Undercap."},
                     .caution = "A rendered picture is not a photograph."};
  for (std::size_t i = 0; i < count; ++i) {
    SheetCell cell{
        .name = fmt::format("f/{}", 2 << i), .rows = {{"zone", "12 mm"}}, .width = 48, .height = 32};
    if (details) {
      cell.box = {0.4f, 0.4f, 0.2f, 0.2f};
      cell.detail_width = 24;
      cell.detail_height = 16;
    }
    sheet.cells.push_back(cell);
  }
  return sheet;
}

std::vector<std::string> texts_of(const Page& page) {
  std::vector<std::string> texts;
  for (const PageText& text : page.texts) texts.push_back(text.text);
  return texts;
}

TEST(Quiz, TheOrderIsAPermutationAndNotTheSheetsOwn) {
  for (unsigned seed = 1; seed < 50; ++seed)
    for (std::size_t count = 3; count < 10; ++count) {
      std::vector<std::size_t> order = quiz_order(count, seed);
      EXPECT_EQ(order, quiz_order(count, seed));
      EXPECT_FALSE(std::is_sorted(order.begin(), order.end()));
      std::sort(order.begin(), order.end());
      for (std::size_t i = 0; i < count; ++i) EXPECT_EQ(order[i], i);
    }
}

TEST(Quiz, TheQuestionHasNoNamesAndItsPicturesAreThoseOfTheAnswers) {
  const Typeface typeface;
  for (const bool details : {false, true}) {
    const std::vector<Page> pages = quiz_pages(sheet_of(4, details), 3, typeface);
    ASSERT_EQ(pages.size(), 2u);
    const std::vector<std::string> question = texts_of(pages[0]), answer = texts_of(pages[1]);
    EXPECT_EQ(std::count(question.begin(), question.end(), "zone"), 0);
    EXPECT_EQ(std::count(question.begin(), question.end(), "f/4"), 0);
    EXPECT_EQ(std::count(question.begin(), question.end(), "90 mm, f/4 to f/16."), 0);
    const std::vector<std::size_t> order = quiz_order(4, 3);
    for (std::size_t k = 0; k < 4; ++k) {
      // Picture k of the question is the one that the answers call by its letter.
      EXPECT_EQ(pages[0].pictures[k].picture, order[k]);
      if (details) {
        EXPECT_EQ(pages[0].pictures[4 + k].picture, 4 + order[k]);
      }
      const std::string name = fmt::format("{}: f/{}", quiz_letter(k), 2 << order[k]);
      EXPECT_EQ(std::count(answer.begin(), answer.end(), name), 1) << name;
    }
  }
}

TEST(Quiz, LettersGoOnAfterZ) {
  EXPECT_EQ(quiz_letter(0), "A");
  EXPECT_EQ(quiz_letter(25), "Z");
  EXPECT_EQ(quiz_letter(26), "AA");
  EXPECT_EQ(quiz_letter(35), "AJ");
}

}  // namespace
}  // namespace undercap
