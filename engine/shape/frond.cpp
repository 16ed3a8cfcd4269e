// The kind 'frond': a dead frond of the bracken type. A stalk, pairs of pinnae that droop from it, and pairs
// of pinnules along each.
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

std::vector<KindPart> frond_parts() {
  return {part_of("frond", "frond", true), part_of("stalk", "frond_stalk", false)};
}

// A place on an axis with the directions along it, to its side and off its upper face.
struct Station {
  glm::dvec3 place{}, along{}, side{}, up{};
};

class FrondBuilder {
 public:
  FrondBuilder(const KeyValues& values, const Setting& setting)
      : length_(number(values, "length_mm")),
        arch_(number(values, "arch_deg") * pi / 180),
        droop_(number(values, "droop")),
        bare_(number(values, "bare_stalk")),
        pairs_(whole(values, "pairs")),
        seed_(seed_of(values)),
        random_(hash_bits(seed_, 0xf40dU)) {
    const double pixels = setting.pixel_m > 0 ? 1e-3 * length_ / setting.pixel_m : 1e9;
    fine_ = pixels > 500;
    sides_ = fine_ ? 7 : 4;
    frond_ = mesh_.part_index("frond");
    stalk_ = mesh_.part_index("stalk");
    mesh_.parts[frond_].pattern = {.kind = PatternKind::frond,
                                   .seed = seed_,
                                   .size_mm = static_cast<float>(0.02 * length_),
                                   .wear = 0.7f};
    mesh_.parts[stalk_].pattern = {
        .kind = PatternKind::twig, .seed = seed_ + 1, .size_mm = static_cast<float>(0.004 * length_)};
  }

  Mesh build() {
    grow_line();
    add_stalk();
    for (int pair = 0; pair < pairs_; ++pair) {
      const double q = (pair + 0.5) / pairs_;
      for (const double hand : {-1.0, 1.0}) {
        // Pairs lose their partner's height towards the foot, and a few are gone.
        const double at = bare_ + (1 - bare_) * (q + 0.25 * hand / pairs_ * (1 - q));
        if (!random_.chance(0.05 * (1 - q))) add_pinna(at, q, hand);
      }
    }
    smooth_normals(mesh_);
    scale_mesh(mesh_, 1e-3f);
    balance_tints(mesh_, frond_parts());
    return std::move(mesh_);
  }

 private:
  // Upright at the foot, over towards the front at the tip, with a wander to the sides.
  void grow_line() {
    glm::dvec3 place(0, 0, -8);
    const double wander = 0.35 * random_.spread(), first = 0.10 * random_.spread();
    for (int i = 0; i <= steps; ++i) {
      const double s = static_cast<double>(i) / steps;
      const double down = first + arch_ * std::pow(s, 1.25) + 0.35 * ramp(0.75, 1.0, s);
      const double aside = wander * s + 0.10 * std::sin(7 * s + wander * 9);
      Station& here = line_[i];
      here.place = place;
      here.along = glm::normalize(glm::dvec3(std::sin(aside), -std::sin(down), std::cos(down)));
      here.side = glm::normalize(glm::cross(here.along, glm::dvec3(0, -0.35, 1)));
      here.up = glm::cross(here.side, here.along);
      place += length_ / steps * here.along;
    }
  }

  Station at(double s) const {
    const double scaled = std::clamp(s, 0.0, 1.0) * steps;
    const int i = std::min(static_cast<int>(scaled), steps - 1);
    Station here = line_[i];
    here.place = mix(line_[i].place, line_[i + 1].place, scaled - i);
    return here;
  }

  void add_stalk() {
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    const double thick = 0.0042 * length_;
    const auto put = [&](const glm::dvec3& place, double s) {
      mesh_.position.emplace_back(place);
      mesh_.tint.emplace_back(
          static_cast<float>(0.75 + 0.4 * s + 0.2 * gradient_noise(glm::dvec2(9 * s, 0.5), seed_)));
      mesh_.uv.emplace_back(0.f, s);
    };
    for (int i = 0; i <= steps; ++i) {
      const double s = static_cast<double>(i) / steps;
      const double r = thick * mix(1.0, 0.16, std::pow(s, 0.8));
      for (int side = 0; side < sides_; ++side) {
        const double a = 2 * pi * side / sides_;
        put(line_[i].place + r * (std::cos(a) * line_[i].side - 0.8 * std::sin(a) * line_[i].up), s);
      }
    }
    add_grid_triangles(mesh_, {first, steps + 1, sides_, true}, stalk_);
    put(line_[0].place, 0);
    const auto foot = static_cast<std::uint32_t>(mesh_.position.size() - 1);
    add_fan(mesh_, foot, first, sides_, stalk_, true);
    put(line_[steps].place, 1);
    add_fan(mesh_, foot + 1, first + static_cast<std::uint32_t>(steps * sides_), sides_, stalk_);
  }

  // q 0 at the lowest pair, 1 at the tip.
  void add_pinna(double s, double q, double hand) {
    const Station from = at(s);
    const double length = length_ * 0.38 * std::pow(std::sin(pi * mix(0.16, 0.985, q)), 0.9) *
                          mix(1.0, 0.62, q) * random_.between(0.82, 1.08);
    const double rise = random_.between(0.95, 1.25);  // rad from the stalk
    const double fall = droop_ * random_.between(0.3, 1.5), curl = droop_ * 0.8 * random_.spread();
    const double gain = random_.between(0.62, 1.25);
    const int count = std::clamp(static_cast<int>(length / ((fine_ ? 0.0105 : 0.021) * length_)), 3, 16);
    glm::dvec3 along = glm::normalize(std::sin(rise) * hand * from.side + std::cos(rise) * from.along -
                                      0.15 * droop_ * glm::dvec3(0, 0, 1));
    glm::dvec3 place = from.place;
    const double roll = 0.5 * random_.spread();
    for (int i = 0; i < count; ++i) {
      const double t = (i + 0.5) / count;
      along = glm::normalize(along + glm::dvec3(0, 0, -fall / count) + curl / count * t * from.along);
      const glm::dvec3 flat = glm::normalize(glm::cross(glm::cross(along, from.up), along));
      const glm::dvec3 across = glm::cross(along, flat);
      const glm::dvec3 side = std::cos(roll) * across + std::sin(roll) * flat;
      const glm::dvec3 up = glm::cross(side, along);
      // The axis itself, a thin strip between one pair and the next.
      const glm::dvec3 next = place + length / count * along;
      strip(place, next, 0.0010 * length_ * (1.2 - t) * side, t, gain);
      const double reach =
          0.037 * length_ * std::pow(1 - 0.93 * t, 0.75) * random_.between(0.85, 1.1) * mix(1.0, 0.75, q);
      for (const double way : {-1.0, 1.0}) {
        const double bend = droop_ * 0.7 * random_.spread() - 0.3 * droop_;
        pinnule(mix(place, next, 0.5 + 0.2 * way), glm::normalize(way * side + 0.42 * along), along, up,
                reach, length / count * 0.42, bend, t, gain * random_.between(0.85, 1.15), way);
      }
      place = next;
    }
  }

  void put(const glm::dvec3& place, const glm::dvec2& uv, double gain) {
    mesh_.position.emplace_back(place);
    mesh_.uv.emplace_back(uv);
    mesh_.tint.emplace_back(gain * glm::dvec3(1.0, mix(0.85, 1.05, gain), 0.95));
  }

  void strip(const glm::dvec3& a, const glm::dvec3& b, const glm::dvec3& half, double t, double gain) {
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    put(a - half, {t, 0.5}, 0.8 * gain);
    put(a + half, {t, 0.5}, 0.8 * gain);
    put(b - half, {t, 0.5}, 0.8 * gain);
    put(b + half, {t, 0.5}, 0.8 * gain);
    add_grid_triangles(mesh_, {first, 2, 2, false}, frond_);
  }

  // A rounded tongue that bends off its plane: two points at the root, two in the middle, and more near the
  // tip where it is seen large.
  void pinnule(const glm::dvec3& root, const glm::dvec3& out, const glm::dvec3& along, const glm::dvec3& up,
               double reach, double half, double bend, double t, double gain, double way) {
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    constexpr double fine_at[] = {0, 0.4, 0.8, 1.0}, fine_wide[] = {0.85, 1.0, 0.62, 0.16};
    constexpr double few_at[] = {0, 0.6, 1.0}, few_wide[] = {0.9, 0.9, 0.25};
    const int rows = fine_ ? 4 : 3;
    for (int row = 0; row < rows; ++row) {
      const double v = fine_ ? fine_at[row] : few_at[row],
                   wide = half * (fine_ ? fine_wide[row] : few_wide[row]);
      const glm::dvec3 middle = root + reach * (v * out + bend * v * v * up);
      for (const double side : {way, -way})
        put(middle + side * wide * along, {t, 0.5 + 0.5 * v * way * 0.98}, gain * mix(1.1, 0.85, v));
    }
    add_grid_triangles(mesh_, {first, rows, 2, false}, frond_);
  }

  static constexpr int steps = 36;
  double length_, arch_, droop_, bare_;
  int pairs_;
  std::uint32_t seed_;
  Random random_;
  bool fine_ = true;
  int sides_ = 7;
  Station line_[steps + 1];
  Mesh mesh_;
  std::uint32_t frond_ = 0, stalk_ = 0;
};

}  // namespace

Kind frond_kind() {
  return {
      "frond",
      "a dead frond of the bracken type, its foot at its place, bowing towards the front",
      {number_key("length_mm", "700", 60, 2000, "of the stalk from the ground to the tip"),
       integer_key("pairs", "20", 6, 40, "pairs of pinnae"),
       number_key("arch_deg", "75", 0, 170, "by which the tip bows from the upright"),
       number_key("droop", "0.9", 0, 2, "of the pinnae: 0 stiff, 2 hanging and curled"),
       number_key("bare_stalk", "0.25", 0, 0.8, "share of the stalk below the lowest pair"), seed_key()},
      frond_parts(),
      [](const KeyValues& values, const Setting& setting) { return FrondBuilder(values, setting).build(); }};
}

}  // namespace undercap
