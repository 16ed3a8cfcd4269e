#include "tests/reference/surface.h"

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

namespace undercap::reference {
namespace {

constexpr double pi = std::numbers::pi;

// Fresnel's equations for unpolarised light, by Snell's law; from outside.
double fresnel(double cosine, double index) {
  const double inside = std::sqrt(1 - (1 - cosine * cosine) / (index * index));
  const double s = (cosine - index * inside) / (cosine + index * inside);
  const double p = (index * cosine - inside) / (index * cosine + inside);
  return 0.5 * (s * s + p * p);
}

bool is_metal(const Surface& s) { return s.mirror != glm::dvec3(0); }

// What a facet sends back of the light that meets it.
glm::dvec3 facet_reflectance(const Surface& s, double cosine) {
  if (!is_metal(s)) return glm::dvec3(fresnel(cosine, s.coat->index()));
  const double off = 1 - cosine;
  return s.mirror + (1.0 - s.mirror) * (off * off * off * off * off);
}

// Of even light from within water the share that the surface sends back down. Etendue ties it to that from
// outside: of all light inside a cone, 1 / n^2 can leave, and as much as can enter does: 1 - inner = (1 -
// outer) / n^2. The outer one, 2 Int F(c) c dc, by midpoints.
double film_return() {
  constexpr int steps = 20000;
  double outer = 0;
  for (int i = 0; i < steps; ++i) {
    const double c = (i + 0.5) / steps;
    outer += 2 * fresnel(c, index_of_water) * c / steps;
  }
  return 1 - (1 - outer) / (index_of_water * index_of_water);
}

// Smith's lambda of GGX (Heitz 2014, eq. 72).
double lambda(double cosine, double alpha) {
  const double tangent2 = (1 - cosine * cosine) / (cosine * cosine);
  return 0.5 * (std::sqrt(1 + alpha * alpha * tangent2) - 1);
}

// GGX density of facets (Walter et al. 2007, eq. 33), by the squared sine and cosine of the facet's angle.
double facets(double sine2, double cosine2, double alpha) {
  const double a2 = alpha * alpha, c = a2 * cosine2 + sine2;
  return a2 / (pi * c * c);
}

glm::dvec3 mirrored(const glm::dvec3& l, const glm::dvec3& face) { return l - 2 * glm::dot(l, face) * face; }

// Two axes that make a right-handed frame with a unit z.
void axes(const glm::dvec3& z, glm::dvec3& x, glm::dvec3& y) {
  x = glm::normalize(glm::cross(std::abs(z.x) < 0.7 ? glm::dvec3(1, 0, 0) : glm::dvec3(0, 1, 0), z));
  y = glm::cross(z, x);
}

// Share of the light between the body and the world outside, toward l and the viewer.
double body_share(const Surface& s, double cosine) {
  if (!s.coat) return 1;
  return (1 - s.view_albedo) * (1 - s.coat->at(cosine)) / (1 - s.coat->mean());
}

// The lobe about a normal before anything is mirrored, x cosine / (R or T).
double body_lobe(const Surface& s, const glm::dvec3& normal, const glm::dvec3& l) {
  const double cosine = glm::dot(normal, l);
  return cosine <= 0 ? 0 : body_share(s, cosine) * cosine / pi;
}

// f_coat x cosine before anything is mirrored: F D G / (4 cos v).
glm::dvec3 coat_lobe(const Surface& s, const glm::dvec3& view, const glm::dvec3& l) {
  const double cosine = glm::dot(s.normal, l), cos_v = glm::dot(s.normal, view);
  if (cosine <= 0) return glm::dvec3(0);
  const glm::dvec3 h = glm::normalize(view + l);
  const double cos_h = glm::dot(s.normal, h);
  if (cos_h <= 0) return glm::dvec3(0);
  const glm::dvec3 across = glm::cross(s.normal, h);
  return facet_reflectance(s, glm::dot(view, h)) *
         (facets(glm::dot(across, across), cos_h * cos_h, s.alpha) /
          (4 * cos_v * (1 + lambda(cos_v, s.alpha) + lambda(cosine, s.alpha))));
}

// A facet that the viewer sees, about z (Heitz 2018, JCGT 7(4), listing 1).
glm::dvec3 visible_facet(const glm::dvec3& view, double alpha, Random& random) {
  const glm::dvec3 v = glm::normalize(glm::dvec3(alpha * view.x, alpha * view.y, view.z));
  const double level2 = v.x * v.x + v.y * v.y;
  const glm::dvec3 x = level2 > 0 ? glm::dvec3(-v.y, v.x, 0) / std::sqrt(level2) : glm::dvec3(1, 0, 0);
  const glm::dvec3 y = glm::cross(v, x);
  const double radius = std::sqrt(random()), angle = 2 * pi * random();
  const double a = radius * std::cos(angle), s = 0.5 * (1 + v.z);
  const double b = (1 - s) * std::sqrt(1 - a * a) + s * radius * std::sin(angle);
  const glm::dvec3 n = a * x + b * y + std::sqrt(std::max(0.0, 1 - a * a - b * b)) * v;
  return glm::normalize(glm::dvec3(alpha * n.x, alpha * n.y, std::max(1e-9, n.z)));
}

std::optional<Scatter> scatter_by_coat(const Surface& s, const glm::dvec3& view, Random& random) {
  glm::dvec3 x, y;
  axes(s.normal, x, y);
  const glm::dvec3 v(glm::dot(view, x), glm::dot(view, y), glm::dot(view, s.normal));
  const glm::dvec3 h = visible_facet(v, s.alpha, random);
  const double cos_d = glm::dot(v, h);
  const glm::dvec3 l = 2 * cos_d * h - v;
  if (l.z <= 0 || cos_d <= 0) return std::nullopt;
  const double seen = lambda(v.z, s.alpha);
  const glm::dvec3 weight = facet_reflectance(s, cos_d) * ((1 + seen) / (1 + seen + lambda(l.z, s.alpha)));
  glm::dvec3 direction = glm::normalize(l.x * x + l.y * y + l.z * s.normal);
  if (glm::dot(direction, s.face) < 0) direction = mirrored(direction, s.face);
  return Scatter{direction, weight, true};
}

Scatter scatter_by_body(const Surface& s, bool through, Random& random) {
  const double turn = through ? -1 : 1;
  const glm::dvec3 normal = turn * s.normal, face = turn * s.face;
  // Even on the unit sphere about the tip of the normal: the cosine law (Lambert).
  const double z = 1 - 2 * random(), angle = 2 * pi * random(), level = std::sqrt(std::max(0.0, 1 - z * z));
  glm::dvec3 direction = normal + glm::dvec3(level * std::cos(angle), level * std::sin(angle), z);
  const double size = glm::length(direction);
  direction = size > 1e-9 ? direction / size : normal;
  const double share = body_share(s, std::max(glm::dot(direction, normal), 0.0));
  if (glm::dot(direction, face) < 0) direction = mirrored(direction, face);
  return {direction, (through ? s.transmittance : s.reflectance) * share, false};
}

}  // namespace

// E(v) = Int F G (v.h) / (cos v cos h) over facets drawn from D cos h: tan^2 h = alpha^2 u / (1 - u), u even.
CoatAlbedo::CoatAlbedo(double alpha, double index) : index_(index) {
  constexpr int nodes = 129, rings = 128, turns = 48;
  for (int i = 0; i < nodes; ++i) {
    const double root = std::max(static_cast<double>(i) / (nodes - 1), 1e-3), c = root * root,
                 sine = std::sqrt(1 - c * c), seen = lambda(c, alpha);
    double sum = 0;
    for (int ring = 0; ring < rings; ++ring) {
      // Rings close up toward the tail, where few facets send much light: 1 - u = w^2.
      const double w = (ring + 0.5) / rings, tangent2 = alpha * alpha * (1 - w * w) / (w * w);
      const double hz = 1 / std::sqrt(1 + tangent2), level = std::sqrt(tangent2) * hz;
      for (int turn = 0; turn < turns; ++turn) {
        const double cos_d = level * std::cos(pi * (turn + 0.5) / turns) * sine + hz * c;
        const double cos_l = 2 * cos_d * hz - c;
        if (cos_d <= 0 || cos_l <= 0) continue;
        sum += 2 * w * fresnel(cos_d, index) * cos_d / (c * hz * (1 + seen + lambda(cos_l, alpha)));
      }
    }
    node_.push_back(sum / (rings * turns));
  }
  // With c = x^2 the mean is 4 Int E x^3 dx, by Simpson's rule over the nodes.
  for (int i = 0; i < nodes; ++i) {
    const double x = static_cast<double>(i) / (nodes - 1), factor = i == 0 || i == nodes - 1 ? 1
                                                                    : i % 2                  ? 4
                                                                                             : 2;
    mean_ += factor * 4 * node_[static_cast<std::size_t>(i)] * x * x * x / (3 * (nodes - 1));
  }
}

double CoatAlbedo::at(double cosine) const {
  const double x = std::sqrt(std::clamp(cosine, 0.0, 1.0)) * static_cast<double>(node_.size() - 1);
  const std::size_t i = std::min(static_cast<std::size_t>(x), node_.size() - 2);
  const double part = x - static_cast<double>(i);
  return (1 - part) * node_[i] + part * node_[i + 1];
}

// Light that is the same from both sides meets the sheet as a solid of reflectance R + T, and light that is
// the opposite from both sides as one of R - T; all other light is a sum of two such. A solid r under the
// film keeps throwing light up: (1 - k) r (1 + k r + (k r)^2 + ...).
void wet_sheet(glm::dvec3& reflectance, glm::dvec3& transmittance) {
  static const double k = film_return();
  const auto solid = [](double r) { return (1 - k) * r / (1 - k * r); };
  for (int i = 0; i < 3; ++i) {
    const double even = solid(reflectance[i] + transmittance[i]),
                 odd = solid(reflectance[i] - transmittance[i]);
    reflectance[i] = (even + odd) / 2;
    transmittance[i] = (even - odd) / 2;
  }
}

glm::dvec3 body_toward(const Surface& s, const glm::dvec3& l) {
  const bool through = glm::dot(l, s.face) < 0;
  const glm::dvec3& colour = through ? s.transmittance : s.reflectance;
  if (colour == glm::dvec3(0)) return colour;
  const glm::dvec3 normal = through ? -s.normal : s.normal;
  return colour * (body_lobe(s, normal, l) + body_lobe(s, normal, mirrored(l, s.face)));
}

glm::dvec3 coat_toward(const Surface& s, const glm::dvec3& view, const glm::dvec3& l) {
  if ((!s.coat && !is_metal(s)) || glm::dot(l, s.face) <= 0) return glm::dvec3(0);
  return coat_lobe(s, view, l) + coat_lobe(s, view, mirrored(l, s.face));
}

std::optional<Scatter> scatter(const Surface& s, const glm::dvec3& view, Random& random) {
  if (is_metal(s)) return scatter_by_coat(s, view, random);
  const double r = (s.reflectance.x + s.reflectance.y + s.reflectance.z) / 3,
               t = (s.transmittance.x + s.transmittance.y + s.transmittance.z) / 3,
               body = (1 - s.view_albedo) * (r + t);
  if (!s.coat && r + t <= 0) return std::nullopt;
  const double coat_chance = s.coat ? s.view_albedo / (s.view_albedo + body) : 0;
  std::optional<Scatter> result;
  double chance = coat_chance;
  if (random() < coat_chance) {
    result = scatter_by_coat(s, view, random);
  } else {
    const bool through = random() * (r + t) >= r;
    chance = (1 - coat_chance) * (through ? t : r) / (r + t);
    result = scatter_by_body(s, through, random);
  }
  if (result) result->weight /= chance;
  return result;
}

}  // namespace undercap::reference
