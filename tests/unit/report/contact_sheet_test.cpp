// Where things stand on a sheet: nothing on top of another, nothing off the page.
#include "engine/report/contact_sheet.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "engine/core/errors.h"

namespace undercap {
namespace {

struct Box {
  double left, top, right, bottom;
  std::string what;
};

bool overlap(const Box& a, const Box& b) {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

std::vector<Box> boxes_of(const Page& page, const Typeface& typeface) {
  std::vector<Box> boxes;
  for (const PageText& text : page.texts) {
    const auto ink = typeface.extent(text.text, text.size_mm, text.weight);
    boxes.push_back({text.x_mm + ink.left_mm, text.baseline_mm - ink.above_mm, text.x_mm + ink.right_mm,
                     text.baseline_mm + ink.below_mm, text.text});
  }
  for (const PagePicture& picture : page.pictures)
    boxes.push_back({picture.x_mm, picture.y_mm, picture.x_mm + picture.width_mm,
                     picture.y_mm + picture.height_mm, fmt::format("picture {}", picture.picture)});
  for (const PageRule& rule : page.rules)
    boxes.push_back({rule.x_mm, rule.y_mm, rule.x_mm + rule.width_mm, rule.y_mm + 0.15, "rule"});
  return boxes;
}

ContactSheet sheet_of(std::size_t count, int width, int height, const std::string& name) {
  ContactSheet sheet{.title = "Six days at one log",
                     .under_title = "Changed: sky, sun. Kept: all else.",
                     .cells = {},
                     .small = {"A line at the foot.", "Another, gypj."},
                     .caution = "A rendered picture is not a photograph."};
  for (std::size_t i = 0; i < count; ++i)
    sheet.cells.push_back({fmt::format("{} {}", name, i),
                           {{"light on the subject", "12,300 lx (EV 12.3)"},
                            {"cap : gills", "none: part gills of the subject: too dark to tell from black"},
                            {"subject : backdrop", "+1.2 stops"},
                            {"exposure", "1/125 s at f/11, ISO 200"}},
                           width,
                           height});
  return sheet;
}

class Sheets : public testing::Test {
 protected:
  void expect_clean(const ContactSheet& sheet) {
    const Page page = lay_out(sheet, typeface);
    const auto boxes = boxes_of(page, typeface);
    for (std::size_t a = 0; a < boxes.size(); ++a) {
      const Box& box = boxes[a];
      // Printers leave about 5 mm blank; the margin is 10.
      EXPECT_GE(box.left, 9.5) << box.what;
      EXPECT_GE(box.top, 9.5) << box.what;
      EXPECT_LE(box.right, page.width_mm - 9.5) << box.what;
      EXPECT_LE(box.bottom, page.height_mm - 9.5) << box.what;
      for (std::size_t b = a + 1; b < boxes.size(); ++b)
        EXPECT_FALSE(overlap(box, boxes[b])) << box.what << " and " << boxes[b].what;
    }
    ASSERT_EQ(page.pictures.size(), sheet.cells.size());
    for (std::size_t i = 0; i < page.pictures.size(); ++i) {
      const PagePicture& picture = page.pictures[i];
      EXPECT_EQ(picture.picture, i);
      // One scale for all, across and down.
      const double scale = page.pictures[0].width_mm / sheet.cells[0].width;
      EXPECT_NEAR(picture.width_mm, scale * sheet.cells[i].width, 1e-9);
      EXPECT_NEAR(picture.height_mm, scale * sheet.cells[i].height, 1e-9);
    }
  }

  Typeface typeface;
};

TEST_F(Sheets, NothingOverlapsAndNothingLeavesThePage) {
  for (const auto& [width, height] : {std::pair{480, 320}, {320, 480}, {300, 300}, {1300, 90}, {90, 1300}})
    for (std::size_t count = 1; count <= most_cells; ++count) {
      SCOPED_TRACE(fmt::format("{} pictures of {} x {}", count, width, height));
      expect_clean(sheet_of(count, width, height, "low sun"));
    }
}

TEST_F(Sheets, LongTextsAreCutWithinTheirPlace) {
  const std::string name =
      "low sun from behind through thin caps, later on the second afternoon after rain, once more";
  expect_clean(sheet_of(6, 480, 320, name));
  ContactSheet sheet = sheet_of(12, 480, 320, name);
  for (int i = 0; i < 5; ++i) sheet.title += ", " + name;
  sheet.under_title = sheet.small[0] = sheet.title;
  expect_clean(sheet);
}

TEST_F(Sheets, UnlikePicturesKeepOneScale) {
  ContactSheet sheet = sheet_of(4, 480, 320, "format");
  sheet.cells[1].width = 320;
  sheet.cells[2].height = 480;
  expect_clean(sheet);
}

// A title may have several lines in the file, and a file name any bytes.
TEST_F(Sheets, TextsOfAnyOriginCanBeSet) {
  ContactSheet sheet = sheet_of(2, 480, 320, "day");
  sheet.title = " Two\n\n  lines\t";
  sheet.small[0] = "wood\xff.toml: \x01";
  expect_clean(sheet);
  const Page page = lay_out(sheet, typeface);
  EXPECT_EQ(page.title, "Two lines");
  EXPECT_EQ(page.texts[0].text, "Two lines");
  EXPECT_TRUE(std::any_of(page.texts.begin(), page.texts.end(),
                          [](const PageText& text) { return text.text == "wood\\xff.toml: \\x01"; }));
}

// ISO 216: A4 is 297 x 210 mm, A3 420 x 297 mm.
TEST_F(Sheets, SixPicturesStandOnA4AndTwentyFourOnA3) {
  const Page six = lay_out(sheet_of(6, 480, 320, "day"), typeface);
  EXPECT_EQ(six.width_mm, 297);
  EXPECT_EQ(six.height_mm, 210);
  // Three above three, larger than a 6 x 7 slide is wide.
  EXPECT_EQ(six.pictures[2].y_mm, six.pictures[0].y_mm);
  EXPECT_GT(six.pictures[3].y_mm, six.pictures[0].y_mm);
  EXPECT_GT(six.pictures[0].width_mm, 70);
  EXPECT_EQ(lay_out(sheet_of(24, 480, 320, "day"), typeface).width_mm, 420);
}

// The details stand below their pictures or beside them, at the pictures' width; boxes lie on the pictures.
TEST_F(Sheets, DetailsStandByTheirPictures) {
  for (const std::size_t count : {1u, 3u, 4u, 7u, 12u}) {
    SCOPED_TRACE(count);
    ContactSheet sheet = sheet_of(count, 480, 320, "f/8");
    for (SheetCell& cell : sheet.cells) {
      cell.box = {0.25f, 0.5f, 0.1f, 0.2f};
      cell.detail_width = 240;
      cell.detail_height = 160;
    }
    sheet.spoken = {"A line to be said aloud.", "And another."};
    const Page page = lay_out(sheet, typeface);
    const auto boxes = boxes_of(page, typeface);
    for (std::size_t a = 0; a < boxes.size(); ++a) {
      EXPECT_LE(boxes[a].bottom, page.height_mm - 9.5) << boxes[a].what;
      EXPECT_LE(boxes[a].right, page.width_mm - 9.5) << boxes[a].what;
      for (std::size_t b = a + 1; b < boxes.size(); ++b)
        EXPECT_FALSE(overlap(boxes[a], boxes[b])) << boxes[a].what << " and " << boxes[b].what;
    }
    ASSERT_EQ(page.pictures.size(), 2 * count);
    ASSERT_EQ(page.boxes.size(), count);
    for (std::size_t i = 0; i < count; ++i) {
      const PagePicture &picture = page.pictures[i], &detail = page.pictures[count + i];
      EXPECT_EQ(detail.picture, count + i);
      EXPECT_NEAR(detail.width_mm, picture.width_mm, 1e-9);
      EXPECT_NEAR(detail.height_mm, picture.width_mm * 160 / 240, 1e-9);
      EXPECT_NEAR(detail.y_mm > picture.y_mm ? detail.x_mm - picture.x_mm : detail.y_mm - picture.y_mm, 0,
                  1e-9);
      EXPECT_NEAR(page.boxes[i].x_mm, picture.x_mm + 0.25 * picture.width_mm, 1e-5);
      EXPECT_NEAR(page.boxes[i].y_mm, picture.y_mm + 0.5 * picture.height_mm, 1e-5);
    }
  }
}

// A slide is 16 by 9, and no letter on it is smaller than 1/25 of its height.
TEST_F(Sheets, SlidesHaveLargeLettersOrAreRefused) {
  ContactSheet sheet = sheet_of(3, 480, 320, "f/8");
  for (SheetCell& cell : sheet.cells) cell.rows = {{"zone", "12 mm"}, {"blur", "2, 1, 2"}};
  sheet.small.clear();
  sheet.paper = SheetPaper::slide;
  const Page page = lay_out(sheet, typeface);
  EXPECT_NEAR(page.width_mm / page.height_mm, 16. / 9, 1e-3);
  for (const PageText& text : page.texts) EXPECT_GE(text.size_mm, page.height_mm / 25) << text.text;
  ContactSheet many = sheet_of(30, 480, 320, "f/8");
  many.paper = SheetPaper::slide;
  EXPECT_THROW(lay_out(many, typeface), Refusal);
}

// ANSI/ASME Y14.1, size A: 11 x 8.5 inches.
TEST_F(Sheets, LetterIsElevenInchesWide) {
  ContactSheet sheet = sheet_of(4, 480, 320, "f/8");
  sheet.paper = SheetPaper::letter;
  EXPECT_NEAR(lay_out(sheet, typeface).width_mm, 11 * 25.4, 1e-9);
  EXPECT_NEAR(lay_out(sheet, typeface).height_mm, 8.5 * 25.4, 1e-9);
}

// Most pictures and a figure: the figure goes, the pictures stay.
TEST_F(Sheets, ManyPicturesLeaveNoRoomForTheFigure) {
  ContactSheet sheet = sheet_of(most_cells, 480, 320, "f/8");
  for (SheetCell& cell : sheet.cells) cell.rows.resize(3);
  sheet.figure_aspect = 0.2;
  const Page page = lay_out(sheet, typeface);
  EXPECT_EQ(page.pictures.size(), most_cells);
  for (const PagePicture& picture : page.pictures) EXPECT_GT(picture.width_mm, 35);
  sheet.cells.resize(4);
  EXPECT_EQ(lay_out(sheet, typeface).pictures.size(), 5u);
}

// A cut never splits a letter: what is left is the beginning of the text and an ellipsis.
TEST_F(Sheets, ATextIsCutBetweenLetters) {
  const std::string text = "\xc3\x84\xc3\x96\xc3\x9c \xd0\xb6\xd0\xb6 caps";
  for (double width = 0; width < 40; width += 0.5) {
    const std::string cut = typeface.fitted(text, 5, Weight::bold, width);
    if (cut == text || cut.empty()) continue;
    ASSERT_TRUE(cut.ends_with("\xe2\x80\xa6")) << cut;
    const std::string beginning = cut.substr(0, cut.size() - 3);
    EXPECT_TRUE(text.starts_with(beginning)) << cut;
    EXPECT_NE(static_cast<unsigned char>(text[beginning.size()]) & 0xC0, 0x80) << cut;
    EXPECT_LE(typeface.extent(cut, 5, Weight::bold).width_mm, width);
  }
}

// Type is set without hints: twice the size is twice the width.
TEST_F(Sheets, WidthsGrowWithTheSize) {
  const auto one = typeface.extent("subject : backdrop", 3, Weight::regular),
             two = typeface.extent("subject : backdrop", 6, Weight::regular);
  EXPECT_GT(one.width_mm, 0);
  EXPECT_NEAR(two.width_mm, 2 * one.width_mm, 1e-9);
  EXPECT_GT(typeface.extent("subject : backdrop", 3, Weight::bold).width_mm, one.width_mm);
}

}  // namespace
}  // namespace undercap
