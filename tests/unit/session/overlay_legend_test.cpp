#include "engine/session/overlay_legend.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "engine/colour/spaces.h"
#include "tests/unit/image/many_colours.h"

namespace undercap {
namespace {

using Kind = Overlay::Kind;
constexpr Kind drawn[] = {Kind::clipping, Kind::stops, Kind::sharp_zone, Kind::focus_plane};
constexpr int margin_px = 12, sample_px = 16;  // 2 mm and 2.7 mm of 6 pixels each

glm::ivec3 pixel(const Picture8& picture, int x, int y) {
  const std::uint8_t* rgb = &picture.rgb[pixel_index(picture, x, y)];
  return {rgb[0], rgb[1], rgb[2]};
}

// Pixels below the picture that are darker than paper.
int inked(const Picture8& with, int from_row) {
  int count = 0;
  for (int y = from_row; y < with.height; ++y)
    for (int x = 0; x < with.width; ++x) count += pixel(with, x, y).y < 128;
  return count;
}

TEST(OverlaySentence, SaysWhatIsDrawn) {
  EXPECT_EQ(overlay_sentence(Kind::none, 0.015_mm), "");
  EXPECT_EQ(overlay_sentence(Kind::clipping, 0.015_mm),
            "stripes: a channel is clipped in the raw picture; dots: 5 stops and more under mid-grey");
  EXPECT_EQ(overlay_sentence(Kind::stops, 0.015_mm), "stops of luminance from mid-grey at this exposure");
  EXPECT_EQ(overlay_sentence(Kind::sharp_zone, 0.0188_mm),
            "bright: the lens's blur is within the circle of confusion, 0.019 mm on the sensor");
  EXPECT_EQ(overlay_sentence(Kind::focus_plane, 0.015_mm),
            "yellow: where the plane in focus meets what is seen; not the depth of field");
}

// A strip goes below; the picture's own pixels stay as they are, at any width.
TEST(OverlayLegend, LeavesThePictureAlone) {
  const Typeface typeface;
  for (const int width : {16, 240, 997}) {
    const Picture8 picture = many_colours(width, 40);
    EXPECT_EQ(with_legend(picture, Kind::none, 0.015_mm, typeface).rgb, picture.rgb);
    for (const Kind kind : drawn) {
      const Picture8 with = with_legend(picture, kind, 0.015_mm, typeface);
      EXPECT_EQ(with.width, width);
      EXPECT_GE(with.height, picture.height + margin_px + sample_px);
      ASSERT_GE(with.rgb.size(), picture.rgb.size());
      EXPECT_TRUE(std::equal(picture.rgb.begin(), picture.rgb.end(), with.rgb.begin())) << width;
    }
  }
}

// Every strip has its words: black ink where none of the samples is. At 6 pixels a millimetre a letter has
// some tens of dark pixels.
TEST(OverlayLegend, HasASentence) {
  const Typeface typeface;
  for (const Kind kind : drawn) {
    const Picture8 with = with_legend(many_colours(997, 40), kind, 0.015_mm, typeface);
    const int below_samples = 40 + margin_px + (kind == Kind::stops ? sample_px : 0);
    EXPECT_GT(inked(with, below_samples), 300) << static_cast<int>(kind);
  }
}

// The bands stand side by side from the darkest, each a tenth of the width between the margins and of the
// colour that the picture has.
TEST(OverlayLegend, ShowsEachStopsColour) {
  const Typeface typeface;
  const Picture8 with = with_legend(many_colours(240, 40), Kind::stops, 0.015_mm, typeface);
  const int bands = brightest_stop - darkest_stop + 2;
  EXPECT_EQ(bands, 10);
  for (int band = 0; band < bands; ++band) {
    const int x = margin_px + (240 - 2 * margin_px) * (2 * band + 1) / (2 * bands);
    const glm::ivec3 expected = glm::ivec3(stop_colour(band) * 255.f + .5f);
    EXPECT_EQ(pixel(with, x, 40 + margin_px + sample_px / 2), expected) << band;
  }
}

// Orange and black stripes, then the blue dots: the colours that the developing pass draws with.
TEST(OverlayLegend, ShowsStripesAndDots) {
  const Typeface typeface;
  const Picture8 with = with_legend(many_colours(240, 40), Kind::clipping, 0.015_mm, typeface);
  const auto has = [&](int left, const glm::ivec3& colour) {
    for (int y = 0; y < sample_px; ++y)
      for (int x = 0; x < sample_px; ++x)
        if (pixel(with, left + x, 40 + margin_px + y) == colour) return true;
    return false;
  };
  const int dots_left = margin_px + 22;  // a sample and a millimetre on
  EXPECT_TRUE(has(margin_px, {255, 115, 0}));
  EXPECT_FALSE(has(margin_px, {64, 140, 255}));
  EXPECT_TRUE(has(dots_left, {64, 140, 255}));
  EXPECT_FALSE(has(dots_left, {255, 115, 0}));
}

}  // namespace
}  // namespace undercap
