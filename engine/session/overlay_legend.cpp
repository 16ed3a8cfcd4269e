#include "engine/session/overlay_legend.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/report/paint.h"

namespace undercap {
namespace {

// Millimetres, with as many of the picture's pixels to each as a page that is painted has at least.
constexpr double pixels_per_mm = 6, margin = 2, sample_height = 2.7, text_size = 2.4, small_size = 2.1;

// Between the margins; a picture may be narrower than they are.
double inner_width(const Page& page) { return std::max(page.width_mm - 2 * margin, 1 / pixels_per_mm); }

Picture8 sample(int width, int height, const auto& colour_at) {
  Picture8 picture = make_picture8(width, height);
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x) {
      const glm::vec3 colour = colour_at(x, y);
      for (int c = 0; c < 3; ++c)
        picture.rgb[pixel_index(picture, x, y) + static_cast<std::size_t>(c)] =
            static_cast<std::uint8_t>(std::lround(255 * colour[c]));
    }
  return picture;
}

// The bands of the stops side by side, from the darkest.
Picture8 bands_sample(int width, int height) {
  const int bands = brightest_stop - darkest_stop + 2;
  return sample(width, height, [&](int x, int) { return stop_colour(x * bands / width); });
}

// As the shader draws what is clipped, and what drowns.
Picture8 stripes_sample(int side) {
  return sample(side, side,
                [](int x, int y) { return (x + y) % 8 < 4 ? glm::vec3(1, .45f, 0) : glm::vec3(0); });
}
Picture8 dots_sample(int side) {
  return sample(side, side, [](int x, int y) {
    return x % 4 < 2 && y % 4 < 2 ? glm::vec3(.25f, .55f, 1) : glm::vec3(0);
  });
}

void add_stops(Page& page, double top) {
  const int bands = brightest_stop - darkest_stop + 2;
  const double width = inner_width(page);
  page.pictures.push_back({margin, top, width, sample_height, 1});
  for (int band = 1; band < bands; ++band)
    page.texts.push_back({margin + width * band / bands - 1.4, top + sample_height + 2.2, small_size,
                          Weight::regular, .92, stop_text(darkest_stop + band - 1)});
}

}  // namespace

std::string stop_text(int stop) { return stop == 0 ? "0" : fmt::format("{:+d}", stop); }

std::string overlay_sentence(Overlay::Kind kind, Length circle) {
  switch (kind) {
    case Overlay::Kind::none:
      return {};
    case Overlay::Kind::clipping:
      return fmt::format(
          "stripes: a channel is clipped in the raw picture; dots: {} stops and more under mid-grey",
          -darkest_stop);
    case Overlay::Kind::stops:
      return "stops of luminance from mid-grey at this exposure";
    case Overlay::Kind::sharp_zone:
      return fmt::format("bright: the lens's blur is within the circle of confusion, {:.3f} mm on the sensor",
                         circle / 1_mm);
    case Overlay::Kind::focus_plane:
      return "yellow: where the plane in focus meets what is seen; not the depth of field";
  }
  return {};
}

Picture8 with_legend(const Picture8& picture, Overlay::Kind kind, Length circle, const Typeface& typeface) {
  if (kind == Overlay::Kind::none) return picture;
  Page page;
  page.width_mm = picture.width / pixels_per_mm;
  const double picture_height = picture.height / pixels_per_mm;
  page.pictures.push_back({0, 0, page.width_mm, picture_height, 0});
  std::vector<Picture8> pictures{picture};
  const int side = static_cast<int>(sample_height * pixels_per_mm);
  double y = picture_height + margin, x = margin;
  if (kind == Overlay::Kind::stops) {
    pictures.push_back(bands_sample(static_cast<int>(std::lround(inner_width(page) * pixels_per_mm)), side));
    add_stops(page, y);
    y += sample_height + 3;
  } else if (kind == Overlay::Kind::clipping) {
    pictures.push_back(stripes_sample(side));
    pictures.push_back(dots_sample(side));
    page.pictures.push_back({x, y, sample_height, sample_height, 1});
    page.pictures.push_back({x + sample_height + 1, y, sample_height, sample_height, 2});
    x += 2 * sample_height + 3;
  }
  const std::string words =
      typeface.fitted(overlay_sentence(kind, circle), text_size, Weight::regular, page.width_mm - x - margin);
  page.texts.push_back({x, y + 2.1, text_size, Weight::regular, .92, words});
  page.height_mm = y + sample_height + margin - 1;
  return page_picture(page, pictures, typeface);
}

}  // namespace undercap
