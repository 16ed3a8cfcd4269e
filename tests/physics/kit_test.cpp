// The whole kit in the light: every kind keeps all of it, and tidying can be undone.
#include <fmt/format.h>

#include <algorithm>
#include <glm/geometric.hpp>

#include "engine/scene/load.h"
#include "engine/shape/kinds.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

World drafted(const std::string& text) {
  test_shaders();
  return build_world(SceneFile::from_text("undercap = 1\n" + text, test_folder() + "/kit.toml").scene(),
                     {.draft = true});
}

// Everything with the kind's own shape and relief, but sending all light back: sheets .6 to their side and .4
// through, the rest 1. Tints lie below 1 here and there, which is absorption, so there are none.
void whiten(World& world) {
  for (glm::vec3& tint : world.tint) tint = glm::vec3(1);
  for (WorldPart& part : world.parts) {
    if (part.prop != "thing") continue;
    Material& m = world.materials[part.material];
    const bool sheet = m.transmittance != glm::vec3(0);
    m.roughness = 1;
    m.reflectance = glm::vec3(sheet ? .6f : 1.f);
    m.transmittance = glm::vec3(sheet ? .4f : 0.f);
  }
}

// Seen from three times its radius, in a room of ten: six glowing sides of 100 cd/m2.
std::string room_around(const std::string& kind, const glm::dvec3& middle, double radius) {
  std::string text =
      bare + no_sky +
      fmt::format(
          "[camera]\nbarrel_mm = 0\nf_number = 16\nfocal_length_mm = 30\nposition_m = [{0:.6f}, {1:.6f}, "
          "{2:.6f}]\nlook_at = [{0:.6f}, {3:.6f}, {4:.6f}]\nfocus_distance_m = {5:.6f}\n[subject]\nparts = "
          "[\"thing\"]\n[[prop]]\nname = \"thing\"\nkind = \"{6}\"\nat_m = [0.0, 0.0, 0.0]\n",
          middle.x, middle.y - 3 * radius, middle.z + radius, middle.y, middle.z, 3 * radius + .2, kind);
  const glm::dvec3 sides[] = {{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}};
  for (std::size_t i = 0; i < std::size(sides); ++i) {
    const glm::dvec3 at = middle - 10 * radius * sides[i];
    text += fmt::format(
        "[[prop]]\nname = \"side{}\"\nkind = \"plane\"\nat_m = [{:.6f}, {:.6f}, {:.6f}]\nsize_m = [{:.6f}, "
        "{:.6f}]\nnormal = [{:.1f}, {:.1f}, {:.1f}]\nmaterial.surface = {{ reflectance = 0, emission_cd_m2 = "
        "100 }}\n",
        i, at.x, at.y, at.z, 20 * radius, 20 * radius, sides[i].x, sides[i].y, sides[i].z);
  }
  return text;
}

// White furnace: whatever loses nothing is as bright as the room that it stands in. Paths end after a number
// of bounces that only the depths of moss and litter reach: 1e-3.
TEST(Kit, WhiteFurnace) {
  for (const Kind& kind : kinds()) {
    if (kind.name == "mesh") continue;  // has its own furnace
    SCOPED_TRACE(kind.name);
    const World alone = drafted(bare + no_sky + "[camera]\nposition_m = [0.0, -3.0, 0.5]\nlook_at = [0, 0, " +
                                "0.1]\n[[prop]]\nname = \"thing\"\nkind = \"" + std::string(kind.name) +
                                "\"\nat_m = [0.0, 0.0, 0.0]\n");
    glm::dvec3 low(1e9), high(-1e9);
    for (const WorldTriangle& triangle : alone.triangle) {
      if (alone.parts[triangle.part].prop != "thing") continue;  // the camera's barrel
      for (const std::uint32_t corner : {triangle.a, triangle.b, triangle.c}) {
        low = glm::min(low, glm::dvec3(alone.position[corner]));
        high = glm::max(high, glm::dvec3(alone.position[corner]));
      }
    }
    const double radius = std::max(0.5 * glm::distance(low, high), 0.01);
    World world = drafted(room_around(std::string(kind.name), 0.5 * (low + high), radius));
    whiten(world);
    Tracer tracer(test_shaders(), world);
    const Survey survey = take_survey(tracer, world, 2, false, [](double) { return true; });
    const auto seen = mean_luminance(survey.subject, mix_of(world));
    ASSERT_TRUE(seen.has_value());
    EXPECT_TRUE(agrees(*seen, 100, 1e-3));
  }
}

// Tidying: without a leaf the picture is another one; with the leaf back it is the same to the last bit.
TEST(Kit, LeafHiddenAndShownAgain) {
  SceneFile file = SceneFile::from_text(
      "undercap = 1\n[camera]\nposition_m = [0.0, -0.5, 0.25]\nlook_at = [0, 0, 0]\n[sky]\nhorizontal_lx = "
      "2000\n[[prop]]\nname = \"leaves\"\nkind = \"litter\"\nat_m = [0, 0]\nradius_m = 0.2\nclear_front_mm = "
      "0\nclear_centre_mm = 0\n",
      test_folder() + "/leaves.toml");
  const auto picture = [&file] {
    const World world = build_world(file.scene(), {.draft = true});
    Tracer tracer(test_shaders(), world);
    const View view{.width = 48, .height = 32};
    Film film = tracer.make_film(view);
    tracer.sample(view, film, {.count = 4});
    return film.read();
  };
  const std::vector<float> before = picture();
  file.set("prop.leaves.hidden", "[9]", "test");
  EXPECT_NE(picture(), before);
  file.set("prop.leaves.hidden", "[]", "test");
  EXPECT_EQ(picture(), before);
}

}  // namespace
}  // namespace undercap
