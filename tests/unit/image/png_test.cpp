#include "engine/image/png.h"

#include <gtest/gtest.h>

#include <cstring>

#include "engine/core/errors.h"

using namespace undercap;

namespace {

Picture8 test_picture(int width, int height) {
  Picture8 picture = make_picture8(width, height);
  std::uint32_t state = 7;
  for (std::uint8_t& value : picture.rgb) {
    state = state * 1664525U + 1013904223U;
    value = static_cast<std::uint8_t>(state >> 24U);
  }
  return picture;
}

std::uint32_t big_endian(std::string_view bytes, std::size_t at) {
  std::uint32_t number = 0;
  for (std::size_t i = 0; i < 4; ++i) number = number << 8U | static_cast<unsigned char>(bytes[at + i]);
  return number;
}

struct Chunk {
  std::string name;
  std::string data;
};

// The chunks as PNG 1.2, section 5.3 lays them out: length, name, data, CRC; after a signature of 8 bytes.
std::vector<Chunk> chunks_of(std::string_view bytes) {
  std::vector<Chunk> chunks;
  for (std::size_t at = 8; at + 12 <= bytes.size();) {
    const std::size_t length = big_endian(bytes, at);
    chunks.push_back({std::string(bytes.substr(at + 4, 4)), std::string(bytes.substr(at + 8, length))});
    at += 12 + length;
  }
  return chunks;
}

std::string data_of(const std::vector<Chunk>& chunks, const std::string& name) {
  for (const Chunk& chunk : chunks)
    if (chunk.name == name) return chunk.data;
  return "absent";
}

std::string refusal_of(std::string_view bytes) {
  try {
    decode_png(bytes);
  } catch (const Refusal& refusal) {
    return refusal.what();
  }
  return "";
}

}  // namespace

TEST(Png, RoundTripIsExact) {
  for (const auto& [width, height] : {std::pair{1, 1}, {7, 5}, {64, 33}}) {
    const Picture8 picture = test_picture(width, height);
    const DecodedPng decoded = decode_png(encode_png(picture, {}));
    EXPECT_EQ(decoded.picture.width, width);
    EXPECT_EQ(decoded.picture.height, height);
    EXPECT_EQ(decoded.picture.rgb, picture.rgb);
  }
}

// PNG 1.2: 11.3.3.5 (sRGB: one byte, 0 = perceptual) and its table for gAMA (45455) and cHRM beside it.
TEST(Png, IsMarkedAsSrgb) {
  const std::string bytes = encode_png(test_picture(3, 2), {});
  const auto chunks = chunks_of(bytes);
  EXPECT_EQ(data_of(chunks, "sRGB"), std::string(1, '\0'));
  EXPECT_EQ(big_endian(data_of(chunks, "gAMA"), 0), 45'455U);
  EXPECT_EQ(big_endian(data_of(chunks, "cHRM"), 0), 31'270U);
  EXPECT_EQ(data_of(chunks, "IHDR"), std::string("\0\0\0\3\0\0\0\2\10\2\0\0\0", 13));
  EXPECT_EQ(data_of(chunks, "tIME"), "absent");
  EXPECT_TRUE(decode_png(bytes).is_srgb);
}

TEST(Png, TextsTravelAsUtf8) {
  const std::vector<PictureText> texts = {{"Title", "Schirmling, 3 Stück \u2013 f/2.8 \U0001F344"},
                                          {"undercap scene", "undercap = 1\n\n# Füll-Licht\ntitle = \"x\"\n"},
                                          {"Comment", ""}};
  const std::string bytes = encode_png(test_picture(4, 4), texts);
  EXPECT_EQ(decode_png(bytes).texts, texts);
  // iTXt (11.3.4.5): keyword, 0, uncompressed, method 0, no language, no translated keyword, text.
  EXPECT_EQ(data_of(chunks_of(bytes), "iTXt"), std::string("Title\0\0\0\0\0", 10) + texts[0].second);
}

TEST(Png, LongTextsSurvive) {
  const std::vector<PictureText> texts = {{"scene", std::string(3'000'000, 'x')}};
  EXPECT_EQ(decode_png(encode_png(test_picture(1, 1), texts)).texts, texts);
}

TEST(Png, BytesDependOnTheContentOnly) {
  const std::vector<PictureText> texts = {{"scene", "undercap = 1"}};
  EXPECT_EQ(encode_png(test_picture(40, 30), texts), encode_png(test_picture(40, 30), texts));
  EXPECT_NE(encode_png(test_picture(40, 30), texts), encode_png(test_picture(40, 31), texts));
}

TEST(Png, TextThatIsNotUtf8IsRefused) {
  // Latin-1 e acute, an overlong slash, a surrogate, above U+10FFFF, cut short, a zero byte.
  for (const std::string& text :
       {std::string("caf\xE9"), std::string("\xC0\xAF"), std::string("\xED\xA0\x80"),
        std::string("\xF4\x90\x80\x80"), std::string("\xE2\x82"), std::string("a\0b", 3)}) {
    const std::vector<PictureText> texts = {{"note", text}};
    EXPECT_THROW(encode_png(test_picture(1, 1), texts), Refusal);
  }
}

TEST(Png, DamagedBytesAreRefused) {
  const std::string bytes = encode_png(test_picture(20, 20), {});
  EXPECT_NE(refusal_of("").find("ends too early"), std::string::npos);
  EXPECT_NE(refusal_of("GIF89a, which is another format").find("not a PNG"), std::string::npos);
  EXPECT_NE(refusal_of(std::string_view(bytes).substr(0, bytes.size() / 2)).find("ends too early"),
            std::string::npos);
  std::string flipped = bytes;
  flipped[bytes.size() / 2] = static_cast<char>(flipped[bytes.size() / 2] ^ 0x10);
  EXPECT_NE(refusal_of(flipped), "");
}

// A header that claims 900,000 x 900,000 pixels is refused by its size, before 2.4 TB are asked for. The CRC
// of the changed header is computed here by the polynomial of PNG 1.2, annex D.
TEST(Png, HugeHeaderIsRefused) {
  std::string bytes = encode_png(test_picture(2, 2), {});
  const std::string side("\x00\x0D\xBB\xA0", 4);
  bytes.replace(16, 4, side).replace(20, 4, side);
  std::uint32_t crc = 0xFFFFFFFFU;
  for (std::size_t at = 12; at < 29; ++at) {
    crc ^= static_cast<unsigned char>(bytes[at]);
    for (int bit = 0; bit < 8; ++bit) crc = (crc & 1U) != 0 ? 0xEDB88320U ^ (crc >> 1U) : crc >> 1U;
  }
  crc = ~crc;
  for (std::size_t i = 0; i < 4; ++i) bytes[29 + i] = static_cast<char>(crc >> (24U - 8U * i));
  EXPECT_NE(refusal_of(bytes).find("900000 x 900000 pixels is outside the allowed range"), std::string::npos)
      << refusal_of(bytes);
}

TEST(PngDeathTest, WrongCallsStop) {
  EXPECT_DEATH(encode_png(Picture8{2, 2, std::vector<std::uint8_t>(3)}, {}), "2 x 2 pixels need their bytes");
  const std::vector<PictureText> texts = {{" note", "blank in front"}};
  EXPECT_DEATH(encode_png(test_picture(1, 1), texts), "a PNG keyword is 1 to 79 printable characters");
}
