// The light of the wood as it arrives: general skies, leaves overhead, the edges of sun flecks, a panel close
// by.
#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/light/canopy.h"
#include "engine/world/canopy.h"
#include "engine/world/sky_map.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

// Sun 30 degrees up in the south, no light of its own: level illuminance over zenith luminance, and vertical
// over level toward the sun, across and away (CIE S 011/E:2003 = ISO 15469:2004, integrated to 1e-6; computed
// here).
TEST(GeneralSky, LevelAndVertical) {
  struct Row {
    int type;
    double level, sun, side, away;
  };
  for (const Row& row : {Row{1, 2.44954, .3792, .3792, .3792}, Row{7, 3.67305, .7939, .4329, .3251},
                         Row{12, 6.39411, 1.2346, .5590, .3966}, Row{15, 8.11602, 1.6937, .5629, .2375}}) {
    const World world =
        world_of(bare + plain_camera +
                 fmt::format("[sky]\nmodel = \"general\"\ntype = {}\nhorizontal_lx = "
                             "1000\n[sun]\non = false\nazimuth_deg = 180\nelevation_deg = 30\n",
                             row.type));
    const double zenith = luminance_y(sky_radiance(world.sky, {0, 0, 1}) * world.groups[0].weight());
    Tracer tracer(test_shaders(), world);
    const Estimate level = illuminance(tracer, world, {{{0, 0, 1}}});
    EXPECT_TRUE(agrees(level, 1000)) << row.type;
    EXPECT_NEAR(1000 / zenith / row.level, 1, 2e-3) << row.type;
    const glm::dvec3 normals[] = {{0, -1, 0}, {1, 0, 0}, {0, 1, 0}};
    const double exact[] = {row.sun, row.side, row.away};
    for (std::size_t i = 0; i < 3; ++i)
      EXPECT_TRUE(agrees(illuminance(tracer, world, {{{0, 0, 1}, normals[i]}}, 2), 1000 * exact[i], 2e-3))
          << row.type << " " << i;
  }
}

// Leaves overhead, level and tilted: what arrives, rendered, is the map's own integral (four points a cell)
// times the group's weight, for the sky and for the light that the leaves scatter down of the sun.
TEST(Canopy, RenderedAgainstItsMap) {
  const World world = world_of(bare + plain_camera +
                               "[sky]\nmodel = \"overcast\"\nhorizontal_lx = 5000\n[sun]\non = "
                               "true\nazimuth_deg = 150\nelevation_deg = "
                               "40\nnormal_lx = 50000\n[canopy]\nleaf_area_index = 3\nleaf = \"yellow\"\n");
  Tracer tracer(test_shaders(), world);
  for (const glm::dvec3& normal : {glm::dvec3(0, 0, 1), glm::dvec3(.6, 0, .8), glm::dvec3(0, 1, 0)}) {
    const RegionSums sums = receive(tracer, world, {{{0, 0, .05}, normal}}, 4);
    for (std::size_t g = 0; g < world.groups.size(); ++g) {
      if (world.groups[g].kind == LightGroup::Kind::sun) continue;
      const SkyMap& map = world.groups[g].kind == LightGroup::Kind::sky ? world.sky : world.leaves;
      Mix mix = mix_of(world);
      for (std::size_t other = 0; other < mix.size(); ++other)
        if (other != g) mix[other] = glm::dvec3(0);
      EXPECT_TRUE(agrees(*mean_luminance(sums, mix),
                         luminance_y(sky_illuminance(map, normal) * world.groups[g].weight()), 1e-3))
          << world.groups[g].name << " " << normal.z;
    }
  }
}

// The mean over many woods of what the leaves leave of the sky on level ground is the integral over all gaps
// and leaves, channel by channel, within 4 standard errors of the woods' own spread. And no wood of yellow
// leaves passes more blue than red.
TEST(Canopy, MeanOverWoods) {
  struct Leaves {
    const char* name;
    LeafColour colour;
  };
  for (const Leaves& leaves : {Leaves{"yellow", LeafColour::yellow}, Leaves{"none", LeafColour::none}}) {
    const int woods = leaves.colour == LeafColour::none ? 16 : 64;
    glm::dvec3 sum(0), squares(0);
    std::vector<double> height;  // of the nodes; worked out once
    for (int seed = 1; seed <= woods; ++seed) {
      const World world = world_of(
          bare + plain_camera +
          fmt::format("[sky]\nmodel = \"overcast\"\nhorizontal_lx = 5000\n[canopy]\nleaf_area_index = "
                      "2\nclumping = 0.8\nleaf = \"{}\"\nseed = {}\n",
                      leaves.name, seed));
      // The trapezium rule over the nodes: 2 pi / side^2 each, half on an edge, a quarter at a corner.
      const int side = world.sky.side;
      glm::dvec3 share(0);
      for (int row = 0, i = 0; row <= side; ++row)
        for (int column = 0; column <= side; ++column, ++i) {
          if (height.size() <= static_cast<std::size_t>(i))
            height.push_back(sky_direction(glm::dvec2(column, row) / static_cast<double>(side)).z *
                             (row % side == 0 ? .5 : 1) * (column % side == 0 ? .5 : 1) * 2 * pi / side /
                             side);
          share +=
              glm::dvec3(world.sky.node[static_cast<std::size_t>(i)]) * height[static_cast<std::size_t>(i)];
        }
      sum += share;
      squares += share * share;
      EXPECT_GE(share.r, share.b * (1 - 1e-6)) << seed;
    }
    const glm::dvec3 exact = diffuse_canopy_transmission(SkyShape::overcast, leaves.colour, 2, .8);
    const double gaps = diffuse_gap_fraction(SkyShape::overcast, 2, .8);
    for (int channel = 0; channel < 3; ++channel) {
      const double mean = sum[channel] / woods,
                   se = std::sqrt((squares[channel] / woods - mean * mean) / (woods - 1));
      EXPECT_LT(se, .03 * mean);
      EXPECT_NEAR(mean, exact[channel], 4 * se) << leaves.name << " " << channel;
      if (leaves.colour == LeafColour::none) {
        EXPECT_NEAR(exact[channel], gaps, 1e-9);
      }
    }
  }
}

// One round gap overhead of half-angle t and nothing else: of an even sky sin^2 t arrives, of the overcast
// one 3/7 sin^2 t + 4/7 (1 - cos^3 t). 4e-3: the gap's edge goes through cells of the map.
TEST(Canopy, RoundGap) {
  const double exact[][3] = {{10, .03015, .03857}, {30, .25, .30742}, {45, .5, .58368}};
  for (const auto& [degrees, uniform, overcast] : exact)
    for (const bool even : {true, false}) {
      const World world =
          world_of(bare + plain_camera +
                   fmt::format("[sky]\nmodel = \"{}\"\nhorizontal_lx = 10000\n[canopy]\ngap_deg = {}\n",
                               even ? "uniform" : "overcast", degrees));
      Tracer tracer(test_shaders(), world);
      EXPECT_TRUE(
          agrees(illuminance(tracer, world, {{{0, 0, .05}}}), 1e4 * (even ? uniform : overcast), 4e-3))
          << degrees << " " << even;
    }
}

// Through one round gap of 30 degrees overhead the sun comes while it stands within 30 degrees of the zenith,
// and then whole; lower it does not, wherever it stands.
TEST(Canopy, SunThroughTheOneGap) {
  for (const double elevation : {66., 61., 59., 30., 20., 11.8, 11., 6.5, 4.}) {
    const World world = world_of(
        bare + plain_camera + no_sky +
        fmt::format("[sun]\non = true\nazimuth_deg = 90\nelevation_deg = {:.1f}\nnormal_lx = 1000\n[canopy]\n"
                    "gap_deg = 30\n",
                    elevation));
    Tracer tracer(test_shaders(), world);
    const Estimate got = illuminance(tracer, world, {{{0, 0, .05}}}, 1);
    const double exact = elevation > 60 ? 1000 * std::sin(elevation * pi / 180) : 0;
    EXPECT_TRUE(agrees(got, exact, 1e-4)) << elevation;
  }
}

// The sun meets the gaps that the sky has: where the ray from the origin to the sun goes through the layer,
// it is open as that direction is. Over places the open share is the gap fraction of the sun's height,
// exp(-.5 clumping LAI / sine), within 4 standard errors of the woods' own spread.
TEST(Canopy, SunMeetsTheGapsOfTheSky) {
  for (const double elevation : {25., 60.}) {
    const double sine = std::sin(elevation * pi / 180);
    const glm::dvec3 sun(std::sqrt(.3) * std::sqrt(1 - sine * sine),
                         -std::sqrt(.7) * std::sqrt(1 - sine * sine), sine);
    constexpr int woods = 6;
    double sum = 0, squares = 0;
    for (int seed = 1; seed <= woods; ++seed) {
      const auto leaves = LeafLayer::of({.leaf_area_index = 1.5, .clumping = .8, .seed = seed});
      const GapLayer gaps = leaves->gaps(sun);
      const glm::dvec2 at = (glm::dvec2(sun) * (gaps.height_m / sun.z) - gaps.corner_m) / gaps.cell_m;
      const auto cell = static_cast<std::size_t>(static_cast<int>(at.y) * gaps.side + static_cast<int>(at.x));
      EXPECT_EQ(gaps.open[cell] != 0, leaves->open(sun)) << seed;
      double open = 0;
      for (const std::uint8_t one : gaps.open) open += one;
      open /= static_cast<double>(gaps.open.size());
      sum += open;
      squares += open * open;
    }
    const double mean = sum / woods, se = std::sqrt((squares / woods - mean * mean) / (woods - 1));
    EXPECT_LT(se, .03);
    EXPECT_NEAR(mean, std::exp(-.5 * .8 * 1.5 / sine), 4 * se) << elevation;
  }
}

// Past the straight edge of a leaf the sun is seen in part: at u radii of its image from the middle of the
// edge's shadow, (acos u - u sqrt(1 - u^2)) / pi of it. The sun stands overhead, the edge 10 m up: a radius
// is 10 m x tan 959.63".
TEST(Fleck, StraightEdge) {
  World world = world_of(bare + plain_camera + no_sky +
                         "[sun]\non = true\nazimuth_deg = 0\nelevation_deg = 90\nnormal_lx = 1000\n");
  world.gaps = {.height_m = 10, .corner_m = {-100, -100}, .cell_m = 100, .side = 2, .open = {1, 0, 1, 0}};
  const double radius = 10 * std::tan(sun_angular_radius.value());
  const double share[] = {1, .92785, .80450, .65748, .5, .34252, .19550, .07215, 0};
  Tracer tracer(test_shaders(), world);
  for (int i = 0; i <= 8; ++i) {
    const double u = -1 + .25 * i, inside = std::clamp(u, -1., 1.);
    EXPECT_NEAR((std::acos(inside) - inside * std::sqrt(1 - inside * inside)) / pi, share[i], 1e-5);
    const Estimate got = illuminance(tracer, world, {{{1.0001 * u * radius, .3, 0}}}, i == 7 ? 16 : 4);
    if (i == 8) {
      EXPECT_EQ(got.value, 0);
      continue;
    }
    EXPECT_TRUE(agrees(got, 1000 * share[i], 1e-3)) << u;  // the place of the edge in single precision
  }
}

// A panel of 60 x 40 mm and 300 lm, every point of it a Lambertian source, on its axis: E = 4 M F, M = 300 lm
// / area, with the factor of a quarter, F = (a / sqrt(1 + a a) atan(b / sqrt(1 + a a)) + the same with a and
// b exchanged) / (2 pi), a and b its half sides over the distance. 8793.0, 2336.8, 1050.92, 380.65 lx.
TEST(Lamp, PanelCloseBy) {
  const double rows[][2] = {{.1, 8793.0}, {.2, 2336.8}, {.3, 1050.92}, {.5, 380.65}};
  for (const auto& [distance, lx] : rows) {
    const auto half = [&](double x, double y) {
      return x / std::hypot(1, x) * std::atan(y / std::hypot(1, x)) / (2 * pi);
    };
    const double a = .03 / distance, b = .02 / distance,
                 exact = 4 * (half(a, b) + half(b, a)) * 300 / (.06 * .04);
    EXPECT_NEAR(exact / lx, 1, 1e-5);
    const World world = world_of(
        bare + no_sky + plain_camera +
        fmt::format(
            "[[source]]\nname = \"panel\"\nkind = \"panel\"\nposition_m = [0, 0, {}]\naim = [0, 0, 0]\n"
            "flux_lm = 300\nbeam_deg = 120\nsize_mm = [60, 40]\n",
            distance));
    Tracer tracer(test_shaders(), world);
    EXPECT_TRUE(agrees(illuminance(tracer, world, {{{0, 0, 0}}}), exact)) << distance;
  }
}

}  // namespace
}  // namespace undercap
