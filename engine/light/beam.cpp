#include "engine/light/beam.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "engine/core/errors.h"
#include "engine/light/photometry.h"

namespace undercap {

namespace {

constexpr double pi = std::numbers::pi;
constexpr int last_node = beam_table_nodes - 1;

template <class Law>
Beam symmetric_beam(Law ratio_at) {
  std::vector<float> node;
  for (int i = 0; i < beam_table_nodes; ++i) node.push_back(static_cast<float>(ratio_at(beam_node_angle(i))));
  return beam_of(1, std::move(node));
}

double in_plane(const Beam& beam, int plane, double place) {
  const int below = std::clamp(static_cast<int>(place), 0, last_node - 1);
  const auto first = static_cast<std::size_t>(plane * beam_table_nodes + below);
  return std::lerp(double(beam.node[first]), double(beam.node[first + 1]), place - below);
}

// Integral of the weights of nodes: between two nodes the table is linear in s = i / 511, the angle is t =
// (pi/2) s^2, and the solid angle 2 pi sin t dt = 2 pi sin t pi s ds. Two-point Gauss on each step.
std::vector<double> node_solid_angles() {
  std::vector<double> weight(beam_table_nodes, 0);
  const double gauss = std::sqrt(1. / 3) / 2;
  for (int i = 0; i < last_node; ++i)
    for (const double along : {0.5 - gauss, 0.5 + gauss}) {
      const double s = (i + along) / last_node;
      const double solid_angle = 2 * pi * std::sin(pi / 2 * s * s) * pi * s / last_node / 2;
      weight[static_cast<std::size_t>(i)] += solid_angle * (1 - along);
      weight[static_cast<std::size_t>(i + 1)] += solid_angle * along;
    }
  return weight;
}

}  // namespace

Angle beam_node_angle(int node) {
  const double s = static_cast<double>(node) / last_node;
  return Angle(pi / 2 * s * s);
}

Beam beam_of(int planes, std::vector<float> node) {
  UNDERCAP_CHECK(
      planes >= 1 && node.size() == static_cast<std::size_t>(planes) * beam_table_nodes,
      fmt::format("a beam of {} planes has {} nodes each, got {}", planes, beam_table_nodes, node.size()));
  static const std::vector<double> weight = node_solid_angles();
  double flux = 0;
  for (std::size_t i = 0; i < node.size(); ++i) flux += double(node[i]) * weight[i % beam_table_nodes];
  return {planes, std::move(node), flux / planes};
}

double beam_ratio(const Beam& beam, Angle off_axis, Angle azimuth) {
  const double right_angles = std::abs(off_axis.value()) / (pi / 2);
  if (right_angles > 1) return 0;
  const double place = std::sqrt(right_angles) * last_node;
  const double turns = azimuth.value() / (2 * pi);
  const double plane = (turns - std::floor(turns)) * beam.planes;
  const int first = static_cast<int>(plane);
  return std::lerp(in_plane(beam, first % beam.planes, place),
                   in_plane(beam, (first + 1) % beam.planes, place), plane - first);
}

Beam cosine_beam(Angle beam) {
  return symmetric_beam([&](Angle angle) { return angle < 90_deg ? beam_falloff(beam, angle) : 0; });
}

// Half at beam / 2 for any p; a tenth at field / 2 asks ln 2 (field / beam)^p = ln 10.
Beam field_beam(Angle beam, Angle field) {
  beam_exponent(beam);  // refuses a beam that is none
  if (!(field > beam && field < 180_deg))
    throw Refusal(
        fmt::format("a field of {:g} degrees with a beam of {:g}: allowed is above the beam and below 180, "
                    "the full angle "
                    "at a tenth of the intensity",
                    field / 1_deg, beam / 1_deg));
  const double power = std::log(std::log(10) / std::log(2)) / std::log(field / beam);
  return symmetric_beam(
      [&](Angle angle) { return std::exp(-std::log(2) * std::pow(angle / (beam / 2), power)); });
}

// Of 1 cd at the peak the beam has flux F; the diffuser makes (1 - d) I + d F / pi cos. The new brightest
// direction is looked up, since it may move.
Beam diffused_beam(const Beam& beam, double share) {
  UNDERCAP_CHECK(share >= 0 && share <= 1, fmt::format("a diffused share is 0 to 1, got {}", share));
  std::vector<double> candela;
  double peak = 0;
  for (std::size_t i = 0; i < beam.node.size(); ++i) {
    const double angle = beam_node_angle(static_cast<int>(i % beam_table_nodes)).value();
    candela.push_back((1 - share) * double(beam.node[i]) +
                      share * beam.flux_per_candela_lm / pi * std::max(0.0, std::cos(angle)));
    peak = std::max(peak, candela.back());
  }
  std::vector<float> node;
  for (const double value : candela) node.push_back(static_cast<float>(value / peak));
  return beam_of(beam.planes, std::move(node));
}

Intensity peak_intensity(Flux flux, const Beam& beam) {
  return Intensity(flux.value() / beam.flux_per_candela_lm);
}

Flux flux_from_peak_intensity(Intensity peak, const Beam& beam) {
  return Flux(peak.value() * beam.flux_per_candela_lm);
}

}  // namespace undercap
