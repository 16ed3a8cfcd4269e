#include "engine/image/exr.h"

#include <ImfChannelList.h>
#include <ImfFrameBuffer.h>
#include <ImfHeader.h>
#include <ImfInputPart.h>
#include <ImfMultiPartInputFile.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <bit>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <limits>

#include "engine/core/errors.h"

using namespace undercap;

namespace {

Picture test_picture(int width, int height, float scale) {
  Picture picture = make_picture(width, height);
  float value = scale;
  for (float& channel : picture.rgb) channel = value = std::fmod(value * 1.7F + 0.013F, 977.0F);
  return picture;
}

std::vector<ExrPart> test_parts() {
  return {{"mix",
           "lx s",
           {{"note", "Füll-Licht \u2013 dämmrig"}, {"undercap", "0.1.0"}},
           test_picture(37, 21, 1)},
          {"sky", "cd/m2", {{"white", "D65"}}, test_picture(37, 21, 2)},
          {"torch 2", "cd/m2", {}, test_picture(37, 21, 3)}};
}

// The bit patterns, so that two values that are not numbers can be equal.
std::vector<std::uint32_t> bits_of(const Picture& picture) {
  std::vector<std::uint32_t> bits;
  for (const float value : picture.rgb) bits.push_back(std::bit_cast<std::uint32_t>(value));
  return bits;
}

}  // namespace

TEST(Exr, RoundTripIsExact) {
  const auto parts = test_parts();
  const auto decoded = decode_exr(encode_exr(parts));
  ASSERT_EQ(decoded.size(), parts.size());
  for (std::size_t i = 0; i < parts.size(); ++i) {
    EXPECT_EQ(decoded[i].name, parts[i].name);
    EXPECT_EQ(decoded[i].units, parts[i].units);
    EXPECT_EQ(decoded[i].texts, parts[i].texts);
    EXPECT_EQ(decoded[i].picture.width, 37);
    EXPECT_EQ(decoded[i].picture.height, 21);
    EXPECT_EQ(bits_of(decoded[i].picture), bits_of(parts[i].picture));
  }
}

// What another program finds: three channels, each by its name, rows from the top, in every part.
TEST(Exr, ChannelsHaveTheirNames) {
  const auto parts = test_parts();
  const auto path =
      std::filesystem::temp_directory_path() / ("undercap_channels_" + std::to_string(getpid()) + ".exr");
  std::ofstream(path, std::ios::binary) << encode_exr(parts);
  Imf::MultiPartInputFile file(path.c_str(), 0);
  ASSERT_EQ(file.parts(), 3);
  for (int number = 0; number < 3; ++number) {
    const Picture& written = parts[static_cast<std::size_t>(number)].picture;
    int count = 0;
    const Imf::ChannelList& channels = file.header(number).channels();
    for (auto at = channels.begin(); at != channels.end(); ++at) ++count;
    EXPECT_EQ(count, 3);
    std::vector<float> plane(37 * 21);
    for (std::size_t channel = 0; channel < 3; ++channel) {
      const char* names[] = {"R", "G", "B"};
      Imf::FrameBuffer buffer;
      buffer.insert(names[channel],
                    Imf::Slice::Make(Imf::FLOAT, plane.data(), file.header(number).dataWindow(),
                                     sizeof(float), 37 * sizeof(float)));
      Imf::InputPart part(file, number);
      part.setFrameBuffer(buffer);
      part.readPixels(0, 20);
      for (std::size_t pixel = 0; pixel < plane.size(); ++pixel)
        ASSERT_EQ(plane[pixel], written.rgb[pixel * 3 + channel]) << names[channel] << " " << pixel;
    }
  }
  std::filesystem::remove(path);
}

TEST(Exr, EveryFloatSurvives) {
  std::vector<ExrPart> parts = {{"mix", "cd/m2", {}, make_picture(2, 1)}};
  parts[0].picture.rgb = {
      std::numeric_limits<float>::denorm_min(), std::numeric_limits<float>::max(),       -0.0F,
      std::numeric_limits<float>::infinity(),   std::numeric_limits<float>::quiet_NaN(), 1e-20F};
  EXPECT_EQ(bits_of(decode_exr(encode_exr(parts))[0].picture), bits_of(parts[0].picture));
}

// OpenEXR file layout: magic 20000630 little-endian, then version 2 with bit 12 for several parts. The header
// attribute chromaticities holds 8 floats: BT.709 red, green, blue x y, D65 x y. Compression is one byte, 3 =
// ZIP.
TEST(Exr, HeaderSaysWhatItHolds) {
  const std::string bytes = encode_exr(test_parts());
  EXPECT_EQ(bytes.substr(0, 8), std::string("\x76\x2F\x31\x01\x02\x10\x00\x00", 8));
  const std::string mark("chromaticities\0chromaticities\0\x20\0\0\0", 34);
  const std::size_t at = bytes.find(mark);
  ASSERT_NE(at, std::string::npos);
  float xy[8];
  std::memcpy(xy, &bytes[at + mark.size()], sizeof xy);
  const float expected[8] = {0.64F, 0.33F, 0.30F, 0.60F, 0.15F, 0.06F, 0.3127F, 0.3290F};
  for (int i = 0; i < 8; ++i) EXPECT_EQ(xy[i], expected[i]);
  EXPECT_NE(bytes.find(std::string("compression\0compression\0\x01\0\0\0\x03", 29)), std::string::npos);
  EXPECT_LT(bytes.find("mix"), bytes.find("torch 2"));
}

TEST(Exr, BytesDependOnTheContentOnly) { EXPECT_EQ(encode_exr(test_parts()), encode_exr(test_parts())); }

TEST(Exr, OnePartIsEnough) {
  const std::vector<ExrPart> parts = {{"mix", "lx s", {}, test_picture(1, 1, 5)}};
  const auto decoded = decode_exr(encode_exr(parts));
  ASSERT_EQ(decoded.size(), 1U);
  EXPECT_EQ(decoded[0].name, "mix");
  EXPECT_EQ(decoded[0].picture.rgb, parts[0].picture.rgb);
}

TEST(Exr, SecondPartOfOneNameIsRefused) {
  auto parts = test_parts();
  parts[2].name = "sky";
  try {
    encode_exr(parts);
    ADD_FAILURE() << "two parts of one name were taken";
  } catch (const Refusal& refusal) {
    EXPECT_STREQ(refusal.what(), "two parts of the EXR are called 'sky'; give the source another name");
  }
}

TEST(Exr, DamagedBytesAreRefused) {
  const std::string bytes = encode_exr(test_parts());
  EXPECT_THROW(decode_exr(""), Refusal);
  EXPECT_THROW(decode_exr("PNG or something else"), Refusal);
  EXPECT_THROW(decode_exr(std::string_view(bytes).substr(0, 100)), Refusal);
  EXPECT_THROW(decode_exr(std::string_view(bytes).substr(0, bytes.size() - 200)), Refusal);
}

// A data window of 65,536 x 65,536 pixels (max = 65,535 in both directions) is refused by its size. A box of
// four ints follows the attribute's name, type and length; every part has one.
TEST(Exr, HugeHeaderIsRefused) {
  const std::vector<ExrPart> parts = {{"mix", "lx s", {}, test_picture(2, 2, 5)}};
  std::string bytes = encode_exr(parts);
  const std::string mark("dataWindow\0box2i\0\x10\0\0\0", 21);
  const std::size_t at = bytes.find(mark);
  ASSERT_NE(at, std::string::npos);
  bytes.replace(at + mark.size() + 8, 8, std::string("\xFF\xFF\x0F\0\x01\0\0\0", 8));
  try {
    decode_exr(bytes);
    ADD_FAILURE() << "1,048,576 x 2 pixels were taken";
  } catch (const Refusal& refusal) {
    EXPECT_NE(std::string(refusal.what()).find("1048576 x 2 pixels is outside the allowed range"),
              std::string::npos)
        << refusal.what();
  }
}

TEST(ExrDeathTest, WrongCallsStop) {
  auto parts = test_parts();
  std::swap(parts[0], parts[1]);
  EXPECT_DEATH(encode_exr(parts), "the first part of an EXR is 'mix'");
  parts = test_parts();
  parts[1].texts = {{"units", "twice"}};
  EXPECT_DEATH(encode_exr(parts), "an attribute of an EXR part has a name of its own, not 'units'");
  parts = test_parts();
  parts[1].picture = test_picture(5, 5, 1);
  EXPECT_DEATH(encode_exr(parts), "part 'sky' has the size of the mix");
}
