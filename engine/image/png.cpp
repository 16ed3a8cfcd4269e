#include "engine/image/png.h"

#include <fmt/format.h>
#include <png.h>

#include <algorithm>
#include <cstdio>
#include <cstring>

#include "engine/core/errors.h"

// libpng reports an error by a long jump out of its own calls. Every function below that calls it after
// setjmp therefore holds plain values only; what owns memory lives in the caller.

namespace undercap {
namespace {

constexpr std::size_t message_size = 200;

struct ErrorText {
  char text[message_size] = "";
};

void on_error(png_structp png, png_const_charp message) {
  auto* error = static_cast<ErrorText*>(png_get_error_ptr(png));
  std::snprintf(error->text, message_size, "%s", message);
  png_longjmp(png, 1);
}

// A warning changes nothing in the picture and is not for the user.
void on_warning(png_structp, png_const_charp) {}

void append(png_structp png, png_bytep data, png_size_t size) {
  bool done = true;
  try {
    static_cast<std::string*>(png_get_io_ptr(png))->append(reinterpret_cast<const char*>(data), size);
  } catch (const std::exception&) {
    done = false;
  }
  if (!done) png_error(png, "not enough memory");
}

void flush_nothing(png_structp) {}

void take(png_structp png, png_bytep data, png_size_t size) {
  auto* rest = static_cast<std::string_view*>(png_get_io_ptr(png));
  if (rest->size() < size) png_error(png, "the file ends too early");
  std::memcpy(data, rest->data(), size);
  rest->remove_prefix(size);
}

struct WriteHandle {
  ErrorText error;
  png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, &error, on_error, on_warning);
  png_infop info = png != nullptr ? png_create_info_struct(png) : nullptr;
  WriteHandle() = default;
  WriteHandle(const WriteHandle&) = delete;
  WriteHandle& operator=(const WriteHandle&) = delete;
  ~WriteHandle() { png_destroy_write_struct(&png, &info); }
};

struct ReadHandle {
  ErrorText error;
  png_structp png = png_create_read_struct(PNG_LIBPNG_VER_STRING, &error, on_error, on_warning);
  png_infop info = png != nullptr ? png_create_info_struct(png) : nullptr;
  ReadHandle() = default;
  ReadHandle(const ReadHandle&) = delete;
  ReadHandle& operator=(const ReadHandle&) = delete;
  ~ReadHandle() { png_destroy_read_struct(&png, &info, nullptr); }
};

// RFC 3629, section 4: no overlong forms, no surrogates, nothing above U+10FFFF.
bool is_utf8(std::string_view text) {
  const auto byte = [&](std::size_t at) { return static_cast<unsigned char>(text[at]); };
  for (std::size_t at = 0; at < text.size();) {
    const unsigned lead = byte(at);
    const std::size_t length = lead < 0x80   ? 1
                               : lead < 0xC2 ? 0
                               : lead < 0xE0 ? 2
                               : lead < 0xF0 ? 3
                               : lead < 0xF5 ? 4
                                             : 0;
    if (length == 0 || at + length > text.size()) return false;
    for (std::size_t next = 1; next < length; ++next)
      if ((byte(at + next) & 0xC0) != 0x80) return false;
    if (lead == 0xE0 && byte(at + 1) < 0xA0) return false;
    if (lead == 0xED && byte(at + 1) > 0x9F) return false;
    if (lead == 0xF0 && byte(at + 1) < 0x90) return false;
    if (lead == 0xF4 && byte(at + 1) > 0x8F) return false;
    at += length;
  }
  return true;
}

bool is_keyword(std::string_view keyword) {
  return !keyword.empty() && keyword.size() <= 79 && keyword.front() != ' ' && keyword.back() != ' ' &&
         keyword.find("  ") == std::string_view::npos &&
         std::all_of(keyword.begin(), keyword.end(), [](char c) { return c >= ' ' && c <= '~'; });
}

png_text text_chunk(const PictureText& entry) {
  const auto& [keyword, text] = entry;
  UNDERCAP_CHECK(is_keyword(keyword),
                 fmt::format("a PNG keyword is 1 to 79 printable characters, not '{}'", keyword));
  if (text.find('\0') != std::string::npos || !is_utf8(text))
    throw Refusal(fmt::format(
        "the text '{}' for the picture is not UTF-8; save it as UTF-8 without zero bytes", keyword));
  png_text chunk{};
  chunk.compression = PNG_ITXT_COMPRESSION_NONE;
  // libpng copies keyword and text and changes neither.
  chunk.key = const_cast<char*>(keyword.c_str());
  chunk.text = const_cast<char*>(text.c_str());
  chunk.itxt_length = text.size();
  return chunk;
}

bool write_picture(png_structp png, png_infop info, const Picture8& picture,
                   const std::vector<png_text>& chunks) {
  if (setjmp(png_jmpbuf(png)) != 0) return false;
  png_set_compression_level(png, 6);
  png_set_IHDR(png, info, static_cast<png_uint_32>(picture.width), static_cast<png_uint_32>(picture.height),
               8, PNG_COLOR_TYPE_RGB, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
               PNG_FILTER_TYPE_DEFAULT);
  png_set_sRGB_gAMA_and_cHRM(png, info, PNG_sRGB_INTENT_PERCEPTUAL);
  if (!chunks.empty()) png_set_text(png, info, chunks.data(), static_cast<int>(chunks.size()));
  png_write_info(png, info);
  for (int row = 0; row < picture.height; ++row)
    png_write_row(png, &picture.rgb[pixel_index(picture, 0, row)]);
  png_write_end(png, info);
  return true;
}

struct Header {
  png_uint_32 width = 0;
  png_uint_32 height = 0;
};

bool read_header(png_structp png, png_infop info, Header& header) {
  if (setjmp(png_jmpbuf(png)) != 0) return false;
  // One text may be as large as a scene file, 8 MB; libpng's own limit is for untrusted web pages.
  png_set_chunk_malloc_max(png, 8'000'000);
  png_read_info(png, info);
  header.width = png_get_image_width(png, info);
  header.height = png_get_image_height(png, info);
  return true;
}

bool read_pixels(png_structp png, png_infop info, const std::vector<png_bytep>& rows, std::size_t row_size) {
  if (setjmp(png_jmpbuf(png)) != 0) return false;
  png_set_expand(png);
  png_set_strip_16(png);
  png_set_strip_alpha(png);
  png_set_gray_to_rgb(png);
  png_set_interlace_handling(png);
  png_read_update_info(png, info);
  if (png_get_rowbytes(png, info) != row_size) png_error(png, "its rows have an unexpected size");
  png_read_image(png, const_cast<png_bytepp>(rows.data()));
  png_read_end(png, info);
  return true;
}

Refusal damaged(const ErrorText& error) {
  return Refusal(fmt::format("not a PNG that can be read: {}", error.text));
}

}  // namespace

std::string encode_png(const Picture8& picture, std::span<const PictureText> texts) {
  UNDERCAP_CHECK(is_whole(picture), fmt::format("{} x {} pixels need their bytes, not {}", picture.width,
                                                picture.height, picture.rgb.size()));
  std::vector<png_text> chunks;
  for (const PictureText& entry : texts) chunks.push_back(text_chunk(entry));
  std::string bytes;
  WriteHandle handle;
  if (handle.info == nullptr) throw Trouble("not enough memory to write a PNG");
  png_set_write_fn(handle.png, &bytes, append, flush_nothing);
  if (!write_picture(handle.png, handle.info, picture, chunks))
    throw Trouble(fmt::format("the PNG cannot be made: {}", handle.error.text));
  return bytes;
}

DecodedPng decode_png(std::string_view bytes) {
  ReadHandle handle;
  if (handle.info == nullptr) throw Trouble("not enough memory to read a PNG");
  png_set_read_fn(handle.png, &bytes, take);
  Header header;
  if (!read_header(handle.png, handle.info, header)) throw damaged(handle.error);
  DecodedPng decoded;
  decoded.picture = make_picture8(static_cast<int>(header.width), static_cast<int>(header.height));
  std::vector<png_bytep> rows;
  for (int row = 0; row < decoded.picture.height; ++row)
    rows.push_back(&decoded.picture.rgb[pixel_index(decoded.picture, 0, row)]);
  if (!read_pixels(handle.png, handle.info, rows, static_cast<std::size_t>(decoded.picture.width) * 3))
    throw damaged(handle.error);
  decoded.is_srgb = png_get_valid(handle.png, handle.info, PNG_INFO_sRGB) != 0;
  png_textp chunks = nullptr;
  const int count = png_get_text(handle.png, handle.info, &chunks, nullptr);
  for (int i = 0; i < count; ++i) decoded.texts.emplace_back(chunks[i].key, chunks[i].text);
  return decoded;
}

}  // namespace undercap
