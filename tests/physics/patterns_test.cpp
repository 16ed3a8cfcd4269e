// Patterns: their colour keeps a part's mean and its bounds, gloss and water their shares, relief the light.
#include <fmt/format.h>

#include <bit>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/render/gpu_world.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr PatternKind all_kinds[] = {
    PatternKind::cap,   PatternKind::gills, PatternKind::pores, PatternKind::stem,  PatternKind::shelf,
    PatternKind::ball,  PatternKind::bark,  PatternKind::wood,  PatternKind::leaf,  PatternKind::moss,
    PatternKind::frond, PatternKind::grass, PatternKind::soil,  PatternKind::stone, PatternKind::twig};

// A ball of 60 mm, each of its parts with this pattern and a place on it: angle and height.
World ball_with(const Pattern& pattern, const std::string& material, const std::string& more = {}) {
  World world = world_of(
      bare + plain_camera + more +
      fmt::format("[[prop]]\nname = \"thing\"\nkind = \"sphere\"\nat_m = [0.0, 0.0, 0.0]\ndiameter_mm = "
                  "60\nmaterial.surface = {{ {} }}\n",
                  material));
  for (WorldPart& part : world.parts)
    if (part.prop == "thing") world.materials[part.material].pattern = pattern;
  world.uv.resize(world.position.size());
  for (std::size_t i = 0; i < world.position.size(); ++i) {
    const glm::vec3 p = world.position[i] / 0.03f;
    world.uv[i] = {std::atan2(p.y, p.x) / (2 * std::numbers::pi_v<float>)+.5f,
                   glm::clamp(p.z * .5f + .5f, 0.f, 1.f)};
  }
  return world;
}

struct Answer {
  glm::vec4 reflects, transmits, bent, normal;  // w of the first: gloss in thirds; of the second: wet
};

// The look of a world's parts at places spread by area with random numbers of the test's own.
std::vector<Answer> looks(const World& world, std::size_t count, std::uint32_t seed) {
  test_shaders();
  const ShaderSource source = shader_of_tests("patterns.comp");
  const ComputeProgram program(source.text, source.files);
  GpuWorld gpu_world(world);
  gpu_world.find_pattern_means(test_shaders(), world);
  std::vector<double> area{0};
  for (std::uint32_t slot = 0; slot < world.triangle.size(); ++slot) {
    const WorldTriangle& t = world.triangle[gpu_world.order()[slot]];
    const glm::dvec3 a(world.position[t.a]), b(world.position[t.b]), c(world.position[t.c]);
    area.push_back(area.back() + glm::length(glm::cross(b - a, c - a)));
  }
  std::uint64_t state = seed;  // splitmix64
  const auto random = [&state] {
    std::uint64_t z = state += 0x9e3779b97f4a7c15u;
    z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
    z = (z ^ z >> 27) * 0x94d049bb133111ebu;
    return static_cast<double>((z ^ z >> 31) >> 11) * 0x1p-53;
  };
  std::vector<glm::uvec4> given;
  for (std::size_t i = 0; i < count; ++i) {
    const auto at = std::upper_bound(area.begin(), area.end(), random() * area.back()) - area.begin() - 1;
    double b = random(), c = random();
    if (b + c > 1) b = 1 - b, c = 1 - c;
    given.emplace_back(std::min<std::uint32_t>(static_cast<std::uint32_t>(at),
                                               static_cast<std::uint32_t>(world.triangle.size() - 1)),
                       std::bit_cast<std::uint32_t>(static_cast<float>(b)),
                       std::bit_cast<std::uint32_t>(static_cast<float>(c)), 0u);
  }
  const Buffer asked(std::as_bytes(std::span(given))), answered(count * sizeof(Answer));
  gpu_world.bind();
  program.use();
  asked.bind_storage(4);
  answered.bind_storage(5);
  program.set("total", static_cast<int>(count));
  dispatch(1024, static_cast<unsigned>((count + 65535) / 65536));
  storage_barrier();
  std::vector<Answer> answers(count);
  answered.read(std::as_writable_bytes(std::span(answers)));
  return answers;
}

// The colour's area mean is the material's, as a second, independent set of places finds it; R + T keeps to
// .92 at every one of a million places in all. 1 %: both sets have an error of .3 to .5 %.
TEST(Patterns, MeanAndBounds) {
  constexpr std::size_t count = 68'000;
  std::uint32_t seed = 1;
  for (const PatternKind kind : all_kinds) {
    const bool sheet = kind == PatternKind::gills || kind == PatternKind::leaf || kind == PatternKind::grass;
    const glm::vec3 given = sheet ? glm::vec3(.5f, .4f, .3f) : glm::vec3(.6f, .3f, .1f);
    World world = ball_with({.kind = kind, .seed = seed, .size_mm = 20, .lines = 12}, "reflectance = 0.5");
    for (Material& m : world.materials) {
      m.reflectance = given;
      m.transmittance = sheet ? glm::vec3(.35f, .3f, .2f) : glm::vec3(0);
    }
    glm::dvec3 reflects(0), transmits(0), squares(0);
    float most = 0, bent = 0;
    for (const Answer& a : looks(world, count, 100 + seed)) {
      reflects += glm::dvec3(a.reflects);
      squares += glm::dvec3(a.reflects) * glm::dvec3(a.reflects);
      transmits += glm::dvec3(a.transmits);
      for (int c = 0; c < 3; ++c) most = std::max(most, a.reflects[c] + a.transmits[c]);
      bent = std::max(bent, 1 - glm::dot(glm::vec3(a.bent), glm::vec3(a.normal)));
    }
    const double n = count;
    for (int c = 0; c < 3; ++c) {
      EXPECT_NEAR(reflects[c] / n / static_cast<double>(given[c]), 1, .01)
          << static_cast<int>(kind) << " " << c;
      if (sheet) {
        EXPECT_NEAR(transmits[c] / n / static_cast<double>(world.materials[0].transmittance[c]), 1, .01)
            << static_cast<int>(kind) << " " << c;
      }
      // A pattern is to be seen: its deviation is 5 % of the mean or more.
      EXPECT_GT(squares[c] / n, 1.0025 * std::pow(reflects[c] / n, 2)) << static_cast<int>(kind);
    }
    EXPECT_LE(most, .92f + 1e-6f) << static_cast<int>(kind);
    // Slope 1.2: the cosine between the two normals is 1 / sqrt(1 + 1.44) = about .640 at least, .02 for
    // packing and a triangle's own normal beside the interpolated one.
    EXPECT_LE(bent, 1 - .640f + .02f) << static_cast<int>(kind);
    if (kind != PatternKind::moss) {
      EXPECT_GT(bent, 1e-4f) << static_cast<int>(kind);
    }
    ++seed;
  }
}

// Strength and relief 0, or no kind: nothing changes, but for the rounding of sums.
TEST(Patterns, PlainStaysPlain) {
  for (const Pattern& pattern : {Pattern{}, Pattern{.kind = PatternKind::bark, .strength = 0, .relief = 0}})
    for (const Answer& a : looks(ball_with(pattern, "reflectance = 0.3"), 1000, 5)) {
      EXPECT_FLOAT_EQ(a.reflects.x, .3f);
      EXPECT_EQ(a.reflects.w, 0.f);
      EXPECT_EQ(glm::vec3(a.bent), glm::vec3(a.normal));
    }
}

// Gloss and water take the share of the area that they are given, in patches. 1.5 %: sqrt(.25 / 8192) is .55
// % for the places that set the limit, and as much for the edges' third steps.
TEST(Patterns, SharesOfArea) {
  for (const float share : {.15f, .5f, .8f}) {
    World world = ball_with({.kind = PatternKind::cap, .size_mm = 30, .gloss = share}, "reflectance = 0.3");
    world.materials[0].wet = share;
    double glossy = 0, wet = 0;
    const std::vector<Answer> answers = looks(world, 60'000, 9);
    for (const Answer& a : answers) {
      glossy += a.reflects.w >= 2 ? 1 : 0;
      wet += static_cast<double>(a.transmits.w);
    }
    EXPECT_NEAR(glossy / static_cast<double>(answers.size()), static_cast<double>(share), .015);
    EXPECT_NEAR(wet / static_cast<double>(answers.size()), static_cast<double>(share), .015);
  }
}

// A room of even luminance: what returns everything is as bright as the room, with any pattern's relief and a
// coat. A pattern cannot darken it, since its mean is 1 and no place may return more. 2e-3: the coat's table.
TEST(Patterns, WhiteFurnace) {
  std::string room = no_sky + "[subject]\nparts = [\"thing\"]\n";
  const char* sides[] = {"1, 0, 0", "-1, 0, 0", "0, 1, 0", "0, -1, 0", "0, 0, 1", "0, 0, -1"};
  const double places[][3] = {{-2, 0, 0}, {2, 0, 0}, {0, -2, 0}, {0, 2, 0}, {0, 0, -2}, {0, 0, 2}};
  for (int i = 0; i < 6; ++i)
    room += fmt::format(
        "[[prop]]\nname = \"side{}\"\nkind = \"plane\"\nat_m = [{:.1f}, {:.1f}, {:.1f}]\nsize_m = [4, "
        "4]\nnormal = [{}]\nmaterial.surface = {{ reflectance = 0, emission_cd_m2 = 100 }}\n",
        i, places[i][0], places[i][1], places[i][2], sides[i]);
  for (const PatternKind kind : {PatternKind::cap, PatternKind::bark, PatternKind::leaf})
    for (const char* material :
         {"reflectance = 1", "reflectance = 1, roughness = 0.5", "reflectance = 0.6, transmittance = 0.4"}) {
      World world = ball_with({.kind = kind, .size_mm = 20, .relief = 2, .gloss = .3f, .lines = 10},
                              "reflectance = 1", room);
      for (WorldPart& part : world.parts)
        if (part.prop == "thing") {
          Material& m = world.materials[part.material];
          m.roughness = std::string(material).find("rough") == std::string::npos ? 1.f : .5f;
          if (std::string(material).find("trans") != std::string::npos)
            m.reflectance = glm::vec3(.6f), m.transmittance = glm::vec3(.4f);
        }
      Tracer tracer(test_shaders(), world);
      const Survey survey = take_survey(tracer, world, 1, false, [](double) { return true; });
      EXPECT_FALSE(tracer.counters().warning().has_value());
      EXPECT_TRUE(agrees(*mean_luminance(survey.subject, mix_of(world)), 100, 2e-3))
          << static_cast<int>(kind) << " " << material;
    }
}

}  // namespace
}  // namespace undercap
