#include "engine/session/place_page.h"

#include "engine/core/errors.h"
#include "engine/report/paint_drawing.h"

namespace undercap {

LightQuestion light_question(const PlaceRequest& request, const PlaceResult& result) {
  return {.source = request.source,
          .target = result.target_words,
          .wish = request.wish,
          .target_m = result.target_m,
          .flash = result.flash,
          .shutter = Duration(result.shutter_s),
          .least_power_pct = request.least_power_pct,
          .relaxing = result.relaxing};
}

PlacePage place_page(const World& world, const PlaceRequest& request, const PlaceResult& result,
                     const std::string& made_by, const Typeface& typeface) {
  UNDERCAP_CHECK(!result.offers.empty(), "a page shows places that are offered");
  constexpr double figure_width_mm = 230, figure_height_mm = 90, figure_pixels_per_mm = 10;  // then scaled
  const LightQuestion asked = light_question(request, result);
  const PlaceMap map = light_map(world, asked, result.plan, result.elevation, slice_side, result.offers);
  std::vector<Picture8> pictures{result.without};
  pictures.insert(pictures.end(), result.pictures.begin(), result.pictures.end());
  pictures.push_back(drawing_picture(place_figure(world, map, figure_width_mm, figure_height_mm),
                                     figure_pixels_per_mm, typeface));
  Page page = lay_out(light_sheet(world, asked, result.offers,
                                  {.samples = picture_samples(request.quality),
                                   .made_by = made_by,
                                   .width = request.width,
                                   .height = request.height,
                                   .figure_aspect = figure_height_mm / figure_width_mm}),
                      typeface);
  return {std::move(page), std::move(pictures)};
}

}  // namespace undercap
