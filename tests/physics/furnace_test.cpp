// Light that goes round: furnaces, a bowl, a closed room.
#include <fmt/format.h>

#include <cmath>
#include <fstream>
#include <numbers>

#include "engine/surface/coat.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

// Six large emissive cards around the origin: from inside, luminance 100 cd/m2 in every direction.
std::string glowing_room() {
  std::string text;
  const char* sides[] = {"1, 0, 0", "-1, 0, 0", "0, 1, 0", "0, -1, 0", "0, 0, 1", "0, 0, -1"};
  const double places[][3] = {{-2, 0, 0}, {2, 0, 0}, {0, -2, 0}, {0, 2, 0}, {0, 0, -2}, {0, 0, 2}};
  for (int i = 0; i < 6; ++i)
    text += fmt::format(
        "[[prop]]\nname = \"side{}\"\nkind = \"plane\"\nat_m = [{:.1f}, {:.1f}, {:.1f}]\nsize_m = [4, "
        "4]\nnormal = [{}]\n"
        "material.surface = {{ reflectance = 0, emission_cd_m2 = 100 }}\n",
        i, places[i][0], places[i][1], places[i][2], sides[i]);
  return text;
}

Estimate subject_luminance(const World& world, unsigned passes) {
  Tracer tracer(test_shaders(), world);
  const Survey survey = take_survey(tracer, world, passes, false, [](double) { return true; });
  EXPECT_FALSE(survey.counters.warning().has_value()) << *survey.counters.warning();
  return mean_luminance(survey.subject, mix_of(world)).value_or(Estimate{});
}

std::string camera_at(double distance) {
  return fmt::format(
      "[camera]\nbarrel_mm = 0\nposition_m = [0.0, {}, 0.0]\nlook_at = [0.0, 0.0, 0.0]\nf_number = "
      "16\n[subject]\nparts = [\"thing\"]\n",
      -distance);
}

// White furnace: in a room of even luminance whatever sends everything back, by reflection or through itself,
// is as bright as the room, seen from anywhere, whatever its shape.
TEST(Furnace, LambertSheetAndCoat) {
  const char* materials[] = {
      "{ reflectance = 1 }", "{ reflectance = [0.6, 0.3, 0.9], transmittance = [0.4, 0.7, 0.1] }",
      "{ reflectance = 1, roughness = 0.3 }", "{ reflectance = 0.5, transmittance = 0.5, roughness = 0.6 }"};
  // 2e-3 where there is a coat: its albedo is interpolated between 32 x 32 nodes.
  const double further[] = {0, 0, 2e-3, 2e-3};
  for (std::size_t i = 0; i < std::size(materials); ++i) {
    const World world =
        world_of(bare + no_sky + camera_at(0.5) + glowing_room() +
                 fmt::format("[[prop]]\nname = \"thing\"\nkind = \"card\"\nat_m = [0.0, 0.0, 0.0]\nsize_mm = "
                             "[80, 60]\nturn_deg = 50\nmaterial.surface = {}\n",
                             materials[i]));
    EXPECT_TRUE(agrees(subject_luminance(world, 2), 100, further[i])) << materials[i];
  }
}

// A coat over a black body sends back its directional albedo, seen at 20 and 70 degrees. 2e-3 as above.
TEST(Furnace, CoatAlone) {
  for (const double roughness : {0.5, 0.8})
    for (const double degrees : {20.0, 70.0}) {
      const World world =
          world_of(bare + no_sky + camera_at(0.5) + glowing_room() +
                   fmt::format("[[prop]]\nname = \"thing\"\nkind = \"card\"\nat_m = [0.0, 0.0, "
                               "0.0]\nsize_mm = [8, 6]\nturn_deg = {}\nmaterial.surface = {{ reflectance = "
                               "0, roughness = {} }}\n[[meter]]\nname = \"s\"\nkind = \"spot\"\n",
                               degrees, roughness));
      const double albedo = coat_albedo(std::cos(degrees * pi / 180), roughness * roughness);
      EXPECT_TRUE(agrees(meter_reading(world, "s", 2), 100 * albedo, 2e-3)) << roughness << " " << degrees;
    }
}

// The same with smooth shading normals: a ball, and a whole mushroom with its gills.
TEST(Furnace, BallAndMushroom) {
  const World ball =
      world_of(bare + no_sky + camera_at(0.5) + glowing_room() +
               "[[prop]]\nname = \"thing\"\nkind = \"sphere\"\nat_m = [0.0, 0.0, 0.0]\ndiameter_mm = "
               "60\nmaterial.surface = { reflectance = 1, roughness = 0.4 }\n");
  EXPECT_TRUE(agrees(subject_luminance(ball, 2), 100, 2e-3));
  World mushroom = world_of(bare + no_sky + camera_at(0.4) + glowing_room() +
                            "[[prop]]\nname = \"thing\"\nkind = \"mushroom\"\nat_m = [0.0, 0.0, -0.05]\n"
                            "material.cap = { reflectance = 0.8, transmittance = 0.2, roughness = 1 }\n"
                            "material.flesh = { reflectance = 1, roughness = 1 }\n"
                            "material.stem = { reflectance = 1, roughness = 1 }\n"
                            "material.gills = { reflectance = 0.6, transmittance = 0.4, roughness = 1 }\n");
  // Tints lie below 1 here and there, which is absorption; without them nothing is lost.
  for (glm::vec3& tint : mushroom.tint) tint = glm::vec3(1);
  EXPECT_TRUE(agrees(subject_luminance(mushroom, 4), 100));
}

// Shading normals far from the real faces: an octahedron with the normals of a ball. Lobes are folded over
// the real surface, so nothing leaks through the faces and nothing is lost.
TEST(Furnace, CoarseMeshWithSmoothNormals) {
  std::ofstream out(test_folder() + "/octahedron.obj");
  for (const char* line : {"v", "vn"})
    for (const char* corner : {" 1 0 0", " 0 1 0", " -1 0 0", " 0 -1 0", " 0 0 1", " 0 0 -1"})
      out << line << corner << "\n";
  for (int i = 0; i < 4; ++i) {
    const int a = i + 1, b = (i + 1) % 4 + 1;
    out << fmt::format("f {0}//{0} {1}//{1} 5//5\nf {1}//{1} {0}//{0} 6//6\n", a, b);
  }
  out.close();
  const World world =
      world_of(bare + no_sky + camera_at(0.5) + glowing_room() +
               "[[prop]]\nname = \"thing\"\nkind = \"mesh\"\nfile = \"octahedron.obj\"\nunit = \"cm\"\nup = "
               "\"z\"\nat_m = [0.0, 0.0, 0.0]\n"
               "scale = 3\nturn_deg = 20\nmaterial.surface = { reflectance = 1, roughness = 1 }\n");
  EXPECT_TRUE(agrees(subject_luminance(world, 2), 100));
}

// A convex Lambertian body of reflectance rho in the same room: rho x 100.
TEST(Furnace, GreyBall) {
  const World world = world_of(bare + no_sky + camera_at(0.5) + glowing_room() +
                               "[[prop]]\nname = \"thing\"\nkind = \"sphere\"\nat_m = [0.0, 0.0, "
                               "0.0]\ndiameter_mm = 60\nmaterial.surface = { reflectance = 0.18 }\n");
  EXPECT_TRUE(agrees(subject_luminance(world, 2), 18));
}

// A hemispherical bowl as an OBJ, opening upward, radius 1 m, at z = 0.
void write_bowl(const std::string& file) {
  constexpr int around = 384, up = 96;
  std::ofstream out(file);
  for (int j = 0; j <= up; ++j)
    for (int i = 0; i < around; ++i) {
      const double a = 2 * pi * i / around, e = -pi / 2 * j / up;
      out << fmt::format("v {:.9f} {:.9f} {:.9f}\n", std::cos(e) * std::cos(a), std::cos(e) * std::sin(a),
                         std::sin(e));
    }
  for (int j = 0; j < up; ++j)
    for (int i = 0; i < around; ++i) {
      const int a = j * around + i + 1, b = j * around + (i + 1) % around + 1;
      out << fmt::format("f {} {} {}\n", a, b, a + around);
      if (j + 1 < up) out << fmt::format("f {} {} {}\n", b, b + around, a + around);
    }
}

// Bowl that is the fraction f = 1/2 of a sphere under a sky even over its opening: E = pi L0 (1 - f) / (1 -
// rho f) anywhere in it; rho .2, .5, .8: .55556, .66667, .83333 of pi L0. 3e-4: the facets of 384 x 96.
TEST(Bowl, EvenSky) {
  write_bowl(test_folder() + "/bowl.obj");
  const double rho[] = {0.2, 0.5, 0.8}, exact[] = {.55556, .66667, .83333};
  for (std::size_t i = 0; i < 3; ++i) {
    const World world = world_of(
        bare + plain_camera + "[sky]\nmodel = \"uniform\"\nhorizontal_lx = 1000\n" +
        fmt::format(
            "[[prop]]\nname = \"bowl\"\nkind = \"mesh\"\nfile = \"bowl.obj\"\nunit = \"m\"\nup = \"z\"\nat_m "
            "= [0.0, 0.0, 0.0]\nmaterial.surface = {{ reflectance = {}, roughness = 1 }}\n",
            rho[i]) +
        "[[meter]]\nname = \"m\"\nkind = \"incident\"\nposition_m = [0.0, 0.0, -0.9985]\nnormal = [0, 0, "
        "1]\n");
    EXPECT_TRUE(agrees(meter_reading(world, "m"), 1000 * exact[i], 3e-4)) << rho[i];
  }
}

// A closed room: whatever is inside, the light that arrives adds up to Phi / (1 - rho) (energy balance). A 4
// m cube, a bulb of 10,000 lm in the middle: walls receive Phi / (1 - rho) / (96 m2 + rho x area of the
// bulb), the bulb itself receiving what the walls send back. The mean over a wall by 3 x 3 Gauss points on a
// quarter (1e-3: the rest of that quadrature).
TEST(Cavity, ClosedRoom) {
  const double bulb_area = pi * 0.1 * 0.1;
  const double node[] = {0.5 - std::sqrt(0.15), 0.5, 0.5 + std::sqrt(0.15)},
               weight[] = {5.0 / 18, 8.0 / 18, 5.0 / 18};
  for (const double rho : {0.5, 0.9}) {
    std::string text = bare + no_sky + plain_camera;
    const char* sides[] = {"1, 0, 0", "-1, 0, 0", "0, 1, 0", "0, -1, 0", "0, 0, 1", "0, 0, -1"};
    const double places[][3] = {{-2, 0, 0}, {2, 0, 0}, {0, -2, 0}, {0, 2, 0}, {0, 0, -2}, {0, 0, 2}};
    for (int i = 0; i < 6; ++i)
      text += fmt::format(
          "[[prop]]\nname = \"side{}\"\nkind = \"plane\"\nat_m = [{:.1f}, {:.1f}, {:.1f}]\nsize_m = [4, "
          "4]\nnormal = [{}]\nmaterial.surface.reflectance = {}\n",
          i, places[i][0], places[i][1], places[i][2], sides[i], rho);
    text += fmt::format(
        "[[prop]]\nname = \"bulb\"\nkind = \"sphere\"\nat_m = [0.0, 0.0, 0.0]\ndiameter_mm = "
        "100\nmaterial.surface = {{ reflectance = {}, emission_cd_m2 = {:.17g} }}\n",
        rho, 1e4 / (pi * bulb_area));
    for (int i = 0; i < 3; ++i)
      for (int j = 0; j < 3; ++j)
        text += fmt::format(
            "[[meter]]\nname = \"m{}{}\"\nkind = \"incident\"\nposition_m = [{:.12f}, {:.12f}, "
            "-1.99999]\nnormal = [0, 0, 1]\n",
            i, j, 2 * node[i], 2 * node[j]);
    const World world = world_of(text);
    Tracer tracer(test_shaders(), world);
    Estimate mean;
    double squares = 0;
    for (std::size_t k = 0; k < 9; ++k) {
      const Estimate one =
          *mean_luminance(take_meter(tracer, world, world.scene.meters[k], 1), mix_of(world));
      const double w = weight[k / 3] * weight[k % 3];
      mean.value += w * one.value;
      squares += w * w * one.se * one.se;
    }
    mean.se = std::sqrt(squares);
    EXPECT_TRUE(agrees(mean, 1e4 / (1 - rho) / (96 + rho * bulb_area), 1e-3)) << rho;
    EXPECT_FALSE(tracer.counters().warning().has_value());
  }
}

}  // namespace
}  // namespace undercap
