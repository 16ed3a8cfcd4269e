// The kind 'ball': round fruit bodies without a cap, smooth, warty or spiny, some on a foot like a pear.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"
#include "engine/shape/wart.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

struct BallShape {
  double radius = 20, height = 36;  // mm
  double taper = 0.15;              // 0 globose .. 1 a pear on a narrow foot
  double dent = 1, age = 0.5;
  enum class Skin { smooth, scales, cones } skin = Skin::smooth;
  int pieces = 0;
  double piece_mm = 1;
  glm::dvec2 lean{0};
  double spacing = 1;  // mm between positions
  std::uint32_t seed = 1;
};

class BallBuilder {
 public:
  BallBuilder(const BallShape& shape, int individual) : shape_(shape), individual_(individual) {
    Random random(hash_bits(shape.seed, 0xba11u));
    offset_ = {random.between(0, 64), random.between(0, 64), random.between(0, 64)};
    folds_ = std::floor(random.between(8, 13));
    phase_ = random.between(0, 2 * pi);
    sunk_ = std::clamp(0.08 * shape.height, 1.0, 5.0);
    columns_ = std::clamp(static_cast<int>(2 * pi * shape.radius / shape.spacing), 16, 120);
    rows_ = std::clamp(static_cast<int>(1.3 * (shape.height + shape.radius) / shape.spacing), 12, 72);
  }

  Mesh build() {
    const std::uint32_t foot = add_part("foot", PatternKind::stem),
                        skin = add_part("skin", PatternKind::ball);
    const std::uint32_t bottom = add(0, 0);
    for (int row = 1; row < rows_; ++row)
      for (int column = 0; column < columns_; ++column)
        add(static_cast<double>(row) / rows_, 2 * pi * column / columns_);
    const std::uint32_t top = add(1, 0);
    const int foot_rows = std::clamp(static_cast<int>(std::lround(foot_end() * rows_)), 2, rows_ - 3);
    const auto columns = static_cast<std::uint32_t>(columns_);
    add_fan(mesh_, bottom, bottom + 1, columns_, foot, true);
    add_grid_triangles(mesh_, {bottom + 1, foot_rows, columns_, true}, foot);
    add_grid_triangles(
        mesh_,
        {bottom + 1 + static_cast<std::uint32_t>(foot_rows - 1) * columns, rows_ - foot_rows, columns_, true},
        skin);
    add_fan(mesh_, top, top - columns, columns_, skin);
    smooth_normals(mesh_);
    add_pieces();
    return std::move(mesh_);
  }

 private:
  std::uint32_t add_part(const char* name, PatternKind kind) {
    const std::uint32_t index = mesh_.part_index(name, individual_);
    Pattern& pattern = mesh_.parts[index].pattern;
    pattern.kind = kind;
    pattern.seed = hash_bits(shape_.seed, 0x771u);
    pattern.size_mm = static_cast<float>(shape_.radius);
    pattern.wear = static_cast<float>(shape_.age);
    return index;
  }

  // Share of the way from the bottom to the top where the foot ends.
  double foot_end() const { return mix(0.2, 0.36, shape_.taper); }

  // t from 0 at the bottom to 1 at the top.
  glm::dvec3 place(double t, double angle) const {
    const double theta = pi * t, full = shape_.height + sunk_;
    const double low = ramp(0.62, 0.12, t);  // of the foot
    double r = shape_.radius * std::sin(theta);
    // Towards the foot the ball narrows to a pleated stalk.
    const double stalk = shape_.radius * mix(0.62, 0.36, shape_.taper) * std::pow(std::min(1.0, 7 * t), 0.5);
    r = mix(r, std::min(stalk, 1.1 * r + 0.4 * stalk), low * mix(0.35, 1.0, shape_.taper));
    const glm::dvec3 ring(std::cos(angle), std::sin(angle), 0);
    const glm::dvec3 at =
        offset_ + 1.2 * glm::dvec3(std::sin(theta) * ring.x, std::sin(theta) * ring.y, std::cos(theta));
    r *= 1 + 0.075 * low * std::sin(folds_ * angle + phase_ + 1.5 * fbm(at, 2, shape_.seed + 5));
    r *= 1 + 0.10 * shape_.dent * fbm(at, 3, shape_.seed);
    // The upper half is rounder than an ellipse; its crown sinks with age and opens.
    double up = 0.5 - 0.5 * std::cos(theta);
    up = mix(up, std::pow(t, 0.86), 0.35 * shape_.taper);
    double z = full * up - sunk_ +
               0.05 * shape_.dent * shape_.height * fbm(at + 9.0, 2, shape_.seed + 1) * std::sin(theta);
    const double crown = std::pow(std::max((t - 0.86) / 0.14, 0.0), 2.0);
    z -= shape_.height * (0.02 + 0.09 * std::max(shape_.age - 0.5, 0.0)) * crown;
    const glm::dvec2 lean = shape_.lean * z;
    return {r * ring.x + lean.x, r * ring.y + lean.y, z};
  }

  std::uint32_t add(double t, double angle) {
    const glm::dvec3 at = place(t, angle);
    const double soil =
        ramp(0.22, 0.0,
             at.z / shape_.height +
                 0.2 * fbm(offset_ + 3.0 * glm::dvec3(std::cos(angle), std::sin(angle), at.z / shape_.height),
                           3, shape_.seed + 8));
    mesh_.position.emplace_back(at);
    mesh_.tint.emplace_back(mix(glm::dvec3(1), glm::dvec3(0.32, 0.26, 0.2), 0.8 * soil));
    mesh_.uv.emplace_back(angle / (2 * pi), t);
    return static_cast<std::uint32_t>(mesh_.position.size() - 1);
  }

  // Scales or cones, evenly apart over the upper skin, smaller towards the foot.
  void add_pieces() {
    if (shape_.pieces == 0 || shape_.skin == BallShape::Skin::smooth) return;
    const bool cones = shape_.skin == BallShape::Skin::cones;
    Mesh pieces;
    const std::uint32_t part = pieces.part_index("skin", individual_);
    pieces.parts[part] = mesh_.parts[mesh_.part_index("skin", individual_)];
    Random random(hash_bits(shape_.seed, 0x3ec0u));
    std::vector<glm::dvec3> taken;  // on the unit sphere
    const double apart = 2.6 / std::sqrt(static_cast<double>(shape_.pieces));
    for (int tries = 0; tries < 12 * shape_.pieces; ++tries) {
      const double z = random.between(-0.45, 1), angle = 2 * pi * random.unit(), r = std::sqrt(1 - z * z);
      const glm::dvec3 at(r * std::cos(angle), r * std::sin(angle), z);
      const bool free = std::none_of(taken.begin(), taken.end(), [&](const glm::dvec3& other) {
        return glm::distance(at, other) < apart;
      });
      if (!free) continue;
      taken.push_back(at);
      // Some cones have fallen and left bare places, more with age.
      if (cones && gradient_noise(3.0 * at + offset_, shape_.seed + 4) > 0.62 - 0.5 * shape_.age) continue;
      const double t = std::acos(-z) / pi;
      const glm::dvec3 here = place(t, angle);
      const glm::dvec3 along = place(std::min(t + 0.01, 0.999), angle) - here,
                       round = place(t, angle + 0.02) - here;
      const glm::dvec3 up = glm::normalize(glm::cross(round, along));
      const double near_foot = ramp(-0.45, 0.2, z);
      const double size = std::min(shape_.piece_mm, 0.55 * apart * shape_.radius) *
                          random.between(0.75, 1.15) * mix(0.5, 1.0, near_foot);
      add_wart(pieces, part,
               {.base = here,
                .up = up,
                .size = cones ? 0.55 * size : size,
                .height = cones ? 1.25 * size : 0.28 * size,
                .point = cones ? 0.16 : 0.72,
                .corners = cones ? 5 : 6},
               random);
    }
    smooth_normals(pieces);
    mesh_.append(pieces);
  }

  BallShape shape_;
  int individual_;
  Mesh mesh_;
  glm::dvec3 offset_{};
  double folds_ = 10, phase_ = 0, sunk_ = 2;
  int columns_ = 0, rows_ = 0;
};

BallShape shape_from(const KeyValues& values, const Setting& setting) {
  BallShape shape;
  shape.radius = 0.5 * number(values, "diameter_mm");
  shape.height = number(values, "height_mm");
  shape.taper = number(values, "taper");
  shape.dent = number(values, "dent");
  shape.age = number(values, "age");
  const std::string& skin = text(values, "skin");
  shape.skin = skin == "scales"  ? BallShape::Skin::scales
               : skin == "cones" ? BallShape::Skin::cones
                                 : BallShape::Skin::smooth;
  shape.pieces = whole(values, "pieces");
  shape.piece_mm = number(values, "piece_mm");
  shape.seed = seed_of(values);
  const double pixel_mm = 1e3 * setting.pixel_m;
  shape.spacing = std::max(std::clamp(0.04 * shape.radius, 0.4, 3.0), 6 * pixel_mm);
  // Pieces smaller than a pixel are left to the pattern.
  if (shape.piece_mm < pixel_mm) shape.pieces = 0;
  return shape;
}

Mesh build_balls(const KeyValues& values, const Setting& setting) {
  const Kind& kind = *find_kind("ball");
  const BallShape model = shape_from(values, setting);
  const KindPreset* preset = find_preset(kind.presets, text(values, "preset"));
  const int count = whole(values, "count");
  const double spread = number(values, "spread_mm");
  Random random(hash_bits(model.seed, 0x60a1u));
  Mesh mesh;
  std::vector<glm::dvec3> taken;  // x, y, radius
  for (int tries = 0; tries < 200 * count && static_cast<int>(taken.size()) < count; ++tries) {
    const bool first = taken.empty();
    BallShape shape = model;
    const double size = first ? 1 : random.between(0.4, 0.95), turn = 2 * pi * random.unit();
    const double far = first ? 0 : spread * std::sqrt(random.unit());
    const glm::dvec2 at(far * std::cos(turn), far * std::sin(turn));
    shape.lean = {random.between(-0.13, 0.13), random.between(-0.13, 0.13)};
    const double radius = 1.05 * size * model.radius;
    if (std::any_of(taken.begin(), taken.end(),
                    [&](const glm::dvec3& o) { return std::hypot(at.x - o.x, at.y - o.y) < radius + o.z; }))
      continue;
    taken.push_back({at, radius});
    shape.radius *= size;
    shape.height *= size * (first ? 1 : random.between(0.9, 1.1));
    shape.piece_mm *= std::sqrt(size);
    shape.age = std::clamp(model.age - (first ? 0 : 0.3 * (1 - size)), 0.0, 1.0);
    shape.seed = hash_bits(model.seed, static_cast<std::uint32_t>(taken.size()));
    Mesh ball = BallBuilder(shape, static_cast<int>(taken.size())).build();
    scale_mesh(ball, 1e-3f);
    const glm::dvec2 base = 1e-3 * at;
    const glm::vec3 shift(base.x, base.y, ground_at(setting, base.x, base.y));
    for (glm::vec3& place : ball.position) place += shift;
    mesh.append(ball);
  }
  for (MeshPart& part : mesh.parts) {
    part.pattern.tone = {0.7f, 0.6f, 0.48f};
    if (!preset) continue;
    for (const KindPreset::Part& own : preset->parts)
      if (own.name == part.name) part.pattern.tone = own.tone;
  }
  balance_tints(mesh, parts_with(kind, values));
  return mesh;
}

std::vector<KindPreset> ball_presets() {
  return {
      {"earth_ball",
       {{"diameter_mm", "58"},
        {"height_mm", "44"},
        {"taper", "0.1"},
        {"skin", "\"scales\""},
        {"pieces", "700"},
        {"piece_mm", "2.2"},
        {"dent", "1.3"}},
       {{"skin", "earth_skin", {.72f, .6f, .48f}}, {"foot", "buff_stem", {.6f, .5f, .4f}}}},
      {"pear_puff",
       {{"diameter_mm", "36"},
        {"height_mm", "58"},
        {"taper", "0.85"},
        {"skin", "\"cones\""},
        {"pieces", "900"},
        {"piece_mm", "1"}},
       {{"skin", "puff_skin", {.85f, .75f, .6f}}, {"foot", "puff_skin", {.8f, .7f, .55f}}}},
      {"spiny_white",
       {{"diameter_mm", "34"},
        {"height_mm", "36"},
        {"taper", "0.4"},
        {"skin", "\"cones\""},
        {"pieces", "500"},
        {"piece_mm", "2"},
        {"age", "0.2"}},
       {{"skin", "white_puff", {.9f, .82f, .7f}}, {"foot", "white_puff", {.85f, .76f, .62f}}}},
  };
}

}  // namespace

Kind ball_kind() {
  Kind kind;
  kind.name = "ball";
  kind.meaning = "a round fruit body without a cap: globose or pear-shaped, smooth, scaly or spiny";
  kind.presets = ball_presets();
  kind.keys = {
      preset_key(kind.presets),
      number_key("diameter_mm", "40", 3, 400, "greatest width"),
      number_key("height_mm", "36", 3, 400, "above the ground"),
      number_key("taper", "0.25", 0, 1, "0 round, 1 a pear on a narrow foot"),
      choice_key("skin", "smooth", "smooth scales cones", "what the skin bears"),
      integer_key("pieces", "400", 0, 1200, "scales or cones, about"),
      number_key("piece_mm", "1.2", 0.1, 12, "radius of a scale, length of a cone"),
      number_key("dent", "1", 0, 3, "how uneven it is; 1 is usual"),
      number_key("age", "0.5", 0, 1, "0 fresh, 1 old: its cones fallen, its crown sunk"),
      integer_key("count", "1", 1, 40, "individuals; the first is the largest"),
      number_key("spread_mm", "80", 5, 3000, "radius within which they stand"),
      seed_key(),
  };
  kind.parts = {part_of("skin", "puff_skin", false), part_of("foot", "puff_skin", false)};
  kind.build = build_balls;
  return kind;
}

}  // namespace undercap
