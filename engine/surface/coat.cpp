#include "engine/surface/coat.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace undercap {
namespace {

constexpr int nodes = 32;
constexpr double smallest_alpha = 1e-4;  // a mirror for the purpose of an albedo

double smith_lambda(double cosine, double alpha) {
  const double c2 = cosine * cosine;
  return 0.5 * (std::sqrt(1 + alpha * alpha * (1 - c2) / std::max(c2, 1e-12)) - 1);
}

}  // namespace

double fresnel_dielectric(double cosine, double index) {
  const double square = index * index - 1 + cosine * cosine;
  if (square <= 0) return 1;
  const double g = std::sqrt(square);
  const double a = (g - cosine) / (g + cosine);
  const double b = ((g + cosine) * cosine - 1) / ((g - cosine) * cosine + 1);
  return 0.5 * a * a * (1 + b * b);
}

// E(v) = Int f cos dl = the mean over visible normals of F(v.h) G2/G1. The visible normals are laid out by
// spherical caps (Dupuy & Benyoub 2023) on a midpoint grid, one half of them for symmetry. Rings close up as
// w^2 toward the rim of the cap, where the integrand falls steeply.
double coat_albedo(double cosine, double alpha, double index) {
  const double cos_v = std::clamp(cosine, 1e-4, 1.0), sin_v = std::sqrt(1 - cos_v * cos_v);
  double vx = alpha * sin_v, vz = cos_v;
  const double length = std::hypot(vx, vz);
  vx /= length;
  vz /= length;
  const double lambda_v = smith_lambda(cos_v, alpha);
  constexpr int steps = 64;
  struct Ring {
    double w, z, sine;
  };
  std::array<Ring, steps> rings;
  for (int j = 0; j < steps; ++j) {
    const double w = (j + 0.5) / steps, z = w * w * (1 + vz) - vz;
    rings[static_cast<std::size_t>(j)] = {w, z, std::sqrt(std::clamp(1 - z * z, 0.0, 1.0))};
  }
  double sum = 0;
  for (int i = 0; i < steps; ++i) {
    const double angle = std::numbers::pi * (i + 0.5) / steps;
    const double cos_angle = std::cos(angle), sin_angle = std::sin(angle);
    for (const auto& [w, z, sine] : rings) {
      double hx = alpha * (sine * cos_angle + vx), hy = alpha * sine * sin_angle, hz = std::max(z + vz, 1e-6);
      const double size = std::sqrt(hx * hx + hy * hy + hz * hz);
      hx /= size;
      hy /= size;
      hz /= size;
      const double cos_d = hx * sin_v + hz * cos_v;
      const double cos_l = 2 * cos_d * hz - cos_v;
      if (cos_l <= 0 || cos_d <= 0) continue;
      sum += 2 * w * fresnel_dielectric(cos_d, index) * (1 + lambda_v) /
             (1 + lambda_v + smith_lambda(cos_l, alpha));
    }
  }
  return sum / (steps * steps);
}

namespace {

std::vector<glm::vec2> made_table(double index) {
  std::vector<glm::vec2> made;
  made.reserve(nodes * nodes);
  for (int j = 0; j < nodes; ++j) {
    const double roughness = static_cast<double>(j) / (nodes - 1);
    const double alpha = std::max(roughness * roughness, smallest_alpha);
    double row[nodes];
    for (int i = 0; i < nodes; ++i) {
      const double root = static_cast<double>(i) / (nodes - 1);
      row[i] = coat_albedo(root * root, alpha, index);
    }
    // 2 Int E c dc with c = x^2 is 4 Int E x^3 dx; E is linear in x between nodes, as the kernel reads it.
    double mean = 0;
    for (int i = 0; i + 1 < nodes; ++i) {
      const double a = static_cast<double>(i) / (nodes - 1), b = static_cast<double>(i + 1) / (nodes - 1);
      for (int k = 0; k < 8; ++k) {
        const double t = (k + 0.5) / 8, x = a + t * (b - a);
        mean += 4 * (row[i] + t * (row[i + 1] - row[i])) * x * x * x * (b - a) / 8;
      }
    }
    for (const double e : row) made.emplace_back(static_cast<float>(e), static_cast<float>(mean));
  }
  return made;
}

}  // namespace

const std::vector<glm::vec2>& coat_table() {
  static const std::vector<glm::vec2> table = made_table(coat_index);
  return table;
}

const std::vector<glm::vec2>& water_table() {
  static const std::vector<glm::vec2> table = made_table(water_index);
  return table;
}

}  // namespace undercap
