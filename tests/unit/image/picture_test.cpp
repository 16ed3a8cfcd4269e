#include "engine/image/picture.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "engine/core/errors.h"
#include "engine/image/compare.h"

using namespace undercap;

TEST(Picture, StartsBlackAndWhole) {
  const Picture picture = make_picture(3, 2);
  EXPECT_TRUE(is_whole(picture));
  EXPECT_EQ(picture.rgb, std::vector<float>(18, 0.0F));
}

TEST(Picture, RowZeroComesFirstAndChannelsAreTogether) {
  const Picture picture = make_picture(5, 4);
  EXPECT_EQ(pixel_index(picture, 0, 0), 0U);
  EXPECT_EQ(pixel_index(picture, 1, 0), 3U);
  EXPECT_EQ(pixel_index(picture, 0, 1), 15U);
  EXPECT_EQ(pixel_index(picture, 4, 3), 57U);
}

TEST(Picture, SizesOutsideTheRangeAreRefusedBeforeAllocation) {
  // 65,536 squared floats would be 51 GB: a test that allocated them would not end well.
  for (const auto& [width, height] :
       {std::pair{0, 5}, {5, -1}, {65'537, 1}, {65'536, 65'536}, {2'147'483'647, 1}}) {
    try {
      make_picture(width, height);
      ADD_FAILURE() << width << " x " << height << " was taken";
    } catch (const Refusal& refusal) {
      EXPECT_NE(std::string(refusal.what()).find(std::to_string(width) + " x " + std::to_string(height)),
                std::string::npos);
      EXPECT_NE(std::string(refusal.what()).find("1 to 65536 pixels on a side"), std::string::npos);
    }
  }
  EXPECT_NO_THROW(check_picture_size(16'384, 16'384));
  EXPECT_THROW(check_picture_size(16'384, 16'385), Refusal);
}

TEST(Picture, WholeMeansThatTheNumbersAgree) {
  EXPECT_FALSE(is_whole(Picture{}));
  EXPECT_FALSE((is_whole(Picture{2, 2, std::vector<float>(11)})));
  EXPECT_TRUE((is_whole(Picture8{2, 2, std::vector<std::uint8_t>(12)})));
}

TEST(Compare, EqualPicturesDoNotDiffer) {
  Picture picture = make_picture(2, 2);
  picture.rgb[0] = std::numeric_limits<float>::infinity();
  const Difference difference = compare(picture, picture, 0);
  EXPECT_EQ(difference.rmse, 0);
  EXPECT_EQ(difference.largest, 0);
  EXPECT_EQ(difference.failing_share, 0);
}

// Two of twelve channels differ, by 3 and by 4, in two of four pixels: rmse = sqrt((9 + 16) / 12).
TEST(Compare, GivesTheThreeFigures) {
  const Picture one = make_picture(2, 2);
  Picture other = one;
  other.rgb[1] = 3;
  other.rgb[11] = -4;
  const Difference difference = compare(one, other, 3);
  EXPECT_DOUBLE_EQ(difference.rmse, std::sqrt(25.0 / 12.0));
  EXPECT_EQ(difference.largest, 4);
  EXPECT_EQ(difference.failing_share, 0.25);  // 3 is not more than the tolerance of 3
  EXPECT_EQ(compare(one, other, 2.999).failing_share, 0.5);
}

TEST(Compare, EightBitsDoNotWrapAround) {
  const Picture8 one{1, 1, {0, 255, 10}};
  const Picture8 other{1, 1, {255, 0, 10}};
  EXPECT_EQ(compare(one, other, 254).largest, 255);
  EXPECT_EQ(compare(one, other, 254).failing_share, 1);
}

TEST(Compare, WhatIsNotANumberFails) {
  Picture one = make_picture(1, 1);
  one.rgb[2] = std::numeric_limits<float>::quiet_NaN();
  const Difference difference = compare(one, one, 1e9);
  EXPECT_EQ(difference.failing_share, 1);
  EXPECT_TRUE(std::isinf(difference.largest));
}

TEST(CompareDeathTest, SizesMustAgree) {
  EXPECT_DEATH(compare(make_picture(2, 3), make_picture(3, 2), 0), "compared pictures have one size");
}
