#include "engine/report/paint.h"

#include <cairo-pdf.h>
#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <memory>
#include <vector>

#include "engine/core/errors.h"
#include "engine/report/faces.h"

namespace undercap {
namespace {

constexpr double points_per_mm = 72 / 25.4;
// 6 pixels a millimetre are 152 an inch; 16 make a page of A4 4752 pixels wide.
constexpr double fewest_pixels_per_mm = 6, most_pixels_per_mm = 16;
constexpr double rule_mm = 0.15, rule_ink = 0.35;

struct Destroy {
  void operator()(cairo_t* cairo) const { cairo_destroy(cairo); }
  void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
};
using Surface = std::unique_ptr<cairo_surface_t, Destroy>;
using Cairo = std::unique_ptr<cairo_t, Destroy>;

void check(cairo_status_t status) {
  if (status == CAIRO_STATUS_SUCCESS) return;
  if (status == CAIRO_STATUS_NO_MEMORY) throw std::bad_alloc();
  throw Trouble(fmt::format("the sheet cannot be painted: {}", cairo_status_to_string(status)));
}

Surface surface_of(const Picture8& picture) {
  Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture.width, picture.height));
  check(cairo_surface_status(surface.get()));
  unsigned char* const bytes = cairo_image_surface_get_data(surface.get());
  const int stride = cairo_image_surface_get_stride(surface.get());
  for (int y = 0; y < picture.height; ++y) {
    // Cairo's pixels are whole words, so its rows are rows of words.
    auto* row = reinterpret_cast<std::uint32_t*>(bytes + static_cast<std::ptrdiff_t>(y) * stride);
    for (int x = 0; x < picture.width; ++x) {
      const std::uint8_t* rgb = &picture.rgb[pixel_index(picture, x, y)];
      row[x] = static_cast<std::uint32_t>(rgb[0] << 16 | rgb[1] << 8 | rgb[2]);
    }
  }
  cairo_surface_mark_dirty(surface.get());
  return surface;
}

// Places are snapped to the device's pixels on a screen; on paper 'snap' changes nothing.
template <class Snap>
void paint(cairo_t* cairo, const Page& page, std::span<const Picture8> pictures, const Typeface& typeface,
           double unit, const Snap& snap) {
  const auto ink = [&](double much) { cairo_set_source_rgb(cairo, 1 - much, 1 - much, 1 - much); };
  ink(0);
  cairo_paint(cairo);
  for (const PagePicture& place : page.pictures) {
    const Picture8& picture = pictures[place.picture];
    const Surface surface = surface_of(picture);
    cairo_save(cairo);
    cairo_translate(cairo, snap(place.x_mm * unit), snap(place.y_mm * unit));
    const double across = snap(place.width_mm * unit) / picture.width,
                 down = snap(place.height_mm * unit) / picture.height;
    cairo_scale(cairo, across, down);
    cairo_set_source_surface(cairo, surface.get(), 0, 0);
    // Pixels that come out whole stay whole; others are averaged.
    const bool whole = across == std::floor(across) && down == std::floor(down);
    cairo_pattern_set_filter(cairo_get_source(cairo), whole ? CAIRO_FILTER_NEAREST : CAIRO_FILTER_GOOD);
    cairo_rectangle(cairo, 0, 0, picture.width, picture.height);
    cairo_fill(cairo);
    cairo_restore(cairo);
  }
  ink(rule_ink);
  for (const PageRule& rule : page.rules) {
    cairo_rectangle(cairo, rule.x_mm * unit, rule.y_mm * unit, rule.width_mm * unit, rule_mm * unit);
    cairo_fill(cairo);
  }
  for (const PageBox& box : page.boxes)
    for (const bool dark : {true, false}) {  // a dark line with a light one in it
      ink(dark ? 1 : 0);
      cairo_set_line_width(cairo, (dark ? 0.5 : 0.2) * unit);
      cairo_rectangle(cairo, box.x_mm * unit, box.y_mm * unit, box.width_mm * unit, box.height_mm * unit);
      cairo_stroke(cairo);
    }
  cairo_set_font_options(cairo, typeface.faces().options);
  for (const PageText& text : page.texts) {
    ink(text.ink);
    cairo_set_font_face(cairo, typeface.faces().of(text.weight));
    cairo_set_font_size(cairo, text.size_mm * unit);
    cairo_move_to(cairo, text.x_mm * unit, text.baseline_mm * unit);
    cairo_show_text(cairo, text.text.c_str());
  }
  check(cairo_status(cairo));
}

cairo_status_t append(void* to, const unsigned char* data, unsigned int length) {
  static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

}  // namespace

std::string pages_pdf(std::span<const Page> pages, std::span<const Picture8> pictures,
                      const Typeface& typeface) {
  UNDERCAP_CHECK(!pages.empty(), "a file has a page");
  std::string bytes;
  const Surface surface(cairo_pdf_surface_create_for_stream(
      append, &bytes, pages.front().width_mm * points_per_mm, pages.front().height_mm * points_per_mm));
  check(cairo_surface_status(surface.get()));
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE, pages.front().title.c_str());
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATOR, "Undercap");
  // A fixed date: the same sheet gives the same bytes.
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATE_DATE, "2026-01-01T00:00:00Z");
  {
    const Cairo cairo(cairo_create(surface.get()));
    for (const Page& page : pages) {
      cairo_pdf_surface_set_size(surface.get(), page.width_mm * points_per_mm,
                                 page.height_mm * points_per_mm);
      paint(cairo.get(), page, pictures, typeface, points_per_mm, [](double place) { return place; });
      cairo_show_page(cairo.get());
      check(cairo_status(cairo.get()));
    }
  }
  cairo_surface_finish(surface.get());
  check(cairo_surface_status(surface.get()));
  return bytes;
}

double page_pixels_per_mm(const Page& page, std::span<const Picture8> pictures) {
  if (page.pictures.empty()) return fewest_pixels_per_mm;
  const PagePicture& first = page.pictures.front();
  const double own = pictures[first.picture].width / first.width_mm;
  return std::min(own * std::max(1.0, std::ceil(fewest_pixels_per_mm / own)), most_pixels_per_mm);
}

Picture8 page_picture(const Page& page, std::span<const Picture8> pictures, const Typeface& typeface) {
  const double unit = page_pixels_per_mm(page, pictures);
  const int width = static_cast<int>(std::lround(page.width_mm * unit)),
            height = static_cast<int>(std::lround(page.height_mm * unit));
  const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height));
  check(cairo_surface_status(surface.get()));
  {
    const Cairo cairo(cairo_create(surface.get()));
    paint(cairo.get(), page, pictures, typeface, unit, [](double place) { return std::round(place); });
  }
  cairo_surface_flush(surface.get());
  const unsigned char* const bytes = cairo_image_surface_get_data(surface.get());
  const int stride = cairo_image_surface_get_stride(surface.get());
  Picture8 picture = make_picture8(width, height);
  for (int y = 0; y < height; ++y) {
    const auto* row = reinterpret_cast<const std::uint32_t*>(bytes + static_cast<std::ptrdiff_t>(y) * stride);
    for (int x = 0; x < width; ++x) {
      std::uint8_t* rgb = &picture.rgb[pixel_index(picture, x, y)];
      rgb[0] = static_cast<std::uint8_t>(row[x] >> 16);
      rgb[1] = static_cast<std::uint8_t>(row[x] >> 8);
      rgb[2] = static_cast<std::uint8_t>(row[x]);
    }
  }
  return picture;
}

}  // namespace undercap
