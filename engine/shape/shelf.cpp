// The kind 'shelf': brackets that grow out of wood, alone or in tiers.
//
// A shelf's own space: mm, its back at the origin in the host, the front towards -y. A place on it is (a, q):
// a the angle from the front, q = 0 at the middle of the back to 1 at the margin.
#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <glm/mat3x3.hpp>
#include <numbers>

#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double side_angle = 95 * pi / 180;  // a little behind the back, so that the sides end in the host

enum class ShelfForm { bracket, fan, hoof };

struct ShelfShape {
  ShelfForm form = ShelfForm::bracket;
  double half_width = 25, depth = 30, thickness = 7, margin = 1;  // mm
  double zones = 6, wave = 1, age = 0.5;
  double droop = 0.15, roll = 0;  // rad
  double spacing = 1;             // mm between positions at the margin
  std::uint32_t seed = 1;
};

class ShelfBuilder {
 public:
  ShelfBuilder(const ShelfShape& shape, int individual) : shape_(shape) {
    Random random(hash_bits(shape.seed, 0x5e1fu));
    for (double& phase : phase_) phase = random.between(0, 2 * pi);
    offset_ = {random.between(0, 64), random.between(0, 64), random.between(0, 64)};
    columns_ = std::clamp(static_cast<int>(3.3 * shape.half_width / shape.spacing), 14, 120);
    rows_ = std::clamp(static_cast<int>(shape.depth / shape.spacing), 6, 40);
    fit();
    top_ = add_part("top", PatternKind::shelf, individual);
    pores_ = add_part("pores", PatternKind::pores, individual);
  }

  Mesh build() {
    const int under_rows = std::max(5, rows_ / 2), rim = shape_.spacing < 1.5 ? 5 : 3;
    const std::uint32_t top_pole = add(0, 0, 0, 1);
    for (int row = 1; row <= rows_; ++row) add_row(std::pow(static_cast<double>(row) / rows_, 0.85), 0);
    for (int i = 1; i <= rim; ++i) add_row(1, static_cast<double>(i) / (rim + 1));
    for (int row = under_rows; row >= 1; --row) add_row(static_cast<double>(row) / under_rows, 1);
    const std::uint32_t under_pole = add(0, 0, 1, 0);
    const int rows = rows_ + rim + under_rows, top_rows = rows_ + rim / 2 + 1;
    const auto columns = static_cast<std::uint32_t>(columns_);
    const std::uint32_t first = top_pole + 1, last = under_pole - columns;
    add_outward_grid(first, top_rows, top_);
    add_outward_grid(first + static_cast<std::uint32_t>(top_rows - 1) * columns, rows - top_rows + 1, pores_);
    for (std::uint32_t i = 0; i + 1 < columns; ++i) {
      mesh_.triangle.push_back({top_pole, first + i, first + i + 1, top_});
      mesh_.triangle.push_back({under_pole, last + i + 1, last + i, pores_});
    }
    add_back(top_pole, under_pole, first, rows);
    smooth_normals(mesh_);
    return std::move(mesh_);
  }

 private:
  std::uint32_t add_part(const char* name, PatternKind kind, int individual) {
    const std::uint32_t index = mesh_.part_index(name, individual);
    Pattern& pattern = mesh_.parts[index].pattern;
    pattern.kind = kind;
    pattern.seed = hash_bits(shape_.seed, 0x3e1u);
    pattern.size_mm = static_cast<float>(shape_.depth);
    // Zones round the top; 2 to 5 pores a mm, as brackets have (woody ones the most; from memory).
    pattern.lines = kind == PatternKind::shelf       ? static_cast<float>(shape_.zones)
                    : shape_.form == ShelfForm::hoof ? 4.5f
                                                     : 3.0f;
    pattern.wear = static_cast<float>(shape_.age);
    return index;
  }

  // Reach of the margin from the middle of the back: between depth and half width, waved and lobed. A fan is
  // narrow where it holds on.
  double reach(double a) const {
    const double c = std::cos(a) / shape_.depth, s = std::sin(a) / shape_.half_width;
    const double wave =
        shape_.wave * (0.055 * std::sin(4 * a + phase_[0]) + 0.038 * std::sin(7 * a + phase_[1]) +
                       0.022 * std::sin(13 * a + phase_[2]));
    const double narrow = shape_.form == ShelfForm::fan ? mix(0.42, 1.0, ramp(1.66, 0.35, std::abs(a))) : 1.0;
    return narrow * (1 + wave) / std::sqrt(c * c + s * s);
  }

  // Brings the waved outline, with its round edge, back to the stated width and depth.
  void fit() {
    double left = 0, right = 0, front = 0;
    for (int i = 0; i <= 200; ++i) {
      const double a = side_angle * (0.01 * i - 1), out = reach(a);
      left = std::min(left, out * std::sin(a));
      right = std::max(right, out * std::sin(a));
      front = std::max(front, out * std::cos(a));
    }
    stretch_ = {(2 * shape_.half_width - shape_.margin) / (right - left),
                (shape_.depth + sunk_depth() - 0.5 * shape_.margin) / front};
    middle_ = 0.5 * (left + right) * stretch_.x;
  }

  double thickness(double q) const {
    const double body = shape_.form == ShelfForm::hoof ? std::pow(std::max(1 - q * q, 0.0), 0.55)
                                                       : std::pow(std::max(1 - q, 0.0), 0.8);
    return shape_.margin + (shape_.thickness - shape_.margin) * body;
  }

  // Height of the upper side: arched, waved towards the margin, furrowed between the years or zones.
  double upper(double a, double q, double out) const {
    const double thin = shape_.form == ShelfForm::hoof ? 0.0 : 1.0;
    const double sag = shape_.wave * shape_.depth * 0.08 * q * q *
                       (0.6 * std::sin(3 * a + phase_[3]) + 0.45 * std::sin(6 * a + phase_[4]));
    const double warped =
        q + 0.02 * fbm(offset_ + glm::dvec3(1.5 * std::cos(a), 1.5 * std::sin(a), 2 * q), 2, shape_.seed);
    const double ripple = std::min(0.05 * shape_.thickness + 0.12, 1.6) *
                          std::sin(2 * pi * shape_.zones * warped) * ramp(0.1, 0.4, q);
    const glm::dvec3 place(0.09 * out * std::cos(a), 0.09 * out * std::sin(a), 0);
    const double lumps = 0.055 * shape_.thickness * fbm(offset_ + place, 3, shape_.seed + 3);
    const double arch = shape_.form == ShelfForm::hoof ? shape_.thickness * (0.62 - 0.75 * q * q)
                                                       : 0.42 * shape_.thickness * (1 - q * q);
    return arch + thin * sag + ripple + lumps;
  }

  double sunk_depth() const { return std::min(0.14 * shape_.depth, 4.0); }

  // side: 0 the upper face, 1 the lower, between them round the margin's edge.
  glm::dvec3 place(double a, double q, double side) const {
    const double full = reach(a), thick = thickness(q), turn = pi * side;
    const double round = q < 1 ? 0 : 0.5 * thick * std::sin(turn);
    const double z = upper(a, q, full * q) - 0.5 * thick * (1 - std::cos(turn));
    // The back starts a little inside the host.
    const glm::dvec3 flat(stretch_.x * full * q * std::sin(a) + round * std::sin(a) - middle_,
                          sunk_depth() - stretch_.y * full * q * std::cos(a) - round * std::cos(a), z);
    const double c = std::cos(shape_.droop), s = std::sin(shape_.droop);
    const glm::dvec3 drooped(flat.x, c * flat.y - s * flat.z, c * flat.z + s * flat.y);
    const double cr = std::cos(shape_.roll), sr = std::sin(shape_.roll);
    return {cr * drooped.x - sr * drooped.z, drooped.y, sr * drooped.x + cr * drooped.z};
  }

  std::uint32_t add(double a, double q, double side, double tint) {
    mesh_.position.emplace_back(place(a, q, side));
    mesh_.tint.emplace_back(static_cast<float>(0.94 + 0.06 * tint));
    mesh_.uv.emplace_back(0.5 + a / (2 * pi), q);
    return static_cast<std::uint32_t>(mesh_.position.size() - 1);
  }
  void add_row(double q, double side) {
    for (int column = 0; column < columns_; ++column)
      add(side_angle * (2.0 * column / (columns_ - 1) - 1), q, side, side < 1 ? 1 : 0);
  }

  // Rows run outwards over the top and back below; seen from outside the columns run to the left, so each
  // triangle of the grid is turned.
  void add_outward_grid(std::uint32_t first, int rows, std::uint32_t part) {
    const std::size_t before = mesh_.triangle.size();
    add_grid_triangles(mesh_, {first, rows, columns_, false}, part);
    for (std::size_t i = before; i < mesh_.triangle.size(); ++i)
      std::swap(mesh_.triangle[i].b, mesh_.triangle[i].c);
  }

  // The two side walls, hidden in the host: fans from the lower pole over the outline of each side.
  void add_back(std::uint32_t top_pole, std::uint32_t under_pole, std::uint32_t first, int rows) {
    const auto columns = static_cast<std::uint32_t>(columns_);
    for (const std::uint32_t column : {0u, columns - 1}) {
      std::uint32_t before = top_pole;
      for (int row = 0; row + 1 < rows; ++row) {
        const std::uint32_t here = first + static_cast<std::uint32_t>(row) * columns + column;
        if (column == 0)
          mesh_.triangle.push_back({under_pole, here, before, pores_});
        else
          mesh_.triangle.push_back({under_pole, before, here, pores_});
        before = here;
      }
      const std::uint32_t end = first + static_cast<std::uint32_t>(rows - 1) * columns + column;
      if (column == 0)
        mesh_.triangle.push_back({under_pole, end, before, pores_});
      else
        mesh_.triangle.push_back({under_pole, before, end, pores_});
    }
  }

  ShelfShape shape_;
  Mesh mesh_;
  double phase_[5] = {};
  glm::dvec3 offset_{};
  glm::dvec2 stretch_{1};
  double middle_ = 0;
  int columns_ = 0, rows_ = 0;
  std::uint32_t top_ = 0, pores_ = 0;
};

ShelfShape shape_from(const KeyValues& values, const Setting& setting) {
  ShelfShape shape;
  const std::string& form = text(values, "form");
  shape.form = form == "fan" ? ShelfForm::fan : form == "hoof" ? ShelfForm::hoof : ShelfForm::bracket;
  shape.half_width = 0.5 * number(values, "width_mm");
  shape.depth = number(values, "depth_mm");
  shape.thickness = std::min(number(values, "thickness_mm"), 2 * shape.depth);
  shape.margin = std::min(number(values, "margin_mm"), shape.thickness);
  shape.zones = number(values, "zones");
  shape.wave = number(values, "wave");
  shape.age = number(values, "age");
  shape.droop = number(values, "droop_deg") * pi / 180;
  shape.seed = seed_of(values);
  shape.spacing = std::max(std::clamp(0.03 * shape.depth, 0.7, 5.0), 6e3 * setting.pixel_m);
  return shape;
}

// Where one of several stands on the wood, mm along x and z, and how large it is.
struct Stand {
  glm::dvec2 at{0};
  double size = 1;
};

// Tiled: each keeps its distance sideways or stands higher or lower by a shelf's thickness and some air.
std::vector<Stand> arrange(const ShelfShape& model, int count, double spread) {
  std::vector<Stand> stands = {{}};
  Random random(hash_bits(model.seed, 0x71edu));
  for (int tries = 0; tries < 400 * count && static_cast<int>(stands.size()) < count; ++tries) {
    const double turn = 2 * pi * random.unit(), far = spread * std::sqrt(random.unit());
    const Stand one{{far * std::cos(turn), 0.75 * far * std::sin(turn)},
                    mix(0.45, 1.0, std::sqrt(random.unit()))};
    const double rise = 1.15 * model.thickness + 0.16 * model.depth;
    const bool free = std::all_of(stands.begin(), stands.end(), [&](const Stand& other) {
      const glm::dvec2 apart = one.at - other.at;
      const double wide = 0.92 * model.half_width * (one.size + other.size);
      return std::hypot(apart.x / wide, apart.y / rise) > 1;
    });
    if (free) stands.push_back(one);
  }
  return stands;
}

Mesh build_shelves(const KeyValues& values, const Setting& setting) {
  const Kind& kind = *find_kind("shelf");
  const ShelfShape model = shape_from(values, setting);
  const KindPreset* preset = find_preset(kind.presets, text(values, "preset"));
  Mesh mesh;
  int individual = 0;
  for (const Stand& stand : arrange(model, whole(values, "count"), number(values, "spread_mm"))) {
    ShelfShape shape = model;
    ++individual;
    shape.seed = hash_bits(model.seed, static_cast<std::uint32_t>(individual));
    Random random(hash_bits(shape.seed, 0x5a1u));
    shape.half_width *= stand.size * (individual > 1 ? random.between(0.85, 1.15) : 1.0);
    shape.depth *= stand.size;
    shape.thickness *= mix(1.0, stand.size, 0.7);
    shape.roll = random.between(-0.1, 0.1);
    shape.droop += random.between(-0.05, 0.08);
    Mesh shelf = ShelfBuilder(shape, individual).build();
    scale_mesh(shelf, 1e-3f);
    glm::dvec3 at(1e-3 * stand.at.x, 0, 1e-3 * stand.at.y);
    double cosine = 1, sine = 0;
    if (setting.nearest_on_host) {
      const HostPlace host = setting.nearest_on_host(at);
      at = host.point_m;
      // The front looks out of the host, level.
      const double level = std::hypot(host.normal.x, host.normal.y);
      if (level > 0.05) cosine = -host.normal.y / level, sine = host.normal.x / level;
    }
    const glm::dmat3 turn(cosine, sine, 0, -sine, cosine, 0, 0, 0, 1);
    for (glm::vec3& place : shelf.position) place = glm::vec3(turn * glm::dvec3(place) + at);
    for (glm::vec3& normal : shelf.normal) normal = glm::vec3(turn * glm::dvec3(normal));
    mesh.append(shelf);
  }
  for (MeshPart& part : mesh.parts) {
    if (part.name == "top") part.pattern.tone = {0.42f, 0.38f, 0.36f};
    if (!preset) continue;
    for (const KindPreset::Part& own : preset->parts)
      if (own.name == part.name) part.pattern.tone = own.tone;
  }
  balance_tints(mesh, parts_with(kind, values));
  return mesh;
}

std::vector<KindPreset> shelf_presets() {
  return {
      {"thin_zoned",
       {{"form", "\"fan\""},
        {"width_mm", "48"},
        {"depth_mm", "32"},
        {"thickness_mm", "5"},
        {"margin_mm", "0.8"},
        {"zones", "8"},
        {"wave", "1.3"}},
       {{"top", "zoned_top", {.40f, .36f, .35f}}, {"pores", "shelf_pores"}}},
      {"woody_hoof",
       {{"form", "\"hoof\""},
        {"width_mm", "150"},
        {"depth_mm", "95"},
        {"thickness_mm", "85"},
        {"margin_mm", "14"},
        {"zones", "5"},
        {"wave", "0.6"},
        {"droop_deg", "2"}},
       {{"top", "woody_top", {.62f, .58f, .55f}}, {"pores", "woody_pores"}}},
      {"flat_plate",
       {{"width_mm", "260"},
        {"depth_mm", "150"},
        {"thickness_mm", "50"},
        {"margin_mm", "6"},
        {"zones", "4"},
        {"wave", "0.7"},
        {"droop_deg", "4"}},
       {{"top", "woody_top", {.75f, .66f, .6f}}, {"pores", "shelf_pores"}}},
      {"tallow_tiers",
       {{"form", "\"fan\""},
        {"width_mm", "60"},
        {"depth_mm", "45"},
        {"thickness_mm", "9"},
        {"margin_mm", "1.5"},
        {"zones", "1"},
        {"wave", "1.6"},
        {"count", "7"},
        {"spread_mm", "55"}},
       {{"top", "tallow_top", {.85f, .8f, .74f}}, {"pores", "shelf_pores"}}},
  };
}

}  // namespace

Kind shelf_kind() {
  Kind kind;
  kind.name = "shelf";
  kind.meaning = "brackets on wood, pores below; the back at the origin, +y into the host";
  kind.presets = shelf_presets();
  kind.keys = {
      preset_key(kind.presets),
      choice_key("form", "bracket", "bracket fan hoof", "half disc, fan narrow at its back, or thick hoof"),
      number_key("width_mm", "52", 6, 900, "from side to side"),
      number_key("depth_mm", "34", 5, 600, "from the host to the front margin"),
      number_key("thickness_mm", "7", 0.8, 400, "at the host"),
      number_key("margin_mm", "1", 0.3, 40, "thickness of the edge"),
      number_key("zones", "6", 0, 20, "bands between host and margin"),
      number_key("wave", "1", 0, 3, "how wavy and lobed the margin is; 1 is usual"),
      number_key("droop_deg", "9", -30, 60, "how far the front hangs"),
      number_key("age", "0.5", 0, 1, "0 fresh, 1 old, green with algae"),
      integer_key("count", "1", 1, 60, "shelves, tiled; the first is the largest"),
      number_key("spread_mm", "60", 5, 2000, "radius on the wood within which they stand"),
      seed_key(),
  };
  kind.parts = {part_of("top", "zoned_top", true), part_of("pores", "shelf_pores", true)};
  kind.build = build_shelves;
  kind.hold = Hold::hangs;
  return kind;
}

}  // namespace undercap
