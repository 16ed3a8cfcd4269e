#include "tests/physics/piece.h"

#include <fmt/format.h>

#include "tests/physics/bench_top.h"

namespace undercap {

Piece take_piece(const World& world, double side_mm, int side_px, unsigned samples, double x_mm) {
  Tracer tracer(test_shaders(), world);
  const double width_mm = world.camera.width / 1_mm, height_mm = world.camera.height / 1_mm;
  const auto w = static_cast<float>(side_mm / width_mm), h = static_cast<float>(side_mm / height_mm),
             x = static_cast<float>(x_mm / width_mm);
  const View view{.width = side_px, .height = side_px, .window = {0.5f + x - w / 2, 0.5f - h / 2, w, h}};
  Film film = tracer.make_film(view);
  for (unsigned i = 0; i < samples; i += 8)
    tracer.sample(view, film, {.index = i, .count = 8, .half = 0, .seed = 11});
  const std::vector<float> sums = film.read();
  Piece piece{side_px, side_mm / side_px, {}};
  for (std::size_t p = 0; p < view.pixels(); ++p)
    piece.luminance.push_back(static_cast<double>(sums[p * 3]) / samples);
  return piece;
}

std::string emitter(const std::string& name, double x_mm, double behind_mm, double diameter_mm,
                    double luminance) {
  return fmt::format(
      "[[prop]]\nname = \"{}\"\nkind = \"disc\"\nat_m = [{:.9f}, {:.9f}, 0.0]\ndiameter_mm = {:.9f}\nnormal "
      "= [0, -1, 0]\nmaterial.surface = {{ reflectance = 0, emission_cd_m2 = {:.17g} }}\n",
      name, x_mm * 1e-3, behind_mm * 1e-3, diameter_mm, luminance);
}

}  // namespace undercap
