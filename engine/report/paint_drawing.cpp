#include "engine/report/paint_drawing.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <cairo.h>
#include <fmt/format.h>

#include <cmath>
#include <memory>
#include <new>

#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/image/png.h"
#include "engine/report/faces.h"

namespace undercap {
namespace {

constexpr double points_per_mm = 72 / 25.4, pixels_per_mm = 200 / 25.4;
constexpr double wash = 0.10;  // of a tone, for a pale fill

struct Destroy {
  void operator()(cairo_t* cairo) const { cairo_destroy(cairo); }
  void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
};
using Surface = std::unique_ptr<cairo_surface_t, Destroy>;
using Cairo = std::unique_ptr<cairo_t, Destroy>;

void check(cairo_status_t status) {
  if (status == CAIRO_STATUS_SUCCESS) return;
  if (status == CAIRO_STATUS_NO_MEMORY) throw std::bad_alloc();
  throw Trouble(fmt::format("the drawing cannot be painted: {}", cairo_status_to_string(status)));
}

// Black on white: 1 black, 0 the paper.
double ink_of(Tone tone) {
  switch (tone) {
    case Tone::strong:
      return 1;
    case Tone::accent:
      return 0.85;
    case Tone::plain:
      return 0.75;
    case Tone::soft:
      return 0.6;
    case Tone::faint:
      return 0.45;
  }
  return 1;
}

struct Painter {
  cairo_t* cairo;
  const Typeface& typeface;
  PenStyle style;

  void ink(double much) const { cairo_set_source_rgb(cairo, 1 - much, 1 - much, 1 - much); }
  void fill_and_stroke(Fill fill, bool outlined) const {
    const double tone = ink_of(style.tone);
    if (fill != Fill::none) {
      ink(fill == Fill::paper ? 0 : fill == Fill::pale ? wash : tone);
      cairo_fill_preserve(cairo);
    }
    ink(tone);
    cairo_set_line_width(cairo, style.width_mm);
    cairo_set_dash(cairo, style.dash_mm.data(), static_cast<int>(style.dash_mm.size()), 0);
    if (outlined) cairo_stroke_preserve(cairo);
    cairo_new_path(cairo);
  }
  void operator()(const Polyline& line) const {
    for (const glm::dvec2& place : line.points_mm) cairo_line_to(cairo, place.x, place.y);
    if (line.closed) cairo_close_path(cairo);
    fill_and_stroke(line.fill, line.outlined);
  }
  void operator()(const Circle& circle) const {
    cairo_new_sub_path(cairo);
    cairo_arc(cairo, circle.centre_mm.x, circle.centre_mm.y, circle.radius_mm, 0, 2 * std::acos(-1.0));
    fill_and_stroke(circle.fill, true);
  }
  void operator()(const Text& text) const {
    const Weight weight = text.bold ? Weight::bold : Weight::regular;
    const Typeface::Extent extent = typeface.extent(text.words, text.size_mm, weight);
    const double left = text.at_mm.x - (text.across == Across::left     ? 0
                                        : text.across == Across::middle ? extent.width_mm / 2
                                                                        : extent.width_mm);
    cairo_set_font_face(cairo, typeface.faces().of(weight));
    cairo_set_font_size(cairo, text.size_mm);
    if (text.clears) {
      // Paper around each letter: less of a line is lost than behind a box.
      constexpr double around_mm = 0.5;
      ink(0);
      cairo_move_to(cairo, left, text.at_mm.y);
      cairo_text_path(cairo, text.words.c_str());
      cairo_set_line_width(cairo, 2 * around_mm);
      cairo_set_dash(cairo, nullptr, 0, 0);
      cairo_stroke(cairo);
    }
    ink(std::max(ink_of(style.tone), 0.6));  // thin type needs more ink than a line
    cairo_move_to(cairo, left, text.at_mm.y);
    cairo_show_text(cairo, text.words.c_str());
    cairo_new_path(cairo);
  }
  void operator()(const Image& image) const {
    const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, image.width, image.height));
    check(cairo_surface_status(surface.get()));
    unsigned char* const bytes = cairo_image_surface_get_data(surface.get());
    const int stride = cairo_image_surface_get_stride(surface.get());
    for (int y = 0; y < image.height; ++y) {
      // Cairo's pixels are whole words, so its rows are rows of words.
      auto* row = reinterpret_cast<std::uint32_t*>(bytes + static_cast<std::ptrdiff_t>(y) * stride);
      for (int x = 0; x < image.width; ++x) {
        const std::uint8_t* from =
            &image.bytes[(static_cast<std::size_t>(y) * static_cast<std::size_t>(image.width) +
                          static_cast<std::size_t>(x)) *
                         static_cast<std::size_t>(image.channels)];
        const int red = from[0], green = image.channels == 3 ? from[1] : red,
                  blue = image.channels == 3 ? from[2] : red;
        row[x] = static_cast<std::uint32_t>(red << 16 | green << 8 | blue);
      }
    }
    cairo_surface_mark_dirty(surface.get());
    cairo_save(cairo);
    cairo_translate(cairo, image.at_mm.x, image.at_mm.y);
    cairo_scale(cairo, image.size_mm.x / image.width, image.size_mm.y / image.height);
    cairo_set_source_surface(cairo, surface.get(), 0, 0);
    cairo_rectangle(cairo, 0, 0, image.width, image.height);
    cairo_fill(cairo);
    cairo_restore(cairo);
  }
};

void paint_drawing(cairo_t* cairo, const Drawing& drawing, const Typeface& typeface) {
  cairo_save(cairo);
  cairo_rectangle(cairo, 0, 0, drawing.width_mm, drawing.height_mm);
  cairo_clip(cairo);
  for (const Mark& mark : drawing.marks) std::visit(Painter{cairo, typeface, style_of(mark.pen)}, mark.shape);
  cairo_restore(cairo);
}

void begin_page(cairo_t* cairo, const Typeface& typeface) {
  cairo_set_font_options(cairo, typeface.faces().options);
  cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
  cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
  cairo_set_source_rgb(cairo, 1, 1, 1);
  cairo_paint(cairo);
}

// One unit of the target is a millimetre.
void paint(cairo_t* cairo, const DrawingSheet& sheet, const Typeface& typeface) {
  begin_page(cairo, typeface);
  const Painter words{cairo, typeface, style_of(Pen::text)};
  for (std::size_t i = 0; i < sheet.drawings.size(); ++i) {
    const Drawing& drawing = sheet.drawings[i];
    cairo_save(cairo);
    cairo_translate(cairo, sheet.place_mm[i].x, sheet.place_mm[i].y);
    paint_drawing(cairo, drawing, typeface);
    Painter{cairo, typeface, style_of(Pen::key)}(Polyline{.points_mm = {{0, 0},
                                                                        {drawing.width_mm, 0},
                                                                        {drawing.width_mm, drawing.height_mm},
                                                                        {0, drawing.height_mm}},
                                                          .closed = true});
    cairo_restore(cairo);
  }
  for (const Text& text : sheet.texts) words(text);
  check(cairo_status(cairo));
}

cairo_status_t append(void* to, const unsigned char* data, unsigned int length) {
  static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

// Cairo names a surface and an image by how many there were in this process; here by how many in the file.
void renumber(std::string& svg, const std::string& kind) {
  const std::string opening = fmt::format("id=\"{}", kind);
  int number = 0;
  for (std::size_t at = svg.find(opening); at != svg.npos; at = svg.find(opening, at + 1)) {
    const std::size_t begin = at + 4, end = svg.find('"', begin);
    const std::string before = svg.substr(begin, end - begin) + '"',
                      after = fmt::format("{}_{}\"", kind, number++);
    for (std::size_t use = svg.find(before); use != svg.npos; use = svg.find(before, use + after.size()))
      svg.replace(use, before.size(), after);
  }
}

void paint_page(cairo_surface_t* surface, const DrawingSheet& sheet, const Typeface& typeface) {
  check(cairo_surface_status(surface));
  {
    const Cairo cairo(cairo_create(surface));
    cairo_scale(cairo.get(), points_per_mm, points_per_mm);
    paint(cairo.get(), sheet, typeface);
    cairo_show_page(cairo.get());
    check(cairo_status(cairo.get()));
  }
  cairo_surface_finish(surface);
  check(cairo_surface_status(surface));
}

}  // namespace

namespace {

Surface pdf_surface(std::string& bytes, const std::string& title, double width_mm, double height_mm) {
  Surface surface(cairo_pdf_surface_create_for_stream(append, &bytes, width_mm * points_per_mm,
                                                      height_mm * points_per_mm));
  check(cairo_surface_status(surface.get()));
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE, title.c_str());
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATOR, "Undercap");
  // A fixed date: the same sheet gives the same bytes.
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATE_DATE, "2026-01-01T00:00:00Z");
  return surface;
}

}  // namespace

std::string sheet_pdf(const DrawingSheet& sheet, const Typeface& typeface) {
  std::string bytes;
  const Surface surface = pdf_surface(bytes, sheet.title, sheet_width_mm, sheet_height_mm);
  paint_page(surface.get(), sheet, typeface);
  return bytes;
}

std::string drawings_pdf(std::span<const Drawing> pages, const Typeface& typeface) {
  UNDERCAP_CHECK(!pages.empty(), "a PDF has a page");
  std::string bytes;
  const Surface surface = pdf_surface(bytes, pages[0].title, pages[0].width_mm, pages[0].height_mm);
  {
    const Cairo cairo(cairo_create(surface.get()));
    for (const Drawing& page : pages) {
      cairo_pdf_surface_set_size(surface.get(), page.width_mm * points_per_mm,
                                 page.height_mm * points_per_mm);
      cairo_save(cairo.get());
      cairo_scale(cairo.get(), points_per_mm, points_per_mm);
      begin_page(cairo.get(), typeface);
      paint_drawing(cairo.get(), page, typeface);
      cairo_show_page(cairo.get());
      cairo_restore(cairo.get());
    }
    check(cairo_status(cairo.get()));
  }
  cairo_surface_finish(surface.get());
  check(cairo_surface_status(surface.get()));
  return bytes;
}

std::string sheet_svg(const DrawingSheet& sheet, const Typeface& typeface) {
  std::string bytes;
  const Surface surface(cairo_svg_surface_create_for_stream(append, &bytes, sheet_width_mm * points_per_mm,
                                                            sheet_height_mm * points_per_mm));
  paint_page(surface.get(), sheet, typeface);
  for (const char* kind : {"surface", "image"}) renumber(bytes, kind);
  return bytes;
}

namespace {

// The upper left part of a sheet, in pixels.
Picture8 part_picture(const DrawingSheet& sheet, double width_mm, double height_mm, double dots_per_mm,
                      const Typeface& typeface) {
  const int width = static_cast<int>(std::lround(width_mm * dots_per_mm)),
            height = static_cast<int>(std::lround(height_mm * dots_per_mm));
  const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height));
  check(cairo_surface_status(surface.get()));
  {
    const Cairo cairo(cairo_create(surface.get()));
    cairo_scale(cairo.get(), dots_per_mm, dots_per_mm);
    paint(cairo.get(), sheet, typeface);
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

}  // namespace

Picture8 sheet_picture(const DrawingSheet& sheet, const Typeface& typeface) {
  return part_picture(sheet, sheet_width_mm, sheet_height_mm, pixels_per_mm, typeface);
}

Picture8 drawing_picture(const Drawing& drawing, double dots_per_mm, const Typeface& typeface) {
  return part_picture({drawing.title, {drawing}, {glm::dvec2(0)}, {}}, drawing.width_mm, drawing.height_mm,
                      dots_per_mm, typeface);
}

void write_drawing(const DrawingSheet& sheet, const std::filesystem::path& file, bool force) {
  const std::string ending = file.extension().string();
  if (ending != ".pdf" && ending != ".svg" && ending != ".png")
    throw Refusal(fmt::format("{}: a drawing is written as .pdf, .svg or .png; end the name in one of them",
                              file.string()));
  check_writable(file, force);
  const Typeface typeface;
  const std::string bytes = ending == ".pdf"   ? sheet_pdf(sheet, typeface)
                            : ending == ".svg" ? sheet_svg(sheet, typeface)
                                               : encode_png(sheet_picture(sheet, typeface), {});
  write_file(file, bytes, force);
}

}  // namespace undercap
