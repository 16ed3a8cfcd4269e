#include "tests/reference/exposure.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace undercap::reference {
namespace {

// IEC 61966-2-1:1999.
double srgb(double linear) {
  const double x = std::clamp(linear, 0.0, 1.0);
  return x <= 0.0031308 ? 12.92 * x : 1.055 * std::pow(x, 1 / 2.4) - 0.055;
}

// Reinhard et al. 2002, eq. 3, scaled so that .18 stays: k = 1 / (1 - .18).
double reinhard(double x) { return x / 0.82 / (1 + x / 0.82); }

}  // namespace

std::vector<glm::dvec3> mixed(const World& world, const std::vector<std::vector<glm::dvec3>>& group) {
  std::vector<glm::dvec3> mix(group.at(0).size(), glm::dvec3(0));
  for (std::size_t g = 0; g < group.size(); ++g) {
    const LightGroup& light = world.groups[g];
    if (!light.on) continue;
    for (std::size_t i = 0; i < mix.size(); ++i) mix[i] += light.power * light.colour * group[g][i];
  }
  return mix;
}

// ISO 12232: H = (pi / 4) T L t cos^4 / N_w^2, N_w = N (1 + m / P) at magnification m and pupil magnification
// P; the angle is the chief ray's, tan = image height / (f (1 + m / P)). The raw value clips at H = 78 / S;
// 10 / S is mid-grey and shows as linear .18.
std::vector<glm::dvec3> displayed(const World& world, const std::vector<glm::dvec3>& mix, int width,
                                  const Exposing& how) {
  const Camera& camera = world.scene.camera;
  const double longer = 1 + world.camera.magnification / camera.pupil_magnification;
  const double stop = world.camera.lens.f_number * longer;
  const double distance_mm = world.camera.lens.focal_length.value() * 1e3 * longer;
  const double axis = std::numbers::pi / 4 * camera.transmission * how.shutter_s / (stop * stop);
  const int height = static_cast<int>(mix.size()) / width;
  std::vector<glm::dvec3> result(mix.size());
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x) {
      const double right_mm = ((x + 0.5) / width - 0.5) * camera.format_mm[0],
                   down_mm = ((y + 0.5) / height - 0.5) * camera.format_mm[1];
      const double tangent = std::hypot(right_mm, down_mm) / distance_mm;
      const double fall_off = std::pow(std::cos(std::atan(tangent)), 4);
      const auto pixel = static_cast<std::size_t>(y * width + x);
      for (int c = 0; c < 3; ++c) {
        const double raw = std::min(axis * fall_off * mix[pixel][c], 78 / how.iso);
        const double linear = 0.18 * raw * how.gains[c] * how.iso / 10;
        result[pixel][c] = 255 * srgb(how.reinhard ? reinhard(std::max(linear, 0.0)) : linear);
      }
    }
  return result;
}

}  // namespace undercap::reference
