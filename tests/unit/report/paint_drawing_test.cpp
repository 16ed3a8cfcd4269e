// Drawings as files: another program reads the PDF; the SVG holds vectors; the PNG has ink where the drawing
// has.
#include "engine/report/paint_drawing.h"

#include <gtest/gtest.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <memory>

#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/image/png.h"
#include "tests/unit/report/small_set.h"

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

class Folder {
 public:
  Folder() : path_((fs::temp_directory_path() / "undercap_drawing_XXXXXX").string()) {
    EXPECT_NE(::mkdtemp(path_.data()), nullptr);
  }
  ~Folder() { fs::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  fs::path file(const char* name) const { return fs::path(path_) / name; }

 private:
  std::string path_;
};

DrawingSheet sheet() {
  const World world = small_set(
      "[[prop]]\nname = \"ball\"\nkind = \"sphere\"\ndiameter_mm = 60\nat_m = [0, 0]\n"
      "[[source]]\nname = \"torch\"\nkind = \"torch\"\nposition_m = [-0.3, -0.4, 0.05]\naim = [0, 0, "
      "0.05]\nintensity_cd = 100\n");
  DrawingSheet made = set_sheet(world);
  made.title = "A ball";
  return made;
}

TEST(DrawingPdf, IsOnePageWithItsWords) {
  const Folder folder;
  const fs::path file = folder.file("set.pdf");
  write_drawing(sheet(), file, false);
  const std::string facts = output_of(fmt::format("pdfinfo '{}'", file.string()));
  EXPECT_NE(facts.find("Pages:           1\n"), std::string::npos) << facts;
  EXPECT_NE(facts.find("(A4)"), std::string::npos) << facts;
  EXPECT_NE(facts.find("A ball"), std::string::npos) << facts;
  const std::string words = output_of(fmt::format("pdftotext -layout '{}' -", file.string()));
  for (const char* word : {"Plan, from above, 1:", "Elevation, from the right, 1:", "From the source: torch",
                           "50 cm", "400 lx", "100 %", "plane in focus", "20 cm"})
    EXPECT_NE(words.find(word), std::string::npos) << word << " in " << words;
  const std::string faces = output_of(fmt::format("pdffonts '{}'", file.string()));
  EXPECT_NE(faces.find("OpenSans"), std::string::npos) << faces;
}

TEST(DrawingFiles, TheSameSheetGivesTheSameBytes) {
  const Typeface typeface;
  EXPECT_TRUE(sheet_pdf(sheet(), typeface) == sheet_pdf(sheet(), typeface));
  EXPECT_TRUE(sheet_svg(sheet(), typeface) == sheet_svg(sheet(), typeface));
}

TEST(DrawingFiles, EndInWhatTheyAre) {
  const Folder folder;
  write_drawing(sheet(), folder.file("set.svg"), false);
  EXPECT_NE(read_file(folder.file("set.svg")).find("<svg"), std::string::npos);
  write_drawing(sheet(), folder.file("set.png"), false);
  const Picture8 picture = decode_png(read_file(folder.file("set.png"))).picture;
  EXPECT_EQ(picture.width, 2339);  // 297 mm at 200 an inch
  EXPECT_EQ(picture.height, 1654);
  EXPECT_THROW(write_drawing(sheet(), folder.file("set.doc"), false), Refusal);
  EXPECT_THROW(write_drawing(sheet(), folder.file("set.png"), false), Refusal);
  EXPECT_NO_THROW(write_drawing(sheet(), folder.file("set.png"), true));
}

// No ink has a hue, so that a printer without colours loses nothing; a line is black where it runs and the
// paper white beside it. A line of 0.35 mm is 2.8 pixels wide: its middle row is whole ink.
TEST(DrawingPicture, IsBlackOnWhite) {
  DrawingSheet one{.title = "line", .drawings = {}, .place_mm = {{20, 30}}, .texts = {}};
  one.drawings.push_back({.width_mm = 100, .height_mm = 50});
  one.drawings[0].add_line(Pen::subject, {10, 20}, {90, 20});
  one.drawings[0].add(Pen::beam, Circle{.centre_mm = {50, 40}, .radius_mm = 5});
  const Typeface typeface;
  const Picture8 picture = sheet_picture(one, typeface);
  for (std::size_t i = 0; i < picture.rgb.size(); i += 3) {
    ASSERT_EQ(picture.rgb[i], picture.rgb[i + 1]);
    ASSERT_EQ(picture.rgb[i], picture.rgb[i + 2]);
  }
  const auto grey = [&](double x_mm, double y_mm) {
    return int{picture.rgb[pixel_index(picture, static_cast<int>(x_mm * 200 / 25.4),
                                       static_cast<int>(y_mm * 200 / 25.4))]};
  };
  EXPECT_EQ(grey(70, 50), 0);
  EXPECT_EQ(grey(70, 55), 255);
  EXPECT_EQ(grey(25, 50), 255);  // before the line begins
}

}  // namespace
}  // namespace undercap
