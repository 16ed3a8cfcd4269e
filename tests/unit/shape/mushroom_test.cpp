#include "engine/shape/mushroom.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <numbers>
#include <set>

#include "engine/shape/mesh_build.h"
#include "engine/shape/tuft.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

using testing::build_with;

testing::Extent part_extent(const Mesh& mesh, const std::string& part) {
  testing::Extent found;
  for (const MeshTriangle& one : mesh.triangle) {
    if (mesh.parts[one.part].name != part) continue;
    for (const std::uint32_t corner : {one.a, one.b, one.c}) {
      found.low = glm::min(found.low, glm::dvec3(mesh.position[corner]));
      found.high = glm::max(found.high, glm::dvec3(mesh.position[corner]));
    }
  }
  return found;
}

Mesh skin_of(const MushroomShape& shape) {
  Mesh shell;
  add_cap(shell, MushroomBuild(shape, 1));
  return shell;
}

TEST(Mushroom, FleshyCapsAndStemsAreClosedAndLookOutward) {
  for (const CapForm& form : cap_forms()) {
    for (const std::uint32_t seed : {1u, 5u}) {
      MushroomShape shape;
      shape.form = form;
      shape.cap_height = form.usual_height * shape.cap_radius;
      shape.seed = seed;
      SCOPED_TRACE(std::string(form.word) + ' ' + testing::well_formed_fault(skin_of(shape)));
      const Mesh shell = skin_of(shape);
      EXPECT_EQ(testing::open_edges(shell), 0u);
      EXPECT_GT(testing::signed_volume(shell), 0);
      EXPECT_GT(testing::share_of_normals_in_front(shell), 0.99);
      Mesh stem;
      add_stem(stem, MushroomBuild(shape, 1));
      EXPECT_EQ(testing::open_edges(stem), 0u);
      EXPECT_GT(testing::signed_volume(stem), 0);
      // Longer than the stated length by the foot below ground and the end within the flesh; a cylinder's
      // volume within the taper, the bulb and the relief.
      const double cylinder = std::numbers::pi * shape.stem_radius * shape.stem_radius * shape.stem_length;
      EXPECT_NEAR(testing::signed_volume(stem) / cylinder, 1.25, 0.4);
    }
  }
}

TEST(Mushroom, ThinCapIsOneSheet) {
  const Mesh mesh = testing::build_default("bonnet");
  const Mesh cap = testing::welded_part(mesh, "cap");
  EXPECT_GT(testing::open_edges(cap), 20u);  // its margin
  const KindPart& part = find_kind("bonnet")->parts[0];
  EXPECT_TRUE(part.open_sheet);
  EXPECT_GT(part.material.transmittance.x, 0.0f);
}

// The stated diameter is twice the mean over all directions of the cap's reach from its axis. The margin's
// waves have mean 0; its few nicks take a fraction of a per cent.
TEST(Mushroom, MeanCapWidthIsTheStatedOne) {
  for (const CapForm& form : cap_forms()) {
    for (const std::uint32_t seed : {1u, 2u, 3u}) {
      MushroomShape shape;
      shape.form = form;
      shape.seed = seed;
      const Mesh shell = skin_of(shape);
      std::vector<double> reach(60, 0.0);
      for (const glm::vec3& p : shell.position) {
        const double turn =
            std::atan2(static_cast<double>(p.y), static_cast<double>(p.x)) / (2 * std::numbers::pi) + 0.5;
        double& here = reach[std::min<std::size_t>(59, static_cast<std::size_t>(60 * turn))];
        here = std::max(here, std::hypot(static_cast<double>(p.x), static_cast<double>(p.y)));
      }
      double mean = 0;
      for (const double one : reach) mean += one / 60;
      EXPECT_NEAR(mean / shape.cap_radius, 1, 0.02) << form.word << " seed " << seed;
    }
  }
}

TEST(Mushroom, NoSurfaceOfRevolutionLeavesTheKit) {
  const Mesh mesh =
      build_with("mushroom", {{"wave", 0.2}, {"dent", 0.0}, {"lean_deg", 0.0}, {"cap_tilt_deg", 0.0}});
  const auto box = testing::extent(mesh);
  const double lopsided = std::abs(box.high.x + box.low.x) + std::abs(box.high.y + box.low.y) +
                          std::abs((box.high.x - box.low.x) - (box.high.y - box.low.y));
  EXPECT_GT(lopsided, 0.0005);  // half a millimetre on a cap of 45
}

TEST(Mushroom, StandsInTheGroundAndReachesItsHeight) {
  const Mesh mesh =
      build_with("mushroom", {{"lean_deg", 0.0}, {"cap_tilt_deg", 0.0}, {"stem_length_mm", 80.0}});
  const auto box = testing::extent(mesh);
  EXPECT_LT(box.low.z, -0.003);
  EXPECT_GT(box.low.z, -0.008);
  // Gills at 80 mm, 5 mm of flesh and 1.2 mm of knob above them; the crown's dents move it by a few
  // millimetres.
  EXPECT_NEAR(box.high.z, 0.0862, 0.004);
}

TEST(Mushroom, TiltingBackLiftsTheFrontOfTheCap) {
  const auto front_height = [](double tilt) {
    const Mesh cap =
        testing::welded_part(build_with("mushroom", {{"cap_tilt_deg", tilt}, {"lean_deg", 0.0}}), "cap");
    glm::vec3 front(0, 1, 0);
    for (const MeshTriangle& one : cap.triangle) {
      if (cap.position[one.a].y < front.y) front = cap.position[one.a];
    }
    return static_cast<double>(front.z);
  };
  EXPECT_GT(front_height(25), front_height(0) + 0.006);
}

TEST(Mushroom, ClustersNumberTheirIndividuals) {
  const Mesh mesh = build_with("mushroom", {{"count", 5.0}});
  std::set<int> numbers;
  for (const MeshPart& part : mesh.parts) numbers.insert(part.individual);
  EXPECT_EQ(numbers, (std::set<int>{1, 2, 3, 4, 5}));
  EXPECT_EQ(mesh.parts.size(), 20u);  // cap, flesh, gills and stem of each
}

// Winding number of a closed mesh about a point: the sum of the triangles' solid angles / 4 pi (van Oosterom
// and Strackee 1983): 1 inside, 0 outside.
double winding(const Mesh& mesh, const glm::dvec3& at) {
  double sum = 0;
  for (const MeshTriangle& one : mesh.triangle) {
    const glm::dvec3 a = glm::dvec3(mesh.position[one.a]) - at, b = glm::dvec3(mesh.position[one.b]) - at,
                     c = glm::dvec3(mesh.position[one.c]) - at;
    const double la = glm::length(a), lb = glm::length(b), lc = glm::length(c);
    sum += 2 * std::atan2(glm::dot(a, glm::cross(b, c)),
                          la * lb * lc + glm::dot(a, b) * lc + glm::dot(b, c) * la + glm::dot(c, a) * lb);
  }
  return sum / (4 * std::numbers::pi);
}

TEST(Mushroom, CapsOfATuftDoNotEnterOneAnother) {
  for (const std::uint32_t seed : {1u, 2u, 3u}) {
    MushroomShape model;
    model.cap_radius = 16;
    model.cap_height = 12;
    model.stem_radius = 2.5;
    model.seed = seed;
    std::vector<Individual> cluster = arrange_cluster(model, 12, 11);
    std::vector<Mesh> caps;
    for (Individual& one : cluster) {
      one.shape.spacing = 5;
      caps.push_back(skin_of(one.shape));
      for (glm::vec3& place : caps.back().position) place += glm::vec3(one.base, 0);
    }
    std::size_t inside = 0, tried = 0;
    for (std::size_t i = 0; i < caps.size(); ++i) {
      for (std::size_t j = 0; j < caps.size(); ++j) {
        const auto box = testing::extent(caps[j]);
        for (std::size_t v = 0; i != j && v < caps[i].position.size(); v += 7) {
          const glm::dvec3 at(caps[i].position[v]);
          ++tried;
          if (glm::any(glm::lessThan(at, box.low)) || glm::any(glm::greaterThan(at, box.high))) continue;
          inside += winding(caps[j], at) > 0.5;
        }
      }
    }
    EXPECT_LT(static_cast<double>(inside), 0.002 * static_cast<double>(tried)) << "seed " << seed;
  }
}

TEST(Mushroom, BasesOfATuftAreJoinedAndTheYoungAreSmaller) {
  MushroomShape model;
  const std::vector<Individual> cluster = arrange_cluster(model, 12, 11);
  for (const Individual& one : cluster) EXPECT_LE(glm::length(one.base), 11.0);
  EXPECT_LT(cluster.back().shape.cap_radius, 0.6 * cluster.front().shape.cap_radius);
  EXPECT_GT(cluster.back().shape.cap_height / cluster.back().shape.cap_radius,
            1.2 * cluster.front().shape.cap_height / cluster.front().shape.cap_radius);
}

// Radius of the widest place of the outline and of its end, and how far the end lies under the crown.
struct Outline {
  double widest = 0, end = 0, drop = 0;
};
Outline outline_with(MarginForm margin) {
  MushroomShape shape;
  shape.margin_form = margin;
  const CapProfile profile(shape);
  Outline found;
  for (int i = 0; i <= 200; ++i) found.widest = std::max(found.widest, profile.top(i / 200.0).place.x);
  found.end = profile.top(1).place.x;
  found.drop = profile.top(0).place.y - profile.top(1).place.y;
  return found;
}

TEST(Mushroom, MarginsCurlAsTheirWordsSay) {
  const Outline straight = outline_with(MarginForm::straight), inrolled = outline_with(MarginForm::inrolled),
                incurved = outline_with(MarginForm::incurved), decurved = outline_with(MarginForm::decurved),
                upturned = outline_with(MarginForm::upturned);
  EXPECT_NEAR(straight.end, straight.widest, 1e-6);
  EXPECT_LT(incurved.end, 0.985 * incurved.widest);
  EXPECT_LT(inrolled.end, 0.95 * inrolled.widest);
  // Rolled right round, the edge is higher than the lowest place of a margin that only bends in.
  EXPECT_LT(inrolled.drop, incurved.drop);
  EXPECT_GT(decurved.drop, straight.drop + 2);
  EXPECT_LT(upturned.drop, straight.drop - 1);
}

TEST(Mushroom, EveryMarginAttachmentStemRingAndCupBuilds) {
  const Kind& kind = *find_kind("mushroom");
  for (const KindKey& key : kind.keys) {
    if (key.type != KeyType::choice || key.name == "preset") continue;
    std::string words = key.choices + " ";
    for (std::size_t from = 0, to = 0; (to = words.find(' ', from)) != std::string::npos; from = to + 1) {
      const std::string word = words.substr(from, to - from);
      EXPECT_EQ(testing::well_formed_fault(build_with("mushroom", {{key.name, word}})), "")
          << key.name << ' ' << word;
    }
  }
}

// Sheets of the gills, joined where they touch: full gills, and 2^tiers - 1 short ones between every two.
TEST(Mushroom, ShortGillsStandBetweenEveryTwoFullOnes) {
  for (const int tiers : {0, 1, 2, 3}) {
    MushroomShape shape;
    shape.gill_count = 20;
    shape.gill_tiers = tiers;
    Mesh sheets;
    add_gills(sheets, MushroomBuild(shape, 1));
    std::vector<std::uint32_t> leader(sheets.position.size());
    for (std::uint32_t i = 0; i < leader.size(); ++i) leader[i] = i;
    const auto find = [&](std::uint32_t i) {
      while (leader[i] != i) i = leader[i];
      return i;
    };
    for (const MeshTriangle& one : sheets.triangle) leader[find(one.b)] = leader[find(one.c)] = find(one.a);
    std::set<std::uint32_t> apart;
    for (std::uint32_t i = 0; i < leader.size(); ++i) apart.insert(find(i));
    EXPECT_EQ(apart.size(), 20u << tiers);
  }
}

TEST(Mushroom, VeilsAndPoresComeWithTheirKeysAlone) {
  const auto parts_of = [](KeyValues values) {
    std::set<std::string> names;
    const Mesh mesh = build_with("mushroom", std::move(values));
    for (const MeshTriangle& one : mesh.triangle) names.insert(mesh.parts[one.part].name);
    return names;
  };
  using Names = std::set<std::string>;
  using namespace std::string_literals;
  EXPECT_EQ(parts_of({}), (Names{"cap", "flesh", "gills", "stem"}));
  EXPECT_EQ(parts_of({{"underside", "pores"s}}), (Names{"cap", "pores", "stem"}));
  EXPECT_EQ(parts_of({{"flesh_mm", 0.0}}), (Names{"cap", "gills", "stem"}));
  EXPECT_EQ(parts_of({{"ring", "skirt"s}, {"cup", "sac"s}, {"warts", 40.0}}),
            (Names{"cap", "cup", "flesh", "gills", "ring", "stem", "warts"}));
  EXPECT_EQ(parts_of({{"margin", "appendiculate"s}}), (Names{"cap", "flesh", "gills", "ring", "stem"}));
}

TEST(Mushroom, RingsHangOnTheUpperStemAndWartsSitOnTheCap) {
  using namespace std::string_literals;
  const KeyValues upright = {{"lean_deg", 0.0}, {"cap_tilt_deg", 0.0}, {"stem_length_mm", 80.0}};
  KeyValues values = upright;
  values.merge(KeyValues{{"ring", "skirt"s}, {"warts", 60.0}});
  const Mesh mesh = build_with("mushroom", values);
  const auto ring = part_extent(mesh, "ring");
  EXPECT_GT(ring.low.z, 0.035);
  EXPECT_LT(ring.high.z, 0.075);
  EXPECT_GT(ring.high.x - ring.low.x, 0.009);  // stands off the stem of 8 mm
  const Mesh warts = testing::welded_part(mesh, "warts");
  EXPECT_EQ(testing::open_edges(warts), 0u);
  EXPECT_GT(testing::signed_volume(warts), 0);
  // Each has 7 + 7 + 28 triangles; all 60 find a place.
  EXPECT_EQ(warts.triangle.size(), 60u * 42u);
  EXPECT_GT(part_extent(mesh, "warts").low.z, part_extent(mesh, "cap").low.z - 0.001);
}

// The margin glows: beyond the solid flesh there is only the skin above and a thin sheet below.
TEST(Mushroom, LightPassesTheMarginAndNotTheFlesh) {
  const Mesh mesh = testing::build_default("mushroom");
  const auto reach = [&](const char* part) {
    const auto box = part_extent(mesh, part);
    return 0.5 * (box.high.x - box.low.x);
  };
  EXPECT_LT(reach("flesh"), 0.97 * reach("cap"));
  EXPECT_GT(reach("flesh"), 0.5 * reach("cap"));
  for (const KindPart& part : find_kind("mushroom")->parts)
    EXPECT_EQ(part.open_sheet, part.material.transmittance != glm::vec3(0)) << part.name;
}

TEST(Mushroom, AgeFlattensLiftsAndTears) {
  const auto height_of_cap = [](double age) {
    const auto box =
        part_extent(build_with("mushroom", {{"age", age}, {"cap_tilt_deg", 0.0}, {"lean_deg", 0.0}}), "cap");
    return box.high.z - box.low.z;
  };
  EXPECT_GT(height_of_cap(0), 1.2 * height_of_cap(0.5));
  EXPECT_LT(height_of_cap(1), 0.9 * height_of_cap(0.5));
}

TEST(Mushroom, PresetsAreDefaultsThatKeysOverride) {
  for (const char* name : {"mushroom", "bonnet", "tuft"}) {
    const Kind& kind = *find_kind(name);
    EXPECT_GE(kind.presets.size(), 3u);
    for (const KindPreset& preset : kind.presets) {
      SCOPED_TRACE(preset.name);
      const KeyValues values = default_values(kind, preset.name);
      EXPECT_EQ(text(values, "preset"), preset.name);
      for (const auto& [key, words] : preset.values) EXPECT_TRUE(values.contains(key)) << key;
      const std::vector<KindPart> parts = parts_with(kind, values);
      for (const KindPreset::Part& own : preset.parts) {
        const auto part =
            std::find_if(parts.begin(), parts.end(), [&](const KindPart& p) { return p.name == own.name; });
        ASSERT_NE(part, parts.end()) << own.name;
        EXPECT_EQ(part->row, own.row);
      }
      EXPECT_EQ(testing::well_formed_fault(kind.build(values, {})), "");
    }
  }
}

// Seen small a mushroom has few triangles and the same size.
TEST(Mushroom, DetailFollowsThePixel) {
  for (const char* name : {"mushroom", "bonnet", "tuft"}) {
    Setting far;
    far.pixel_m = 0.001;
    const Mesh &near_mesh = testing::build_default(name), far_mesh = build_with(name, {}, far);
    EXPECT_EQ(testing::well_formed_fault(far_mesh), "");
    EXPECT_LT(5 * far_mesh.triangle.size(), near_mesh.triangle.size()) << name;
    const auto near_box = testing::extent(near_mesh), far_box = testing::extent(far_mesh);
    const double size = glm::length(near_box.high - near_box.low);
    EXPECT_LT(glm::length(far_box.high - near_box.high) / size, 0.03) << name;
    EXPECT_LT(glm::length(far_box.low - near_box.low) / size, 0.03) << name;
  }
}

// Corners of the ranges build too, whatever stands in the file.
TEST(Mushroom, ExtremesOfTheRangesAreWellFormed) {
  for (const char* kind : {"mushroom", "bonnet"}) {
    for (const char* form : {"convex", "bell", "funnel", "flat", "conic"}) {
      const std::string profile = form;
      EXPECT_EQ(testing::well_formed_fault(build_with(
                    kind, {{"cap_profile", profile}, {"cap_diameter_mm", 3.0}, {"stem_diameter_mm", 0.3}})),
                "")
          << profile;
      EXPECT_EQ(testing::well_formed_fault(build_with(kind, {{"cap_profile", profile},
                                                             {"cap_diameter_mm", 300.0},
                                                             {"inroll_mm", 40.0},
                                                             {"wave", 3.0},
                                                             {"dent", 3.0}})),
                "")
          << profile;
      EXPECT_EQ(testing::well_formed_fault(build_with(kind, {{"cap_profile", profile},
                                                             {"gill_attachment", std::string("free")},
                                                             {"stem_diameter_mm", 120.0},
                                                             {"gill_tiers", 3.0}})),
                "")
          << profile;
      EXPECT_EQ(testing::well_formed_fault(build_with(kind, {{"cap_profile", profile},
                                                             {"gill_attachment", std::string("decurrent")},
                                                             {"lean_deg", 60.0},
                                                             {"cap_tilt_deg", -60.0},
                                                             {"depression_mm", 30.0}})),
                "")
          << profile;
    }
  }
}

}  // namespace
}  // namespace undercap
