// Configuration factors: what an emissive figure of even luminance L sends to a receiver, E = pi L F, at a
// point or as the mean over an area. The closed forms are those of Howell, "A Catalog of Radiation Heat
// Transfer Configuration Factors" (from memory, each beside a figure computed to six digits).
#include <fmt/format.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <glm/trigonometric.hpp>
#include <numbers>

#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double luminance = 1000;

// A world with one black figure that shines to the side of its normal.
World shining(const std::string& kind_and_place) {
  return world_of(bare + no_sky + plain_camera + "[[prop]]\nname = \"figure\"\n" + kind_and_place +
                  fmt::format("material.surface = {{ reflectance = 0, emission_cd_m2 = {} }}\n", luminance));
}

struct Case {
  Receiver receiver;
  double factor;     // by the closed form
  double published;  // to six digits
};

// 'further' is the figure's mesh: 1e-4 for 256 sides.
void expect_factors(const World& world, const std::vector<Case>& cases, double further, unsigned passes = 3) {
  Tracer tracer(test_shaders(), world);
  for (const Case& one : cases) {
    EXPECT_NEAR(one.factor, one.published, 5.1e-7);
    EXPECT_TRUE(
        agrees(illuminance(tracer, world, {one.receiver}, passes), pi * luminance * one.factor, further))
        << one.published;
  }
}

// Point under a disc of radius r, h above the point and a to the side.
double disc_parallel(double r, double h, double a) {
  if (a <= 0) return r * r / (r * r + h * h);
  const double H = h / a, R = r / a, Z = 1 + H * H + R * R;
  return 0.5 * (1 - (Z - 2 * R * R) / std::sqrt(Z * Z - 4 * R * R));
}

// The same, the receiver's normal level and towards the axis.
double disc_perpendicular(double r, double h, double a) {
  const double H = h / a, R = r / a, Z = 1 + H * H + R * R;
  return H / 2 * (Z / std::sqrt(Z * Z - 4 * R * R) - 1);
}

// A disc of radius 1 looks down from the origin: other radii are these with all lengths scaled.
TEST(Factors, DiscToPoint) {
  const World world = shining("kind = \"disc\"\nat_m = [0, 0, 0]\ndiameter_mm = 2000\nnormal = [0, 0, -1]\n");
  const auto below = [](double r, double h, double a, double published) {
    return Case{{{a / r, 0, -h / r}, {0, 0, 1}}, disc_parallel(r, h, a), published};
  };
  const auto beside = [](double r, double h, double a, double published) {
    return Case{{{-a / r, 0, -h / r}, {1, 0, 0}}, disc_perpendicular(r, h, a), published};
  };
  expect_factors(world,
                 {below(1, 1, 0, .5), below(1, 2, 0, .2), below(1, 1, 1, .276393), below(1, 2, 1, .146447),
                  below(.5, 1, 1.5, .025658), below(1, .5, 2, .022110), beside(1, 1, 2, .085410),
                  beside(1, 2, 1.5, .065636)},
                 1e-4);
}

// Point under one corner of a rectangle a x b, c away.
double rectangle_parallel(double a, double b, double c) {
  const double A = a / c, B = b / c, ra = std::hypot(1, A), rb = std::hypot(1, B);
  return (A / ra * std::atan(B / ra) + B / rb * std::atan(A / rb)) / (2 * pi);
}

// A rectangle of height a and width b stands on the receiver's plane, one corner straight before it at c.
double rectangle_perpendicular(double a, double b, double c) {
  const double X = a / b, Y = c / b, r = std::hypot(X, Y);
  return (std::atan(1 / Y) - Y / r * std::atan(1 / r)) / (2 * pi);
}

TEST(Factors, RectangleToPoint) {
  // A square of side 1 looks down from the origin; receivers under its corner, other sides by scaling.
  const auto corner = [](double side, double c, double published) {
    return Case{{{.5, .5, -c / side}}, rectangle_parallel(side, side, c), published};
  };
  expect_factors(shining("kind = \"plane\"\nat_m = [0, 0, 0]\nsize_m = [1, 1]\nnormal = [0, 0, -1]\n"),
                 {corner(1, 1, .138532),
                  corner(1, 2, .059864),
                  corner(2, 1, .207757),
                  {{{0, 0, -1}}, 4 * rectangle_parallel(.5, .5, 1), .239456}},
                 0);
  // 2 x 1: under a corner, under the middle, and 3 m below the middle, where 1000 cd/m2 give 203.626 lx.
  const World panel = shining("kind = \"plane\"\nat_m = [0, 0, 0]\nsize_m = [2, 1]\nnormal = [0, 0, -1]\n");
  expect_factors(panel,
                 {{{{1, .5, -1}}, rectangle_parallel(2, 1, 1), .167375},
                  {{{0, 0, -1}}, 4 * rectangle_parallel(1, .5, 1), .360737}},
                 0);
  Tracer tracer(test_shaders(), panel);
  EXPECT_TRUE(agrees(illuminance(tracer, panel, {{{0, 0, -3}}}), 203.626));
  // Upright on the receiver's plane.
  const double upright[][4] = {{1, 1, 1, .055734}, {2, 1, 1, .095068}, {1, 2, .5, .135488}};
  for (const auto& [height, width, distance, published] : upright)
    expect_factors(
        shining(fmt::format("kind = \"card\"\nat_m = [0, 0, {}]\nsize_mm = [{}, {}]\nnormal = [0, -1, 0]\n",
                            height / 2, width * 1000, height * 1000)),
        {{{{width / 2, -distance, 0}}, rectangle_perpendicular(height, width, distance), published}}, 0, 4);
}

// Any polygon in full view of the receiver (Lambert 1760): F = 1/(2 pi) sum of Theta_i n . Gamma_i, where
// Theta_i is the angle under which edge i is seen and Gamma_i the normal of the plane through it and the
// receiver.
double polygon(const std::vector<glm::dvec3>& corners, const Receiver& receiver) {
  double sum = 0;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const glm::dvec3 from = glm::normalize(corners[i] - receiver.at),
                     to = glm::normalize(corners[(i + 1) % corners.size()] - receiver.at);
    const glm::dvec3 across = glm::cross(from, to);
    sum += std::atan2(glm::length(across), glm::dot(from, to)) *
           glm::dot(receiver.normal, glm::normalize(across));
  }
  return std::abs(sum) / (2 * pi);
}

// Cards turned and tilted anyhow, and receivers that look at them aslant: this holds the posing as well.
TEST(Factors, TiltedRectangleToPoint) {
  const double turns[] = {25, 140, -70}, tilts[] = {35, -20, 60};
  for (int i = 0; i < 3; ++i) {
    const double turn = glm::radians(turns[i]), tilt = glm::radians(tilts[i]);
    const glm::dvec3 middle(0.3, -0.2, 1.5);
    // The card faces -y, is tilted about its own x and then turned about z.
    const auto posed = [&](double x, double y, double z) {
      const glm::dvec3 t(x, y * std::cos(tilt) - z * std::sin(tilt), y * std::sin(tilt) + z * std::cos(tilt));
      return glm::dvec3(t.x * std::cos(turn) - t.y * std::sin(turn),
                        t.x * std::sin(turn) + t.y * std::cos(turn), t.z);
    };
    std::vector<glm::dvec3> corners;
    for (const auto& [x, z] : {std::pair{-.4, -.25}, {.4, -.25}, {.4, .25}, {-.4, .25}})
      corners.push_back(middle + posed(x, 0, z));
    const glm::dvec3 facing = posed(0, -1, 0);
    const Receiver receiver{middle + 0.9 * facing + posed(0.2, 0, 0.1),
                            glm::normalize(-facing + posed(0.5, 0, -0.3))};
    const World world = shining(fmt::format(
        "kind = \"card\"\nat_m = [0.3, -0.2, 1.5]\nsize_mm = [800, 500]\nturn_deg = {}\ntilt_deg = {}\n",
        turns[i], tilts[i]));
    Tracer tracer(test_shaders(), world);
    EXPECT_TRUE(
        agrees(illuminance(tracer, world, {receiver}, 2), pi * luminance * polygon(corners, receiver)))
        << i;
  }
}

// A ball of radius R around a point at distance d that is wholly in view: (R/d)^2 times the cosine, exactly
// inverse square. 3e-4: 20480 facets of the ball's area.
TEST(Factors, SphereToPoint) {
  const World world = shining("kind = \"sphere\"\nat_m = [0, 0, 0]\ndiameter_mm = 1000\n");
  Tracer tracer(test_shaders(), world);
  for (const double distance : {0.6, 1.0, 2.0})
    EXPECT_TRUE(agrees(illuminance(tracer, world, {{{0, -distance, 0}, {0, 1, 0}}}, 4),
                       pi * luminance * 0.25 / (distance * distance), 3e-4))
        << distance;
  EXPECT_TRUE(agrees(illuminance(tracer, world, {{{0, 0, -1}, {.6, 0, .8}}}, 6), pi * luminance * 0.2, 3e-4));
}

// Coaxial parallel discs of radii r1 and r2, h apart: F12 = (S - sqrt(S^2 - 4 (r2/r1)^2)) / 2 with S = 1 + (1
// + (r2/h)^2) / (r1/h)^2. The mean illuminance of disc 1 is pi L F12. It is smooth in the square of the
// radius, so three Gauss nodes leave 2e-6.
TEST(Factors, DiscToDisc) {
  const double cases[][4] = {{1, 1, 1, .381966}, {1, 1, 2, .171573}, {1, 2, 1, .763932}, {.5, 1, 1, .468871}};
  const World world = shining("kind = \"disc\"\nat_m = [0, 0, 0]\ndiameter_mm = 2000\nnormal = [0, 0, -1]\n");
  Tracer tracer(test_shaders(), world);
  for (const auto& [r1, r2, h, published] : cases) {
    const double s = 1 + (1 + std::pow(r2 / h, 2)) / std::pow(r1 / h, 2);
    const double factor = (s - std::sqrt(s * s - 4 * std::pow(r2 / r1, 2))) / 2;
    EXPECT_NEAR(factor, published, 5.1e-7);
    std::vector<Receiver> area;
    for (const GaussNode& node : gauss_nodes(3))
      area.push_back({{std::sqrt(node.at) * r1 / r2, 0, -h / r2}, {0, 0, 1}, node.weight});
    EXPECT_TRUE(agrees(illuminance(tracer, world, area), pi * luminance * factor, 1e-4)) << published;
  }
}

// Two equal strips that meet in a groove of opening angle alpha, infinitely long: F12 = 1 - sin(alpha/2). The
// strip here is 100 widths long, which lacks under 1e-5; five Gauss nodes leave 1.2e-5.
TEST(Factors, Groove) {
  const World world = shining("kind = \"plane\"\nat_m = [0.5, 0, 0]\nsize_m = [1, 100]\n");
  Tracer tracer(test_shaders(), world);
  const double published[][2] = {{30, .74118}, {60, .50000}, {90, .29289}, {120, .13397}};
  for (const auto& [degrees, figure] : published) {
    const double alpha = glm::radians(degrees), factor = 1 - std::sin(alpha / 2);
    EXPECT_NEAR(factor, figure, 5.1e-6);
    std::vector<Receiver> area;
    for (const GaussNode& node : gauss_nodes(5))
      area.push_back({node.at * glm::dvec3(std::cos(alpha), 0, std::sin(alpha)),
                      {std::sin(alpha), 0, -std::cos(alpha)},
                      node.weight});
    EXPECT_TRUE(agrees(illuminance(tracer, world, area, degrees < 90 ? 2 : 6), pi * luminance * factor, 2e-5))
        << degrees;
  }
}

// A wall of height W, very long, on the receiver's plane at distance x: F = (1 - 1 / sqrt(1 + (W/x)^2)) / 2:
// .34189, .45025, .48334 at W/x = 3, 10, 30.
TEST(Factors, LongWall) {
  const World world =
      shining("kind = \"plane\"\nat_m = [0, 0, 0.5]\nsize_m = [100, 1]\nnormal = [0, -1, 0]\n");
  const auto before = [](double ratio, double published) {
    return Case{{{0, -1 / ratio, 0}}, (1 - 1 / std::hypot(1, ratio)) / 2, published};
  };
  for (const Case& one : {before(3, .34189), before(10, .45025), before(30, .48334)}) {
    EXPECT_NEAR(one.factor, one.published, 5.1e-6);
    Tracer tracer(test_shaders(), world);
    EXPECT_TRUE(agrees(illuminance(tracer, world, {one.receiver}, 3), pi * luminance * one.factor, 1e-5));
  }
}

// One face of a unit cube to the opposite face .19982490, to each of the four beside it .20004378; together 1
// (area-to-area factors of equal rectangles; eight digits computed from their closed forms). The mean over a
// face by Gauss nodes: 3 x 3 on a quarter leave 4e-6; 4 x 4, half of them by symmetry, leave 2e-6.
TEST(Factors, CubeFaces) {
  const World world = shining("kind = \"plane\"\nat_m = [0, 0, 0]\nsize_m = [1, 1]\n");
  Tracer tracer(test_shaders(), world);
  std::vector<Receiver> opposite, beside;
  for (const GaussNode& x : gauss_nodes(3))
    for (const GaussNode& y : gauss_nodes(3))
      opposite.push_back({{x.at / 2, y.at / 2, 1}, {0, 0, -1}, x.weight * y.weight});
  for (const GaussNode& across : gauss_nodes(4))
    for (const GaussNode& up : gauss_nodes(4))
      if (across.at < 0.5)
        beside.push_back({{-0.5, across.at - 0.5, up.at}, {1, 0, 0}, 2 * across.weight * up.weight});
  const Estimate far = illuminance(tracer, world, opposite), near = illuminance(tracer, world, beside);
  EXPECT_TRUE(agrees(far, pi * luminance * .19982490, 4e-6));
  EXPECT_TRUE(agrees(near, pi * luminance * .20004378, 2e-6));
  EXPECT_TRUE(agrees({far.value + 4 * near.value, std::hypot(far.se, 4 * near.se)}, pi * luminance));
}

// A card shines to the side of its normal alone: nothing arrives behind it, and its back is black to the
// camera, which stands there.
TEST(Factors, NothingBehind) {
  const World world =
      shining("kind = \"card\"\nat_m = [0, 0, 0]\nsize_mm = [500, 500]\nnormal = [0, 1, 0]\n");
  Tracer tracer(test_shaders(), world);
  EXPECT_EQ(illuminance(tracer, world, {{{0.1, -0.3, 0}, {0, 1, 0}}}).value, 0);
  EXPECT_GT(illuminance(tracer, world, {{{0.1, 0.3, 0}, {0, -1, 0}}}).value, 0);
  const View view{.width = 8, .height = 8};
  Film film = tracer.make_film(view);
  tracer.sample(view, film, {.count = 4});
  for (const float sum : film.read()) EXPECT_EQ(sum, 0);
}

// A panel of 60 x 40 mm with 300 lm, L = 300 lm / (pi A) = 39 789 cd/m2: on its axis at 0.10, 0.20, 0.30 and
// 0.50 m it gives 8793.0, 2336.8, 1050.92 and 380.65 lx, where I0 / d^2 would say 9549.3, 2387.3, 1061.03 and
// 381.97.
TEST(Panel, NearField) {
  const World world =
      world_of(bare + no_sky + plain_camera +
               fmt::format("[[prop]]\nname = \"panel\"\nkind = \"card\"\nat_m = [0, 0, 0]\nsize_mm = [60, "
                           "40]\nmaterial.surface = {{ reflectance = 0, emission_cd_m2 = {:.17g} }}\n",
                           300 / (pi * 0.06 * 0.04)));
  Tracer tracer(test_shaders(), world);
  const double distance[] = {.1, .2, .3, .5}, exact[] = {8793.0, 2336.8, 1050.92, 380.65};
  for (std::size_t i = 0; i < 4; ++i)
    EXPECT_TRUE(agrees(illuminance(tracer, world, {{{0, -distance[i], 0}, {0, 1, 0}}}, 4), exact[i], 1e-5))
        << distance[i];
}

}  // namespace
}  // namespace undercap
