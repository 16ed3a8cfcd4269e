// The kind 'lichen': a crust like spilt paint, or a rosette of leafy lobes, on the ground or hugging a host.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/crawl.h"
#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

std::vector<KindPart> lichen_parts() { return {part_of("lichen", "lichen", true)}; }

class LichenBuilder {
 public:
  LichenBuilder(const KeyValues& values, const Setting& setting)
      : radius_(0.5 * number(values, "diameter_mm")),
        seed_(seed_of(values)),
        leafy_(text(values, "form") == "leafy"),
        broken_(number(values, "broken")),
        crawl_(setting, 1.6 * radius_) {
    const double pixels = setting.pixel_m > 0 ? 2e-3 * radius_ / setting.pixel_m : 1e9;
    fine_ = pixels > 150;
    part_ = mesh_.part_index("lichen");
    mesh_.parts[part_].pattern = {.kind = PatternKind::stone,
                                  .seed = seed_,
                                  .size_mm = leafy_ ? 2.5f : 1.2f,
                                  .strength = 0.8f,
                                  .relief = 0.7f};
  }

  Mesh build() {
    if (leafy_)
      add_rosette();
    else
      add_crust();
    smooth_normals(mesh_);
    scale_mesh(mesh_, 1e-3f);
    balance_tints(mesh_, lichen_parts());
    return std::move(mesh_);
  }

 private:
  // Above 0 where the patch covers its host: broad lobes, a ragged fine edge, and holes where it is worn.
  double cover(const glm::dvec2& flat) const {
    const double q = glm::length(flat) / radius_;
    const double lobes = fbm(flat / (0.55 * radius_) + 4.5, 2, seed_ + 1),
                 edge = fbm(flat / 2.6, 3, seed_ + 2);
    const double worn = broken_ * ramp(0.0, 0.5, 1.3 * fbm(flat / (0.33 * radius_) + 9.5, 3, seed_ + 5));
    return 1 - q + 0.55 * lobes + 0.20 * edge - 1.4 * worn * ramp(1.1, 0.6, q);
  }

  // How far a rosette reaches in a direction, as a share of the radius.
  double reach(double angle) const {
    const glm::dvec3 ring(std::cos(angle), std::sin(angle), 0.5);
    return 0.95 + 0.30 * fbm(1.7 * ring + 2.5, 2, seed_ + 1);
  }

  // A sheet cracked into areoles: thin valleys, grey of two tones, a pale growing edge. Beyond its border it
  // dips below the surface of the host, so that the outline is a smooth line however coarse the grid.
  void add_crust() {
    const double step = fine_ ? std::max(0.45, radius_ / 70) : radius_ / 14, reach = 1.5 * radius_;
    const int side = 2 * static_cast<int>(reach / step) + 1;
    std::vector<double> covers;
    for (int row = 0; row < side; ++row)
      for (int column = 0; column < side; ++column) {
        const glm::dvec2 flat = step * glm::dvec2(column - side / 2, row - side / 2);
        covers.push_back(cover(flat));
        add_crust_point(flat, covers.back());
      }
    const auto wide = static_cast<std::uint32_t>(side);
    const auto shown = [&](std::uint32_t i) { return covers[i] > -0.25; };
    for (std::uint32_t row = 0; row + 1 < wide; ++row)
      for (std::uint32_t column = 0; column + 1 < wide; ++column) {
        const std::uint32_t a = row * wide + column, b = a + 1, c = b + wide, d = a + wide;
        if (!shown(a) && !shown(b) && !shown(c) && !shown(d)) continue;
        mesh_.triangle.push_back({a, b, c, part_});
        mesh_.triangle.push_back({a, c, d, part_});
      }
    drop_unused_positions();
  }

  void add_crust_point(const glm::dvec2& flat, double covers) {
    constexpr double pitch = 1.3, thick = 0.32;
    const glm::dvec2 bend(fbm(flat / 2.3, 2, seed_ + 4), fbm(flat / 2.3 + 5.5, 2, seed_ + 4));
    const Cell areole = cells(flat / pitch + 0.35 * bend, seed_ + 3);
    const double inner = ramp(0.02, 0.22, covers);
    const double crack = ramp(0.18, 0.02, areole.second - areole.nearest) * inner;
    const double island = unit_from_bits(areole.id);
    const double off = covers < 0 ? std::max(4.0 * covers, -1.2) : thick * ramp(-0.03, 0.10, covers);
    mesh_.position.emplace_back(crawl_.at(flat, off + inner * thick * (0.5 * island - 0.8 * crack)));
    const double patches = fbm(flat / (0.3 * radius_), 3, seed_ + 6);
    const double tone = 1 + 0.3 * patches - 0.5 * crack + 0.25 * (island - 0.5) * inner + 0.22 * (1 - inner);
    mesh_.tint.emplace_back(tone * glm::dvec3(1, 1, mix(0.92, 1.0, tone)));
    mesh_.uv.emplace_back(0.f, 0.f);
  }

  void drop_unused_positions() {
    std::vector<std::uint32_t> place(mesh_.position.size(), 0);
    for (const MeshTriangle& one : mesh_.triangle) place[one.a] = place[one.b] = place[one.c] = 1;
    Mesh kept;
    kept.parts = mesh_.parts;
    for (std::size_t i = 0; i < place.size(); ++i) {
      if (place[i] == 0) continue;
      place[i] = static_cast<std::uint32_t>(kept.position.size());
      kept.position.push_back(mesh_.position[i]);
      kept.tint.push_back(mesh_.tint[i]);
      kept.uv.push_back(mesh_.uv[i]);
    }
    for (const MeshTriangle& one : mesh_.triangle)
      kept.triangle.push_back({place[one.a], place[one.b], place[one.c], one.part});
    mesh_ = std::move(kept);
  }

  // Lobes in rings from the rim inwards, each lapping over the next one out, forked at the end.
  void add_rosette() {
    const double wide = std::clamp(0.042 * radius_, 0.6, 3.0);
    const int rings = std::max(3, static_cast<int>(radius_ / (2.4 * wide)));
    for (int ring = rings; ring >= 1; --ring) {
      const double q = (ring - 0.35) / rings;
      const int lobes = std::max(5, static_cast<int>(2 * pi * q * radius_ / (1.9 * wide)));
      for (int i = 0; i < lobes; ++i) {
        Random random(
            hash_bits(hash_bits(seed_, static_cast<std::uint32_t>(ring)), static_cast<std::uint32_t>(i)));
        const double angle = 2 * pi * (i + 0.35 * random.spread()) / lobes;
        const double out = std::max(0.05, q * reach(angle) + 0.05 * random.spread());
        if (random.chance(0.5 * broken_ * ramp(0.9, 0.2, q))) continue;
        add_lobe(angle, out * radius_, wide, 1.0 - 0.5 * q, random);
      }
    }
  }

  void add_lobe(double angle, double r, double wide, double lift, Random& random) {
    const int rows = fine_ ? 7 : 4, columns = fine_ ? 5 : 3;
    const double length = wide * random.between(4.5, 8.0), turn = angle + 0.35 * random.spread();
    const double raised = lift * wide * random.between(0.1, 0.8), shade = random.between(0.75, 1.15);
    const glm::dvec2 along(std::cos(turn), std::sin(turn)), across(-along.y, along.x);
    const glm::dvec2 root = r * glm::dvec2(std::cos(angle), std::sin(angle)) - 0.75 * length * along;
    const double hand = random.chance(0.5) ? 1.0 : -1.0, bow = 0.3 * random.spread();
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    for (int row = 0; row < rows; ++row) {
      const double u = static_cast<double>(row) / (rows - 1);
      const double half = wide * random.between(0.95, 1.05) * mix(0.55, 1.05, ramp(0, 0.75, u)) *
                          (row + 1 == rows ? 0.62 : 1.0);
      for (int column = 0; column < columns; ++column) {
        const double v = 1 - 2.0 * column / (columns - 1);
        // A shallow notch at the end makes two tips of it.
        const double notch = -0.35 * wide * ramp(0.7, 1.0, u) * ramp(0.5, 0.0, std::abs(v - 0.15 * hand));
        const glm::dvec2 flat =
            root + (u * length + notch) * along + (v * half + bow * u * u * wide * 2) * across;
        const double off = 0.35 + raised * u * u + 0.22 * wide * (v * v - 0.4) * ramp(0.3, 1.0, u);
        mesh_.position.emplace_back(crawl_.at(flat, std::max(off, 0.15)));
        const double tone = shade * (0.72 + 0.35 * u + 0.18 * v * v * u);
        mesh_.tint.emplace_back(tone * glm::dvec3(1, 1, mix(0.93, 1.0, u)));
        mesh_.uv.emplace_back(0.f, u);
      }
    }
    add_grid_triangles(mesh_, {first, rows, columns, false}, part_);
  }

  double radius_;
  std::uint32_t seed_;
  bool leafy_;
  double broken_;
  Crawl crawl_;
  bool fine_ = true;
  Mesh mesh_;
  std::uint32_t part_ = 0;
};

}  // namespace

Kind lichen_kind() {
  return {
      "lichen",
      "a patch of lichen on the ground, a stone or a log",
      {choice_key("form", "crust", "crust leafy", "crust: a thin cracked sheet; leafy: a rosette of lobes"),
       number_key("diameter_mm", "45", 3, 300, "mean width of the patch"),
       number_key("broken", "0.3", 0, 1, "0 whole, 1 worn to islands"), seed_key()},
      lichen_parts(),
      [](const KeyValues& values, const Setting& setting) { return LichenBuilder(values, setting).build(); },
      false,
      Hold::lies};
}

}  // namespace undercap
