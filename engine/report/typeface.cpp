#include "engine/report/typeface.h"

#include <cairo-ft.h>
#include <cairo.h>
#include <fontconfig/fontconfig.h>

#include <cstring>

#include "engine/core/errors.h"
#include "engine/report/faces.h"

namespace undercap {
namespace {

constexpr const char* family = "Open Sans";

// Type is measured at this body and scaled: a scaled font of a millimetre or two would be no better.
constexpr double measured_size = 100;

cairo_font_face_t* face_of(int weight) {
  FcPattern* wanted = FcPatternCreate();
  FcPatternAddString(wanted, FC_FAMILY, reinterpret_cast<const FcChar8*>(family));
  FcPatternAddInteger(wanted, FC_WEIGHT, weight);
  FcPatternAddInteger(wanted, FC_SLANT, FC_SLANT_ROMAN);
  FcPatternAddInteger(wanted, FC_WIDTH, FC_WIDTH_NORMAL);
  FcConfigSubstitute(nullptr, wanted, FcMatchPattern);
  FcDefaultSubstitute(wanted);
  FcResult result = FcResultNoMatch;
  FcPattern* found = FcFontMatch(nullptr, wanted, &result);
  FcPatternDestroy(wanted);
  // Fontconfig answers with the nearest face that it has, whatever its name.
  FcChar8* name = nullptr;
  cairo_font_face_t* face = nullptr;
  if (found && FcPatternGetString(found, FC_FAMILY, 0, &name) == FcResultMatch &&
      std::strcmp(reinterpret_cast<const char*>(name), family) == 0)
    face = cairo_ft_font_face_create_for_pattern(found);
  if (found) FcPatternDestroy(found);
  return face;
}

}  // namespace

Typeface::Faces::Faces() : regular(face_of(FC_WEIGHT_REGULAR)), bold(face_of(FC_WEIGHT_BOLD)) {
  options = cairo_font_options_create();
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
}

Typeface::Faces::~Faces() {
  if (regular) cairo_font_face_destroy(regular);
  if (bold) cairo_font_face_destroy(bold);
  cairo_font_options_destroy(options);
}

Typeface::Typeface() : faces_(std::make_unique<Faces>()) {
  if (!faces_->regular || !faces_->bold)
    throw Trouble(
        "the typeface Open Sans, which sheets are set in, is not installed; on Debian: apt-get install "
        "fonts-open-sans");
}

Typeface::~Typeface() = default;

Typeface::Extent Typeface::extent(const std::string& text, double size_mm, Weight weight) const {
  cairo_matrix_t size, none;
  cairo_matrix_init_scale(&size, measured_size, measured_size);
  cairo_matrix_init_identity(&none);
  cairo_scaled_font_t* font = cairo_scaled_font_create(faces_->of(weight), &size, &none, faces_->options);
  cairo_text_extents_t found{};
  cairo_scaled_font_text_extents(font, text.c_str(), &found);
  const cairo_status_t status = cairo_scaled_font_status(font);
  cairo_scaled_font_destroy(font);
  if (status != CAIRO_STATUS_SUCCESS)
    throw Trouble(std::string("a text cannot be set: ") + cairo_status_to_string(status));
  const double scale = size_mm / measured_size;
  return {.width_mm = found.x_advance * scale,
          .left_mm = found.x_bearing * scale,
          .right_mm = (found.x_bearing + found.width) * scale,
          .above_mm = -found.y_bearing * scale,
          .below_mm = (found.y_bearing + found.height) * scale};
}

std::string Typeface::fitted(const std::string& text, double size_mm, Weight weight, double width_mm) const {
  const auto fits = [&](const std::string& some) {
    const Extent e = extent(some, size_mm, weight);
    return e.width_mm <= width_mm && e.right_mm <= width_mm;
  };
  if (fits(text)) return text;
  std::string beginning = text;
  while (!beginning.empty()) {
    // A letter goes as a whole: the bytes of UTF-8 after its first begin with the bits 10.
    while (!beginning.empty() && (static_cast<unsigned char>(beginning.back()) & 0xC0) == 0x80)
      beginning.pop_back();
    if (!beginning.empty()) beginning.pop_back();
    while (!beginning.empty() && beginning.back() == ' ') beginning.pop_back();
    std::string cut = beginning + "\xe2\x80\xa6";
    if (fits(cut)) return cut;
  }
  return {};
}

}  // namespace undercap
