// Pages as files: another program reads the PDF; the PNG shows each picture's own pixels.
#include "engine/report/paint.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <memory>

#include "engine/report/contact_sheet.h"
#include "tests/unit/image/many_colours.h"

namespace undercap {
namespace {

namespace fs = std::filesystem;

struct Close {
  void operator()(std::FILE* file) const { ::pclose(file); }
};

std::string output_of(const std::string& command) {
  const std::unique_ptr<std::FILE, Close> pipe(::popen(command.c_str(), "r"));
  std::string output;
  char block[4096];
  if (!pipe) return output;
  while (const std::size_t count = std::fread(block, 1, sizeof block, pipe.get()))
    output.append(block, count);
  return output;
}

// What a program of poppler-utils says of a PDF.
std::string said_by(const std::string& program, const std::string& pdf) {
  std::string name = (fs::temp_directory_path() / "undercap_sheet_XXXXXX").string();
  const int descriptor = ::mkstemp(name.data());
  if (descriptor < 0) return {};
  std::fclose(::fdopen(descriptor, "w"));
  std::ofstream(name, std::ios::binary) << pdf;
  const std::string output = output_of(program + " '" + name + "' " + (program == "pdftotext" ? "-" : ""));
  fs::remove(name);
  return output;
}

struct Painted {
  Typeface typeface;
  std::vector<Picture8> pictures{many_colours(48, 32), many_colours(48, 32)};
  Page page;

  Painted() {
    ContactSheet sheet{.title = "Two days",
                       .under_title = "Changed: sun. Kept: all else.",
                       .cells = {},
                       .small = {"At the foot."},
                       .caution = "A rendered picture is not a photograph."};
    for (const char* name : {"after rain", "W\xc3\xbcrger \xc2\xb1"})
      sheet.cells.push_back({name, {{"exposure", "1/60 s"}}, 48, 32});
    page = lay_out(sheet, typeface);
  }
};

TEST(Pdf, AnotherProgramReadsItsWords) {
  const Painted painted;
  const std::string pdf = pages_pdf({&painted.page, 1}, painted.pictures, painted.typeface);
  const std::string words = said_by("pdftotext", pdf);
  for (const char* word :
       {"Two days", "Changed: sun. Kept: all else.", "after rain", "W\xc3\xbcrger \xc2\xb1", "exposure",
        "1/60 s", "At the foot.", "A rendered picture is not a photograph."})
    EXPECT_NE(words.find(word), std::string::npos) << word << " in " << words;
  const std::string facts = said_by("pdfinfo", pdf);
  EXPECT_NE(facts.find("Pages:           1\n"), std::string::npos) << facts;
  EXPECT_NE(facts.find("(A4)"), std::string::npos) << facts;
  EXPECT_NE(facts.find("Two days"), std::string::npos) << facts;
  // Every face travels along: the column 'emb' of each line is 'yes'.
  const std::string faces = said_by("pdffonts", pdf);
  EXPECT_NE(faces.find("OpenSans"), std::string::npos) << faces;
  EXPECT_EQ(faces.find(" no "), std::string::npos) << faces;
}

TEST(Pdf, TheSamePageGivesTheSameBytes) {
  const Painted one, other;
  EXPECT_EQ(pages_pdf({&one.page, 1}, one.pictures, one.typeface),
            pages_pdf({&other.page, 1}, other.pictures, other.typeface));
}

TEST(PagePicture, EachPixelOfAPictureIsASquareOfPixels) {
  const Painted painted;
  const double unit = page_pixels_per_mm(painted.page, painted.pictures);
  EXPECT_GE(unit, 6);
  EXPECT_LE(unit, 16);
  const Picture8 whole = page_picture(painted.page, painted.pictures, painted.typeface);
  EXPECT_EQ(whole.width, std::lround(painted.page.width_mm * unit));
  EXPECT_EQ(whole.height, std::lround(painted.page.height_mm * unit));
  EXPECT_EQ(whole.rgb[0], 255);  // paper
  for (const PagePicture& place : painted.page.pictures) {
    const Picture8& picture = painted.pictures[place.picture];
    const double times = place.width_mm * unit / picture.width;
    ASSERT_NEAR(times, std::round(times), 1e-9);
    const int left = static_cast<int>(std::lround(place.x_mm * unit)),
              top = static_cast<int>(std::lround(place.y_mm * unit)),
              side = static_cast<int>(std::lround(times));
    for (int y = 0; y < picture.height * side; ++y)
      for (int x = 0; x < picture.width * side; ++x)
        for (std::size_t c = 0; c < 3; ++c)
          ASSERT_EQ(whole.rgb[pixel_index(whole, left + x, top + y) + c],
                    picture.rgb[pixel_index(picture, x / side, y / side) + c])
              << x << ", " << y;
  }
}

// A picture with more pixels than paper has use for is drawn smaller, and the page stays under 5000 pixels.
TEST(PagePicture, LargePicturesMakeNoEndlessPage) {
  Painted painted;
  painted.pictures = {many_colours(2400, 1600), many_colours(2400, 1600)};
  EXPECT_EQ(page_pixels_per_mm(painted.page, painted.pictures), 16);
  EXPECT_LT(page_picture(painted.page, painted.pictures, painted.typeface).width, 5000);
}

}  // namespace
}  // namespace undercap
