// What is left of the veils: ring and rags of the inner one, cup and warts of the outer one.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/mesh_build.h"
#include "engine/shape/mushroom.h"
#include "engine/shape/noise.h"
#include "engine/shape/wart.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

std::uint32_t next_position(const Mesh& mesh) { return static_cast<std::uint32_t>(mesh.position.size()); }

// A sheet about the stem, rows from the stem outwards: at(v, angle) gives place for v from 0 to 1. A row's
// columns run counter-clockwise from above, so a sheet that falls outwards shows its front to the sky.
template <class At>
void add_sheet_ring(Mesh& mesh, const MushroomBuild& build, const char* part, int rows, int columns,
                    const At& at) {
  Mesh sheet;
  const std::uint32_t index =
      build.part(sheet, part, PatternKind::stem, static_cast<float>(build.shape.stem_radius));
  for (int row = 0; row < rows; ++row) {
    const double v = static_cast<double>(row) / (rows - 1);
    for (int column = 0; column < columns; ++column) {
      const double angle = 2 * pi * column / columns;
      sheet.position.emplace_back(at(v, angle));
      sheet.tint.emplace_back(1.f);
      // As the upper part of a stem: the pattern of a stem has soil at its foot.
      sheet.uv.emplace_back(static_cast<double>(column) / columns, 1 - 0.6 * v);
    }
  }
  add_grid_triangles(sheet, {0, rows, columns, true}, index);
  for (MeshTriangle& triangle : sheet.triangle) std::swap(triangle.b, triangle.c);
  smooth_normals(sheet);
  mesh.append(sheet);
}

// A narrow ribbon of two quads' width along three places, as a thread.
void add_thread(Mesh& mesh, std::uint32_t part, const glm::dvec3 (&places)[4], double width) {
  const std::uint32_t first = next_position(mesh);
  const glm::dvec3 along = places[3] - places[0];
  const glm::dvec3 side =
      0.5 * width *
      glm::normalize(glm::cross(along, glm::dvec3(along.y, -along.x, 0.3 * glm::length(along))));
  for (int row = 0; row < 4; ++row) {
    for (const double to : {-1.0, 1.0}) {
      mesh.position.emplace_back(places[row] + to * side);
      mesh.tint.emplace_back(1.f);
      mesh.uv.emplace_back(to > 0 ? 1.f : 0.f, static_cast<float>(row) / 3);
    }
  }
  add_grid_triangles(mesh, {first, 4, 2, false}, part);
}

// A web of threads from the stem to the cap's margin.
void add_cortina(Mesh& mesh, const MushroomBuild& build, const StemTube& stem) {
  Mesh web;
  const MushroomShape& shape = build.shape;
  const std::uint32_t part = build.part(web, "ring", PatternKind::none, 1);
  Random random(hash_bits(shape.seed, 0xc0b3u));
  const int threads = std::clamp(static_cast<int>(170 / shape.spacing), 24, 170);
  for (int i = 0; i < threads; ++i) {
    const double angle = 2 * pi * (i + random.between(-0.4, 0.4)) / threads;
    const double s = random.between(0.62, 0.78);
    const double off = angle + random.between(-0.25, 0.25);
    const glm::dvec3 from = stem.place(s, angle, 0.97 * stem.radius(s, angle));
    const SectionPoint edge = build.profile.under(random.between(0.93, 0.99));
    glm::dvec3 to = build.place(edge.q, off, edge.place);
    // Many have torn and hang.
    const double torn = random.chance(0.55) ? random.between(0.2, 0.8) : 1.0;
    to = mix(from, to, torn);
    const glm::dvec3 sag(0, 0, -0.12 * glm::distance(from, to) * (2 - torn));
    add_thread(web, part,
               {from, mix(from, to, 0.33) + 0.8 * sag, mix(from, to, 0.67) + sag, to + (1 - torn) * sag},
               std::clamp(0.0035 * shape.cap_radius * shape.spacing, 0.03, 0.2));
  }
  smooth_normals(web);
  mesh.append(web);
}

}  // namespace

void add_ring(Mesh& mesh, const MushroomBuild& build, const StemTube& stem) {
  const MushroomShape& shape = build.shape;
  if (shape.ring == RingForm::none) return;
  if (shape.ring == RingForm::cortina) return add_cortina(mesh, build, stem);
  Random random(hash_bits(shape.seed, 0x4196u));
  const double s = random.between(0.70, 0.76);
  const double top = stem.radius(s, 0);
  const double width = std::clamp(0.22 * shape.cap_radius, 0.9 * top, 0.3 * s * stem.length());
  const double pleats = std::floor(random.between(15, 24)), phase = random.between(0, 2 * pi);
  const bool skirt = shape.ring == RingForm::skirt;
  const auto at = [&](double v, double angle) {
    const double hem =
        1 + 0.28 * fbm(build.warp.offset() + glm::dvec3(2.2 * std::cos(angle), 2.2 * std::sin(angle), 3), 3,
                       shape.seed + 61);
    const double fold =
        0.10 * v * std::sin(pleats * angle + phase) + 0.12 * v * std::sin(3 * angle + 2 * phase);
    // A skirt hangs close to the stem, a flaring ring stands off and turns up at its edge.
    const double out = skirt ? top * (0.42 * std::sqrt(v) + 0.28 * v) : 0.85 * width * v;
    const double down = skirt ? width * hem * std::pow(v, 1.35) : width * (0.55 * v - 0.75 * v * v) * hem;
    // Its inner edge is inside the stem, so that no light passes between.
    const double here = stem.radius(s - down / stem.length(), angle);
    const double inner = v == 0 ? 0.9 * here : here * 1.02;
    return stem.place(s - down / stem.length(), angle, inner + out * (1 + 1.6 * fold));
  };
  const int columns = std::clamp(static_cast<int>(110 / shape.spacing), 24, 110);
  add_sheet_ring(mesh, build, "ring", std::clamp(static_cast<int>(9 / shape.spacing), 4, 9), columns, at);
}

// A torn fringe along the margin: deep here and there, gone in between.
void add_rags(Mesh& mesh, const MushroomBuild& build) {
  const MushroomShape& shape = build.shape;
  if (shape.margin_form != MarginForm::appendiculate) return;
  const SectionPoint edge = build.profile.under(0.992);
  const auto torn = [&](double angle, double fineness) {
    const glm::dvec3 place(fineness * std::cos(angle), fineness * std::sin(angle), 7);
    return fbm(build.warp.offset() + place, 2, shape.seed + 66);
  };
  const int columns = std::clamp(static_cast<int>(220 / shape.spacing), 40, 220);
  add_sheet_ring(mesh, build, "ring", 4, columns, [&](double v, double angle) {
    const double deep = std::max(0.0, 0.35 + 1.5 * torn(angle, 1.6) + 0.9 * torn(angle, 11)) + 0.06;
    const double drop = 0.085 * shape.cap_radius * deep * v;
    const double swing = 0.3 * drop * (torn(angle, 4) - 0.4);
    return build.place(edge.q, angle + 0.03 * v * torn(angle, 7), edge.place + glm::dvec2(swing, 0.2 - drop));
  });
}

void add_cup(Mesh& mesh, const MushroomBuild& build, const StemTube& stem) {
  const MushroomShape& shape = build.shape;
  if (shape.cup == CupForm::none) return;
  const double foot = stem.radius(stem.at_height(0), 0);
  const auto noise = [&](double angle, double fineness, double at) {
    const glm::dvec3 place(fineness * std::cos(angle), fineness * std::sin(angle), at);
    return fbm(build.warp.offset() + place, 3, shape.seed + 71);
  };
  const int columns = std::clamp(static_cast<int>(96 / shape.spacing), 24, 96);
  if (shape.cup == CupForm::sac) {
    // A torn bag: its rim lobed and open, its foot below the ground.
    const double high = std::min(1.9 * foot, 0.35 * shape.stem_length);
    add_sheet_ring(mesh, build, "cup", std::clamp(static_cast<int>(12 / shape.spacing), 5, 12), columns,
                   [&](double v, double angle) {
                     const double rim = 1.3 * std::abs(noise(angle, 0.9, 0)) + 0.10 * noise(angle, 4, 1);
                     const double up = mix(-0.9 * sunk_depth(shape), high * (0.62 + 0.75 * rim), 1 - v);
                     const double belly = 1.08 + 0.24 * std::sin(pi * std::clamp(1 - v, 0.0, 1.0)) +
                                          0.42 * std::pow(1 - v, 2.5) + 0.22 * noise(angle, 1.2, 2 + 1.2 * v);
                     const double s = stem.at_height(up);
                     return stem.place(s, angle, foot * belly);
                   });
    return;
  }
  // A ledge round the bulb, or three scaly ones above another.
  const int ledges = shape.cup == CupForm::collar ? 1 : 4;
  for (int i = 0; i < ledges; ++i) {
    const double height = foot * (ledges == 1 ? 0.85 : 0.25 + 0.42 * i);
    const double out = foot * (ledges == 1 ? 0.34 : 0.17 - 0.025 * i);
    add_sheet_ring(mesh, build, "cup", 5, columns, [&](double v, double angle) {
      const double torn = 0.5 + 0.5 * noise(angle, ledges == 1 ? 1.4 : 4.0, 5.0 * i);
      const double s =
          stem.at_height(height + foot * (0.10 * torn - 0.38 * v * v + 0.08 * noise(angle, 2, i)));
      const double here = stem.radius(s, angle);
      const double lip = std::sin(pi * std::min(0.62 * v + 0.12, 1.0));
      return stem.place(s, angle, v == 0 ? 0.92 * here : here + out * lip * (0.45 + 0.9 * torn));
    });
  }
}

void add_warts(Mesh& mesh, const MushroomBuild& build) {
  const MushroomShape& shape = build.shape;
  if (shape.warts == 0) return;
  Mesh all;
  const std::uint32_t part =
      build.part(all, "warts", PatternKind::ball, static_cast<float>(0.1 * shape.cap_radius));
  Random random(hash_bits(shape.seed, 0x3a27u));
  // Room for one of middling size; most stand closer than an even spread would have them.
  const double apart = 1.25 / std::sqrt(static_cast<double>(shape.warts));
  std::vector<glm::dvec2> taken;  // on the unit disc, equal areas of the cap
  for (int tries = 0; tries < 40 * shape.warts && static_cast<int>(taken.size()) < shape.warts; ++tries) {
    const double turn = 2 * pi * random.unit(), way = 0.95 * std::sqrt(random.unit());
    const glm::dvec2 at(way * std::cos(turn), way * std::sin(turn));
    const double closest = random.between(0.5, 1.0);
    const bool free = std::none_of(taken.begin(), taken.end(), [&](const glm::dvec2& other) {
      return glm::distance(at, other) < closest * apart;
    });
    if (!free) continue;
    taken.push_back(at);
    const SectionPoint root = build.profile.top(way);
    const glm::dvec3 base = build.place(root.q, turn, root.place);
    const glm::dvec3 up = glm::normalize(build.place(root.q, turn, root.place + 0.2 * root.normal) - base);
    // Smaller towards the margin; flat patches and pyramids mixed.
    const double size =
        apart * shape.cap_radius * (0.16 + 0.48 * std::pow(random.unit(), 1.6)) * (1.1 - 0.45 * way);
    const double height = size * random.between(0.35, 1.0) * (1 - 0.5 * shape.wear);
    add_wart(all, part, {.base = base, .up = up, .size = size, .height = height}, random);
  }
  smooth_normals(all);
  mesh.append(all);
}

}  // namespace undercap
