// The kind 'moss': a cushion of upright shoots or a mat of creeping ones, on the ground or on a host.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double golden_angle = 2.399963229728653;  // rad, pi (3 - sqrt 5)

std::vector<KindPart> moss_parts() {
  return {part_of("leaf", "moss_shoot", true), part_of("base", "moss_base", false)};
}

// A place on the cushion: where, its outward direction, the direction shoots grow in, and how far out they
// lie.
struct Footing {
  glm::dvec3 place{}, normal{0, 0, 1}, up{0, 0, 1};
  glm::dvec3 root{}, out{0, 0, 1};  // what the heap lies on there, and its outward direction
};

// A line of leaves: a shoot that stands, or a creeping one and its side shoots.
struct Shoot {
  glm::dvec3 root{}, along{0, 0, 1};
  glm::dvec3 bow{0};  // added to 'along' from root to tip
  double length = 7;
  int whorls = 4, leaves = 5;
  double leaf = 0.34;   // of a leaf, as a share of the length
  double open = 0.25;   // rad that the lowest leaves stand off from level; the upper ones close to a star
  double first = 0.34;  // share of the length where the leaves begin
  double shade = 1, dry = 0;
};

class MossBuilder {
 public:
  MossBuilder(const KeyValues& values, const Setting& setting)
      : setting_(setting),
        radius_(0.5 * number(values, "diameter_mm")),
        height_(number(values, "height_mm")),
        shoot_(number(values, "shoot_mm")),
        density_per_mm2_(0.01 * number(values, "shoots_per_cm2")),
        log_radius_(number(values, "log_radius_mm")),
        broken_(number(values, "broken")),
        mat_(text(values, "habit") == "mat"),
        seed_(seed_of(values)),
        random_(hash_bits(seed_, 0x3055u)) {
    leaf_ = mesh_.part_index("leaf");
    base_ = mesh_.part_index("base");
    const double pixels = setting.pixel_m > 0 ? 1e-3 * shoot_ / setting.pixel_m : 1e9;
    // Seen small, fewer and larger shoots of fewer leaves cover the same heap.
    thin_ = pixels < 6 ? 6 : pixels < 16 ? 2.5 : 1;
  }

  Mesh build() {
    const double of_each = mat_ ? 1.8 * thin_ : thin_;
    const auto shoots =
        std::max(3, static_cast<int>(std::lround(density_per_mm2_ / of_each * pi * radius_ * radius_)));
    // The power is below 1/2, which would be even in plan, since the flanks of the heap are steep.
    for (int i = 0; i < shoots; ++i) scatter_shoot(std::pow((i + 0.5) / shoots, mat_ ? 0.5 : 0.40), i);
    smooth_normals(mesh_);
    mesh_.append(dome());
    mesh_.parts[leaf_].pattern = {
        .kind = PatternKind::moss, .seed = seed_, .size_mm = static_cast<float>(shoot_)};
    mesh_.parts[base_].pattern = {.kind = PatternKind::soil, .seed = seed_ + 1, .size_mm = 3};
    scale_mesh(mesh_, 1e-3f);
    balance_tints(mesh_, moss_parts());
    return std::move(mesh_);
  }

 private:
  // The lobed outline: the cushion's reach in a direction, as a share of its radius.
  double reach(double angle) const {
    const glm::dvec3 ring(std::cos(angle) + 4.5, std::sin(angle) + 2.5, 0.5);
    return 1 + 0.34 * fbm(1.3 * ring, 3, seed_ + 1);
  }

  // The way round a log as its share across it, so that shoots stand as close on its flanks as on its back.
  double across_log(double way) const {
    if (log_radius_ <= 0) return way;
    constexpr double steepest = 1.2;  // rad from the top; farther down the cushion hardly spreads
    const double angle = std::abs(way) / log_radius_;
    const double across = std::sin(std::min(angle, steepest)) + 0.05 * std::max(angle - steepest, 0.0);
    return std::copysign(log_radius_ * across, way);
  }

  // What the cushion lies on, mm: its host, the ground, or the back of a log that runs along x.
  Footing support(double x, double y) const {
    const HostPlace foot = footing_at(setting_, {1e-3 * x, 1e-3 * y, 0});
    Footing here;
    here.place = 1e3 * foot.point_m;
    here.normal = here.up = foot.normal;
    if (log_radius_ > 0) {
      const double off = std::clamp(y, -0.94 * log_radius_, 0.94 * log_radius_);
      const double top = std::sqrt(log_radius_ * log_radius_ - off * off);
      here.place.z -= log_radius_ - top;
      here.normal = glm::normalize(here.normal + glm::dvec3(0, off / top, 0));
    }
    return here;
  }

  // Height of the heap over what it lies on; q 0 in the middle to 1 at the outline.
  double heap(double q, double x, double y) const {
    const glm::dvec2 place(x, y);
    const double lumps =
        1 + 0.40 * fbm(place / (0.55 * radius_) + 7.5, 2, seed_ + 2) + 0.16 * fbm(place / 7.0, 2, seed_ + 3);
    return height_ * std::sqrt(std::max(1 - q * q, 0.0)) * lumps - 2.5 * ramp(0.9, 1.0, q);
  }

  Footing footing(double q, double angle) const {
    const double r = q * radius_ * reach(angle);
    const double x = r * std::cos(angle), y = across_log(r * std::sin(angle));
    Footing here = support(x, y);
    here.root = here.place;
    here.out = here.normal;
    const double inner = std::min(q, 0.96), step = 0.03;
    const double fall = (heap(inner, x, y) - heap(inner + step, x, y)) / (step * radius_);
    const glm::dvec3 out = glm::dvec3(std::cos(angle), std::sin(angle), 0);
    const glm::dvec3 level = out - glm::dot(out, here.normal) * here.normal;
    here.place += heap(q, x, y) * here.normal;
    here.normal = glm::normalize(here.normal + std::min(fall, 2.5) * level);
    here.up = glm::normalize(0.7 * here.normal + 0.5 * setting_.up);
    return here;
  }

  // Moss leaves holes, and on the flank of a host it keeps to what looks up.
  bool grows_at(const Footing& foot, double q) const {
    const double patch = fbm(foot.place / (0.30 * radius_ + 4.0), 3, seed_ + 6);
    const double upward = setting_.nearest_on_host ? glm::dot(foot.normal, setting_.up) : 1.0;
    return patch + 0.9 * upward - 0.5 * q > 1.3 * broken_ - 0.55;
  }

  void scatter_shoot(double q, int number) {
    const double angle = number * golden_angle + random_.between(-0.2, 0.2);
    // A few stand astray outside the cushion.
    const double out = std::clamp(
        q + 0.02 * random_.spread() + (random_.chance(0.05) ? random_.between(0, 0.22) : 0.0), 0.0, 1.2);
    Footing foot = footing(std::min(out, 1.0), angle);
    if (out > 1) {
      const double r = out * radius_ * reach(angle);
      const Footing outside = support(r * std::cos(angle), across_log(r * std::sin(angle)));
      foot.place = outside.place;
    }
    const glm::dvec3 stray(random_.spread(), random_.spread(), 0);
    const double size = shoot_ * random_.between(0.7, 1.3) * (out > 0.97 ? 0.65 : 1.0);
    if (!grows_at(foot, out) || !allowed_at(setting_, 1e-3 * foot.place.x, 1e-3 * foot.place.y)) return;
    if (mat_)
      creep(foot, angle, size);
    else
      stand(foot, glm::normalize(foot.up + 0.20 * stray), size);
  }

  Shoot coloured(const Footing& foot) {
    Shoot shoot;
    shoot.shade = random_.between(0.78, 1.2);
    shoot.dry = ramp(0.10, 0.75, fbm(glm::dvec2(foot.place) / 33.0, 3, seed_ + 4) + 0.25 * random_.unit());
    return shoot;
  }

  // Whorls of pointed leaves up a stem, closing to a star at the tip. Only the upper part shows.
  void stand(const Footing& foot, const glm::dvec3& up, double length) {
    Shoot shoot = coloured(foot);
    shoot.root = foot.place - 0.25 * length * up;
    shoot.along = up;
    shoot.length = length;
    if (thin_ > 1) shoot.whorls = 2, shoot.leaf *= 1.15 * std::sqrt(thin_), shoot.first = 0.6;
    add_shoot(shoot);
  }

  // A stem that creeps outwards over the heap, with side shoots in two rows like a feather.
  void creep(const Footing& foot, double angle, double length) {
    const double heading = angle + 0.9 * random_.spread();
    const glm::dvec3 flat(std::cos(heading), std::sin(heading), 0);
    const glm::dvec3 out = glm::normalize(flat - glm::dot(flat, foot.normal) * foot.normal);
    const glm::dvec3 side = glm::cross(foot.normal, out);
    Shoot stem = coloured(foot);
    stem.root = foot.place + random_.between(-0.4, 0.9) * foot.normal;
    stem.along = glm::normalize(out + random_.between(0.0, 0.28) * foot.normal);
    stem.bow = random_.between(-0.9, 0.1) * foot.normal + 0.35 * random_.spread() * side;
    stem.length = 2.1 * length;
    stem.whorls = thin_ > 1 ? 3 : 8;
    stem.leaves = 3;
    stem.leaf = 0.13 * std::sqrt(thin_);
    stem.open = 0.75;
    stem.first = 0.05;
    add_shoot(stem);
    const int branches = thin_ > 2.5 ? 2 : 5;
    for (int i = 0; i < branches; ++i) {
      const double s = 0.15 + 0.7 * i / branches, hand = i % 2 == 0 ? 1.0 : -1.0;
      Shoot branch = stem;
      branch.root = stem.root + s * stem.length * glm::normalize(stem.along + 0.5 * s * stem.bow);
      branch.along =
          glm::normalize(0.75 * stem.along + hand * side + random_.between(-0.15, 0.2) * foot.normal);
      branch.bow = -0.5 * hand * side - random_.between(0.0, 0.7) * foot.normal;
      branch.length = stem.length * random_.between(0.25, 0.48) * (1.1 - 0.6 * s);
      branch.whorls = thin_ > 1 ? 2 : 5;
      branch.leaf = 0.27 * std::sqrt(thin_);
      add_shoot(branch);
    }
  }

  void add_shoot(const Shoot& shoot) {
    const glm::dvec3 x = glm::normalize(glm::cross(shoot.along, glm::dvec3(0.3, 1, 0.2)));
    const glm::dvec3 y = glm::cross(shoot.along, x);
    const double turn = random_.between(0, 2 * pi);
    for (int whorl = 0; whorl < shoot.whorls; ++whorl) {
      const double s = shoot.first + (0.96 - shoot.first) * whorl / std::max(shoot.whorls - 1, 1);
      const double rise = mix(shoot.open, 1.05, std::pow(s, 1.6)) + random_.between(-0.12, 0.12);
      const glm::dvec3 along = glm::normalize(shoot.along + s * shoot.bow);
      const glm::dvec3 root =
          shoot.root + s * shoot.length * glm::normalize(shoot.along + 0.5 * s * shoot.bow);
      for (int leaf = 0; leaf < shoot.leaves; ++leaf) {
        const double angle =
            turn + 2 * pi * (leaf + 0.5 * whorl) / shoot.leaves + random_.between(-0.25, 0.25);
        const glm::dvec3 out = std::cos(angle) * x + std::sin(angle) * y;
        const glm::dvec3 side = std::cos(angle) * y - std::sin(angle) * x;
        const double reach_mm = shoot.length * shoot.leaf * random_.between(0.82, 1.18) * mix(1.0, 0.72, s);
        add_leaflet(root, reach_mm * (std::cos(rise) * out + std::sin(rise) * along), 0.17 * reach_mm * side,
                    0.10 * reach_mm * along, s, shoot);
      }
    }
  }

  // Two triangles folded along the leaf's middle.
  void add_leaflet(const glm::dvec3& root, const glm::dvec3& reach_mm, const glm::dvec3& side,
                   const glm::dvec3& lift, double s, const Shoot& shoot) {
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    const glm::dvec3 belly = root + 0.42 * reach_mm + lift;
    for (const glm::dvec3& place : {root, belly - side, root + reach_mm, belly + side})
      mesh_.position.emplace_back(place);
    // The change from the base of a shoot to its tip is the pattern's, by uv.
    const glm::dvec3 green(0.160, 0.205, 0.034), straw(0.215, 0.190, 0.050);
    mesh_.tint.insert(mesh_.tint.end(), 4, glm::vec3(shoot.shade * mix(green, straw, 0.6 * shoot.dry)));
    for (const double along : {s - 0.12, s, s + 0.12, s})
      mesh_.uv.emplace_back(0.5, std::clamp(along, 0.0, 1.0));
    mesh_.triangle.push_back({first, first + 1, first + 2, leaf_});
    mesh_.triangle.push_back({first, first + 2, first + 3, leaf_});
  }

  // The dark heap of old stems beneath, closed below.
  Mesh dome() const {
    const int rings = thin_ > 1 ? 8 : 14, columns = thin_ > 1 ? 28 : 56;
    Mesh body;
    const std::uint32_t part = body.part_index("base");
    const auto add = [&](const Footing& foot, double q) {
      // Where no moss grows the heap goes below what it lies on.
      const double sink = (mat_ ? 0.12 * shoot_ : 0) + 0.25 * shoot_ * ramp(0.7, 1.0, q);
      body.position.emplace_back(grows_at(foot, q) ? foot.place - sink * foot.normal
                                                   : foot.root - 1.5 * foot.out);
      body.tint.emplace_back(static_cast<float>(1 + 0.5 * fbm(glm::dvec2(foot.place) / 6.0, 2, seed_ + 5)));
    };
    add(footing(0, 0), 0);
    for (int ring = 1; ring <= rings; ++ring) {
      const double q = std::sin(0.5 * pi * ring / rings);
      for (int column = 0; column < columns; ++column) add(footing(q, 2 * pi * column / columns), q);
    }
    const Footing middle = support(0, 0);
    body.position.emplace_back(middle.place - (4 + height_) * middle.normal);
    body.tint.emplace_back(1.f);
    const auto bottom = static_cast<std::uint32_t>(body.position.size() - 1);
    add_grid_triangles(body, {1, rings, columns, true}, part);
    for (MeshTriangle& one : body.triangle) std::swap(one.b, one.c);
    add_fan(body, 0, 1, columns, part);
    add_fan(body, bottom, bottom - static_cast<std::uint32_t>(columns), columns, part, true);
    smooth_normals(body);
    return body;
  }

  const Setting& setting_;
  double radius_, height_, shoot_, density_per_mm2_, log_radius_, broken_;
  bool mat_;
  double thin_ = 1;
  std::uint32_t seed_;
  Random random_;
  Mesh mesh_;
  std::uint32_t leaf_ = 0, base_ = 0;
};

}  // namespace

Kind moss_kind() {
  return {
      "moss",
      "moss on the ground or on a host: a cushion of upright shoots, or a mat of creeping ones",
      {choice_key("habit", "cushion", "cushion mat",
                  "cushion: upright shoots; mat: feathered, creeping ones"),
       number_key("diameter_mm", "90", 8, 1000, "mean width of the patch"),
       number_key("height_mm", "14", 0, 120, "of the heap in the middle, without the shoots"),
       number_key("shoot_mm", "7", 1.5, 40, "length of a shoot"),
       number_key("shoots_per_cm2", "22", 0.5, 60,
                  "shoots; each has 40 triangles, fewer where it is seen small"),
       number_key("broken", "0.3", 0, 1, "0 a whole cover, 1 mostly holes"),
       number_key("log_radius_mm", "0", 0, 1000,
                  "bends the cushion down over a log of this radius that runs along its x axis; 0 = none"),
       seed_key()},
      moss_parts(),
      [](const KeyValues& values, const Setting& setting) { return MossBuilder(values, setting).build(); },
      true,
      Hold::lies};
}

}  // namespace undercap
