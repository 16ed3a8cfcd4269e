// The kind 'litter': fallen leaves, each an individual, with scraps, twigs and crumbs among them.
//
// A leaf's number stands for it whatever else is hidden or moved: hiding one leaves a gap and takes no other
// from its place, and colours are balanced before anything is taken out.
#include "engine/shape/litter.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>
#include <numeric>
#include <optional>
#include <utility>

#include "engine/core/errors.h"
#include "engine/shape/kit.h"
#include "engine/shape/leaf.h"
#include "engine/shape/leaf_bed.h"
#include "engine/shape/mesh_build.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double crumbs_per_m2 = 9000;
constexpr double even_radius_m = 0.6;  // within it the density is the stated one
constexpr double bed_reach_m = 0.8;    // out to here leaves rest on each other; farther off nobody sees it

std::vector<KindPart> litter_parts() {
  return {part_of("leaf", "litter_leaf", true), part_of("scrap", "litter_leaf", true),
          part_of("twig", "litter_twig", false), part_of("crumb", "litter_twig", false)};
}

// A leaf before it is laid down.
struct Leaf {
  int number = 0;
  LeafShape shape;
  Pose pose;
  glm::dvec2 at_m{};
  double share_beneath = 0.04;
  int detail = 0;
};

class LitterBuilder {
 public:
  LitterBuilder(const KeyValues& values, const Setting& setting)
      : setting_(setting),
        radius_m_(number(values, "radius_m")),
        density_(number(values, "leaves_per_m2")),
        leaf_length_(number(values, "leaf_length_mm")),
        yellow_(number(values, "yellow_share")),
        curl_(number(values, "curl")),
        twig_density_(number(values, "twigs_per_m2")),
        corridor_m_(1e-3 * number(values, "clear_front_mm")),
        clear_m_(1e-3 * number(values, "clear_centre_mm")),
        form_(text(values, "form")),
        near_(text(values, "detail") == "near"),
        seed_(seed_of(values)),
        places_(radius_m_, even_radius_m),
        leaves_(static_cast<int>(std::lround(density_ * places_.area_m2()))),
        lapping_(clear_m_ > 0 ? whole(values, "lapping") : 0),
        bed_([this](double x, double y) { return ground_mm(x, y); }, 1e3 * std::min(radius_m_, bed_reach_m)) {
    for (const auto& row : rows(values, "hidden")) hidden_.push_back(known(row[0], "hidden"));
    for (const auto& row : rows(values, "moved")) {
      const int leaf = known(row[0], "moved");
      for (const Move& other : moved_)
        if (other.number == leaf) throw Refusal(fmt::format("moved has leaf {} twice; keep one", leaf));
      moved_.push_back({leaf, {row[1], row[2]}, row[3] * pi / 180});
    }
  }

  Mesh build() {
    lay_leaves();
    balance_tint(mesh_, "leaf", highest_tint());
    take_hidden_out_and_move();
    const Floor floor{[this](double x, double y) { return ground_mm(x, y); },
                      [this](const glm::dvec2& at) {
                        return glm::length(at) >= clear_m_ && allowed_at(setting_, at.x, at.y);
                      }};
    Mesh bits;
    if (near_) strew_scraps(bits, places_, floor, leaves_ * 6 / 5, leaf_length_, true, seed_);
    const int twigs = static_cast<int>(std::lround(twig_density_ * places_.area_m2()));
    strew_twigs(
        bits, places_, floor, twig_density_ > 0 ? std::max(1, twigs) : 0,
        [this](const glm::dvec2& at) { return cleared(at); }, seed_);
    if (near_) strew_crumbs(bits, std::min(radius_m_, 0.3), crumbs_per_m2, floor, seed_);
    balance_tints(bits, litter_parts());
    append_bits(bits);
    scale_mesh(mesh_, 1e-3f);
    return std::move(mesh_);
  }

 private:
  struct Move {
    int number = 0;
    glm::dvec2 at_m{};
    double turn_rad = 0;
  };
  struct Range {
    int number = 0;
    std::size_t position = 0, triangle = 0;  // the first
  };

  int known(double number, const char* key) const {
    const int leaf = static_cast<int>(number);
    if (leaf <= leaves_ + lapping_) return leaf;
    throw Refusal(
        fmt::format("{} names leaf {}; this litter has leaves 1 to {}", key, leaf, leaves_ + lapping_));
  }

  double ground_mm(double x_mm, double y_mm) const {
    return 1e3 * ground_at(setting_, 1e-3 * x_mm, 1e-3 * y_mm);
  }

  static float highest_tint() {
    const Material leaf = litter_parts()[0].material;
    const glm::vec3 sum = leaf.reflectance + leaf.transmittance;
    return std::min(1.99f, 0.99f / std::max({sum.x, sum.y, sum.z}));
  }

  // 1 in the cleared way to the camera and about the subject, 0 elsewhere, with an uneven border.
  double cleared(const glm::dvec2& at) const {
    const double edge = 0.025 * fbm(at / 0.07, 2, seed_ + 3);
    double share = ramp(clear_m_ + 0.10, clear_m_ + 0.03, glm::length(at) + edge);
    if (corridor_m_ > 0 && at.y < 0)
      share =
          std::max(share, ramp(0.5 * corridor_m_ + 0.03, 0.5 * corridor_m_ - 0.03, std::abs(at.x) + edge));
    return share;
  }

  LeafForm chosen(LeafForm drawn, Random& random) const {
    if (form_ == "elliptic") return LeafForm::elliptic;
    if (form_ == "lobed") return LeafForm::lobed;
    if (form_ == "toothed") return LeafForm::toothed;
    if (form_ == "narrow") return LeafForm::narrow;
    if (form_ == "palmate") return LeafForm::palmate;
    return random.chance(0.06) ? LeafForm::palmate : drawn;
  }

  // The leaf of a number, or nothing where the way is cleared, a patch is thin or the scene's polygons say
  // no.
  std::optional<Leaf> scattered(int number) const {
    Random random(hash_bits(seed_, 0x1000000u + static_cast<std::uint32_t>(number)));
    Leaf leaf;
    leaf.number = number;
    const double shake = 0.7 / std::sqrt(density_);
    leaf.at_m = places_.at((number - 0.5) / leaves_, number, unit_from_bits(hash_bits(seed_, 5)) * 2 * pi) +
                shake * glm::dvec2(random.spread(), random.spread());
    const double clear = cleared(leaf.at_m);
    leaf.shape = fallen_leaf(random, leaf_length_, 1 - std::min(1.0, curl_ * (1 - clear)), yellow_);
    const LeafForm drawn = leaf.shape.form;
    leaf.shape.form = chosen(drawn, random);
    curl_up(leaf.shape, random, curl_ * (1 - 0.75 * clear));
    // A few stand on edge among the rest.
    const bool standing = random.chance(0.08);
    leaf.pose.tip = (1 - 0.7 * clear) * (standing ? random.between(0.3, 0.75) : 0.16 * random.spread());
    leaf.pose.roll = (1 - 0.7 * clear) * (standing ? 0.6 : 0.22) * random.spread();
    leaf.pose.yaw = random.between(0, 2 * pi);
    leaf.share_beneath = standing ? 0.15 : 0.04;
    if (random.chance(0.4)) {  // face down, the paler under side up
      leaf.pose.roll += pi;
      leaf.shape.colour = mix(leaf.shape.colour, glm::dvec3(0.26, 0.185, 0.125), 0.35);
    }
    const bool kept =
        random.unit() > 0.30 * clear && random.unit() < 1.0 + 0.8 * fbm(leaf.at_m / 0.35, 2, seed_ + 4);
    leaf.detail = detail_at(leaf.at_m, leaf.shape.length);
    const bool apart = glm::length(leaf.at_m) > clear_m_ + 0.3e-3 * leaf.shape.length;
    if (!kept || !apart || !allowed_at(setting_, leaf.at_m.x, leaf.at_m.y)) return std::nullopt;
    return leaf;
  }

  // A leaf that leans its tip on what stands in the middle.
  Leaf leaning(int number) const {
    Random random(hash_bits(seed_, 0x2000000u + static_cast<std::uint32_t>(number)));
    Leaf leaf;
    leaf.number = number;
    leaf.shape = fallen_leaf(random, leaf_length_ * random.between(0.6, 0.95), 0.4, yellow_);
    const LeafForm drawn = leaf.shape.form;
    leaf.shape.form = chosen(drawn, random);
    curl_up(leaf.shape, random, 0.5 * curl_);
    leaf.pose.tip = random.between(0.12, 0.42);
    leaf.pose.roll = 0.25 * random.spread();
    const double angle = (number - leaves_) * 2.399963 + unit_from_bits(hash_bits(seed_, 8)) * 2 * pi;
    leaf.pose.yaw = angle + 0.5 * pi + 0.5 * random.spread();
    const double away = clear_m_ + 0.44e-3 * leaf.shape.length;
    leaf.at_m = away * glm::dvec2(std::cos(angle), std::sin(angle));
    leaf.share_beneath = 0.04;
    leaf.detail = detail_at(leaf.at_m, leaf.shape.length);
    return leaf;
  }

  int detail_by_place(const glm::dvec2& at) const {
    const double r = glm::length(at);
    return near_ && r < 0.2 ? 0 : near_ && r < 0.6 ? 1 : 2;
  }

  // 0 where one sees every vein, 2 far off or small in the picture, 3 smaller still.
  int detail_at(const glm::dvec2& at, double length) const {
    const double pixel_m = pixel_at(setting_, glm::dvec3(at, 0.0));
    const double pixels = pixel_m > 0 ? 1e-3 * length / pixel_m : 1e9;
    return std::max(detail_by_place(at), pixels > 300 ? 0 : pixels > 70 ? 1 : pixels > 20 ? 2 : 3);
  }

  Mesh posed(const Leaf& leaf, int detail) const {
    constexpr int rows[] = {33, 13, 6, 4}, columns[] = {11, 7, 5, 3};
    Mesh body = leaf_mesh(leaf.shape, rows[detail], columns[detail]);
    Pose pose = leaf.pose;
    const glm::dvec2 at = 1e3 * leaf.at_m;
    pose.slope = 0.8 * bed_.slope(at, leaf.shape.length);
    turn_and_move(body, pose, at);
    return body;
  }

  // How high it lies, and what the next one rests on, goes by a body as fine as its place alone says: a set
  // seen smaller, or a draft, is the same set.
  Mesh laid(const Leaf& leaf) {
    const int by_place = detail_by_place(leaf.at_m);
    Mesh resting = posed(leaf, by_place);
    const double up = bed_.lift(resting, leaf.share_beneath) + 0.3;
    const auto settle = [&](Mesh& body) {
      raise(body, up);
      bed_.let_sag(body, leaf.shape.length);
    };
    settle(resting);
    std::optional<Mesh> seen;
    if (leaf.detail != by_place) settle(seen.emplace(posed(leaf, leaf.detail)));
    bed_.cover(resting);
    Mesh body = std::move(seen ? *seen : resting);
    smooth_normals(body);
    return body;
  }

  // Each on what lies there already; in an order of their own, since in the spiral's they would lie like
  // tiles.
  void lay_leaves() {
    std::vector<int> order(static_cast<std::size_t>(leaves_));
    std::iota(order.begin(), order.end(), 1);
    std::sort(order.begin(), order.end(), [this](int a, int b) {
      const auto key = [this](int n) { return hash_bits(seed_ + 77u, static_cast<std::uint32_t>(n)); };
      return std::pair(key(a), a) < std::pair(key(b), b);
    });
    for (std::size_t i = 0; i < order.size(); ++i) {
      std::optional<Leaf> leaf = scattered(order[i]);
      if (!leaf) continue;
      // The lower ones have lain longer: darker and more decayed.
      const double late = static_cast<double>(i) / static_cast<double>(order.size());
      leaf->shape.colour *= mix(0.72, 1.1, late);
      leaf->shape.age = std::clamp(leaf->shape.age + 0.3 * (0.5 - late), 0.0, 1.0);
      lay(*leaf);
    }
    for (int i = 1; i <= lapping_; ++i) lay(leaning(leaves_ + i));
  }

  void lay(const Leaf& leaf) {
    const Mesh body = laid(leaf);
    ranges_.push_back({leaf.number, mesh_.position.size(), mesh_.triangle.size()});
    add(mesh_, body, leaf.number);
  }

  static void add(Mesh& mesh, const Mesh& body, int number) {
    const auto first = static_cast<std::uint32_t>(mesh.position.size());
    const auto part = static_cast<std::uint32_t>(mesh.parts.size());
    mesh.parts.push_back({"leaf", number, {}, body.parts[0].pattern});
    mesh.position.insert(mesh.position.end(), body.position.begin(), body.position.end());
    mesh.normal.insert(mesh.normal.end(), body.normal.begin(), body.normal.end());
    mesh.tint.insert(mesh.tint.end(), body.tint.begin(), body.tint.end());
    mesh.uv.insert(mesh.uv.end(), body.uv.begin(), body.uv.end());
    for (const MeshTriangle& one : body.triangle)
      mesh.triangle.push_back({first + one.a, first + one.b, first + one.c, part});
  }

  bool is_hidden(int number) const {
    return std::find(hidden_.begin(), hidden_.end(), number) != hidden_.end();
  }

  // Tidying: the hidden leaves go, the moved ones are laid on top of all at their new places.
  void take_hidden_out_and_move() {
    if (hidden_.empty() && moved_.empty()) return;
    const Mesh all = std::move(mesh_);
    mesh_ = {};
    for (std::size_t i = 0; i < ranges_.size(); ++i) {
      const Range& range = ranges_[i];
      if (is_hidden(range.number)) continue;
      const std::size_t end = i + 1 < ranges_.size() ? ranges_[i + 1].position : all.position.size(),
                        last = i + 1 < ranges_.size() ? ranges_[i + 1].triangle : all.triangle.size();
      Mesh body = piece(all, range, end, last);
      const auto move =
          std::find_if(moved_.begin(), moved_.end(), [&](const Move& m) { return m.number == range.number; });
      if (move != moved_.end()) {
        Leaf leaf = range.number > leaves_ ? leaning(range.number) : *scattered(range.number);
        leaf.at_m = move->at_m;
        leaf.pose.yaw += move->turn_rad;
        const Mesh there = laid(leaf);
        body.position = there.position;
        body.normal = there.normal;
      }
      add(mesh_, body, range.number);
    }
  }

  static Mesh piece(const Mesh& all, const Range& range, std::size_t end, std::size_t last) {
    const auto slice = [&](const auto& of, std::size_t from, std::size_t to) {
      return std::decay_t<decltype(of)>(of.begin() + static_cast<std::ptrdiff_t>(from),
                                        of.begin() + static_cast<std::ptrdiff_t>(to));
    };
    Mesh body;
    body.position = slice(all.position, range.position, end);
    body.normal = slice(all.normal, range.position, end);
    body.tint = slice(all.tint, range.position, end);
    body.uv = slice(all.uv, range.position, end);
    body.triangle = slice(all.triangle, range.triangle, last);
    const auto shift = static_cast<std::uint32_t>(range.position);
    body.parts.push_back(all.parts[body.triangle[0].part]);
    for (MeshTriangle& one : body.triangle) one = {one.a - shift, one.b - shift, one.c - shift, 0};
    return body;
  }

  void append_bits(const Mesh& bits) {
    const auto part = static_cast<std::uint32_t>(mesh_.parts.size());
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    mesh_.parts.insert(mesh_.parts.end(), bits.parts.begin(), bits.parts.end());
    mesh_.position.insert(mesh_.position.end(), bits.position.begin(), bits.position.end());
    mesh_.normal.insert(mesh_.normal.end(), bits.normal.begin(), bits.normal.end());
    mesh_.tint.insert(mesh_.tint.end(), bits.tint.begin(), bits.tint.end());
    mesh_.uv.insert(mesh_.uv.end(), bits.uv.begin(), bits.uv.end());
    for (const MeshTriangle& one : bits.triangle)
      mesh_.triangle.push_back({first + one.a, first + one.b, first + one.c, part + one.part});
  }

  const Setting& setting_;
  double radius_m_, density_, leaf_length_, yellow_, curl_, twig_density_, corridor_m_, clear_m_;
  std::string form_;
  bool near_;
  std::uint32_t seed_;
  SpiralPlaces places_;
  int leaves_, lapping_;
  LeafBed bed_;
  std::vector<int> hidden_;
  std::vector<Move> moved_;
  std::vector<Range> ranges_;
  Mesh mesh_;
};

}  // namespace

Kind litter_kind() {
  constexpr double most_leaves = 200000, turn = 360, reach_m = 6;
  return {
      "litter",
      "fallen leaves, torn scraps and twigs, lying on the ground about its place; each leaf has a number",
      {number_key("radius_m", "0.8", 0.05, reach_m, "of the litter; beyond 0.6 m it thins out as 1/r"),
       number_key("leaves_per_m2", "850", 5, 2500, "leaves that show, within 0.6 m of the middle"),
       number_key("leaf_length_mm", "58", 8, 250, "mean length of a blade"),
       choice_key("form", "mixed", "mixed elliptic lobed toothed palmate narrow", "outline of the leaves"),
       number_key("curl", "1", 0, 2, "0 flat and wet, 1 usual, 2 dry and rolled up"),
       number_key("yellow_share", "0.11", 0, 1, "share of the leaves that are freshly fallen and yellow"),
       number_key("twigs_per_m2", "14", 0, 200, "dead twigs among the leaves"),
       number_key("clear_front_mm", "160", 0, 2000,
                  "width of the way towards the camera where leaves lie thin and flat"),
       number_key("clear_centre_mm", "14", 0, 1000, "radius about the middle that stays free"),
       integer_key("lapping", "3", 0, 20, "leaves that lean on what stands in the free middle"),
       list_key("hidden", {{{"leaf", 1, most_leaves, true}}}, "numbers of leaves that are tidied away"),
       list_key("moved",
                {{{"leaf", 1, most_leaves, true},
                  {"x_m", -reach_m, reach_m},
                  {"y_m", -reach_m, reach_m},
                  {"turn_deg", -turn, turn}}},
                "leaves laid elsewhere, in the litter's own metres, and turned by so much"),
       choice_key("detail", "near", "near far",
                  "near: every vein about the middle; far: plain leaves, no scraps"),
       seed_key()},
      litter_parts(),
      [](const KeyValues& values, const Setting& setting) { return LitterBuilder(values, setting).build(); },
      true};
}

}  // namespace undercap
