// What must be the same: films in pieces and whole, light groups together and alone, power and colour before
// and after, a scene scaled or turned.
#include <fmt/format.h>

#include <cmath>
#include <numbers>
#include <set>

#include "engine/colour/spaces.h"
#include "engine/optics/tone.h"
#include "engine/render/picture_job.h"
#include "engine/scene/load.h"
#include "engine/session/session.h"
#include "tests/physics/bench_top.h"
#include "tests/physics/statistics.h"

namespace undercap {
namespace {

// A small set with every kind of group and of surface: floor, coated ball, block, a sheet that lets light
// through and one that shines. Lengths in units of 'metre', turned about z by 'turn' quarter circles.
struct Set {
  double metre = 1;
  int turn = 0;
  bool sky = true, sun = true, glow = true, torch = true, side = true;
  std::string change{}, torch_change{};  // further lines
  glm::dvec3 torch_place{-.2, -.2, .25};

  std::string place(glm::dvec3 at, double unit) const {
    for (int i = 0; i < turn; ++i) at = {-at.y, at.x, at.z};
    return fmt::format("[{:.17g}, {:.17g}, {:.17g}]", at.x * unit, at.y * unit, at.z * unit);
  }
  std::string prop(const std::string& name, const std::string& kind, const glm::dvec3& at, double turn_deg,
                   const std::string& surface) const {
    return fmt::format(
        "[[prop]]\nname = \"{}\"\nkind = {}\nat_m = {}\nturn_deg = {}\nmaterial.surface = {{ {} }}\n", name,
        kind, place(at, metre), turn_deg + 90 * turn, surface);
  }
  std::string lamp(const std::string& name, const glm::dvec3& at, const glm::dvec3& aim, double flux_lm,
                   double beam_deg, double diameter_mm) const {
    return fmt::format(
        "[[source]]\nname = \"{}\"\nkind = \"torch\"\nposition_m = {}\naim = {}\nflux_lm = {:.17g}\nbeam_deg "
        "= {}\ndiameter_mm = {:.17g}\n",
        name, place(at, metre), place(aim, metre), flux_lm * metre * metre, beam_deg, diameter_mm * metre);
  }
  std::string text() const {
    std::string all =
        bare + change +
        fmt::format(
            "[camera]\nbarrel_mm = 0\nposition_m = {}\nlook_at = {}\nformat_mm = [{:.17g}, "
            "{:.17g}]\nfocal_length_mm = {:.17g}\nf_number = 4\n[subject]\nparts = [\"ball\", \"block\"]\n",
            place({.02, -.6, .12}, metre), place({0, 0, .04}, metre), 23.5 * metre, 15.6 * metre,
            60 * metre) +
        (sky ? "[sky]\nhorizontal_lx = 800\n" : no_sky);
    if (sun)
      all += fmt::format("[sun]\non = true\nnormal_lx = 2000\nelevation_deg = 35\nazimuth_deg = {}\n",
                         std::fmod(220 + 360 - 90 * turn, 360));
    const double mm = 1000 * metre;
    all += prop("floor", fmt::format("\"plane\"\nsize_m = [{}, {}]", 2 * metre, 2 * metre), {0, 0, 0}, 0,
                "reflectance = [0.5, 0.4, 0.3]");
    all += prop("ball", fmt::format("\"sphere\"\ndiameter_mm = {}", .08 * mm), {-.05, 0, .04}, 0,
                "reflectance = [0.6, 0.5, 0.2], roughness = 0.4");
    all += prop("block", fmt::format("\"box\"\nsize_mm = [{}, {}, {}]", .06 * mm, .05 * mm, .09 * mm),
                {.05, .02, .045}, 25, "reflectance = 0.7");
    all += prop("leaf", fmt::format("\"card\"\nsize_mm = [{}, {}]", .08 * mm, .06 * mm), {.02, -.08, .05}, 40,
                "reflectance = [0.3, 0.35, 0.1], transmittance = [0.3, 0.3, 0.05], roughness = 0.5");
    all += prop("ember", fmt::format("\"card\"\nsize_mm = [{}, {}]", .03 * mm, .03 * mm), {-.09, -.06, .03},
                -30, fmt::format("reflectance = 0.2, emission_cd_m2 = {}", glow ? 400 : 0));
    if (torch) all += lamp("torch", torch_place, {0, 0, .05}, 20, 60, 25) + torch_change;
    if (side) all += lamp("side", {.3, .05, .1}, {0, 0, .02}, 8, 120, 40);
    for (const auto& [name, at, normal] : {std::tuple{"up", glm::dvec3(0, -.03, .002), glm::dvec3(0, 0, 1)},
                                           {"front", glm::dvec3(.01, -.06, .05), glm::dvec3(.6, -.8, 0)}})
      all += fmt::format("[[meter]]\nname = \"{}\"\nkind = \"incident\"\nposition_m = {}\nnormal = {}\n",
                         name, place(at, metre), place(normal, 1));
    return all;
  }
};

constexpr View small_view{.width = 24, .height = 16};

std::vector<float> film_of(const World& world, const View& view, std::initializer_list<SampleId> samples) {
  Tracer tracer(test_shaders(), world);
  Film film = tracer.make_film(view);
  for (const SampleId& id : samples) tracer.sample(view, film, id);
  EXPECT_FALSE(tracer.counters().warning().has_value());
  return film.read();
}

// Sum of |a - b| over sum of |a|.
double difference(const std::vector<float>& a, const std::vector<float>& b) {
  EXPECT_EQ(a.size(), b.size());
  double total = 0, off = 0;
  for (std::size_t i = 0; i < std::min(a.size(), b.size()); ++i) {
    total += static_cast<double>(std::abs(a[i]));
    off += std::abs(static_cast<double>(a[i]) - static_cast<double>(b[i]));
  }
  EXPECT_GT(total, 0);
  return off / total;
}

// --- one run in pieces

// A sample depends on its pixel, index, half and seed alone. Eight in one dispatch are added in the same
// order as eight dispatches of one: the same bits. Two films of four add up to one of eight but for the
// rounding of sums of eight (2^-24 each).
TEST(Identity, SamplesTogetherAndApart) {
  const World world = world_of(Set{}.text());
  const std::vector<float> eight = film_of(world, small_view, {{.index = 0, .count = 8, .seed = 5}});
  const auto one = [](unsigned index) { return SampleId{.index = index, .count = 1, .seed = 5}; };
  EXPECT_EQ(eight,
            film_of(world, small_view, {one(0), one(1), one(2), one(3), one(4), one(5), one(6), one(7)}));
  std::vector<float> first = film_of(world, small_view, {{.index = 0, .count = 4, .seed = 5}});
  const std::vector<float> second = film_of(world, small_view, {{.index = 4, .count = 4, .seed = 5}});
  EXPECT_GT(difference(first, second), 0.01);
  for (std::size_t i = 0; i < first.size(); ++i) first[i] += second[i];
  EXPECT_LT(difference(eight, first), 1e-6);
}

// A band alone is the same rows of the whole, bit for bit.
TEST(Identity, BandOfAFilm) {
  const World world = world_of(Set{}.text());
  const std::vector<float> whole = film_of(world, small_view, {{.count = 4, .seed = 9}});
  View band = small_view;
  band.first_row = 5;
  band.rows = 7;
  const std::vector<float> part = film_of(world, band, {{.count = 4, .seed = 9}});
  const std::size_t pixels = small_view.pixels() * 3, rows = band.pixels() * 3, films = whole.size() / pixels;
  ASSERT_EQ(part.size(), films * rows);
  for (std::size_t film = 0; film < films; ++film)
    EXPECT_TRUE(std::equal(part.begin() + static_cast<long>(film * rows),
                           part.begin() + static_cast<long>((film + 1) * rows),
                           whole.begin() + static_cast<long>(film * pixels + 5 * 24 * 3)))
        << film;
}

// --- light groups

// Luminance of each group, block of 8 x 8 pixels and batch, and of the meters: [group][block][batch].
struct Batches {
  std::vector<std::string> name;
  std::vector<std::vector<std::vector<double>>> value;
};

Batches batches_of(const World& world, unsigned samples) {
  constexpr std::size_t blocks = 6;
  Tracer tracer(test_shaders(), world);
  const std::size_t groups = world.groups.size(), meters = world.scene.meters.size();
  Batches result;
  result.value.assign(groups, std::vector(blocks + meters, std::vector<double>(batch_count)));
  for (const LightGroup& group : world.groups) result.name.push_back(group.name);
  Film film = tracer.make_film(small_view);
  for (unsigned batch = 0; batch < batch_count; ++batch) {
    film.clear();
    tracer.sample(small_view, film,
                  {.count = samples, .seed = batch + 1000 * static_cast<std::uint32_t>(world.scene.seed)});
    const std::vector<float> sums = film.read();
    for (std::size_t g = 0; g < groups; ++g)
      for (std::size_t p = 0; p < small_view.pixels(); ++p) {
        const float* rgb = &sums[(g * small_view.pixels() + p) * 3];
        result.value[g][p / 24 / 8 * 3 + p % 24 / 8][batch] += luminance_y({rgb[0], rgb[1], rgb[2]});
      }
  }
  for (std::size_t m = 0; m < meters; ++m) {
    const RegionSums sums = take_meter(tracer, world, world.scene.meters[m], 1);
    for (std::size_t g = 0; g < groups; ++g)
      for (unsigned batch = 0; batch < batch_count; ++batch)
        result.value[g][blocks + m][batch] = luminance_y(sums.luminance_of(batch, g));
  }
  return result;
}

// Each group of a run with all lights on against a run with that group alone, which asks no other: Welch's
// test in each of 6 blocks and on both meters, 40 in all, each mean from 32 batches of its own seed. Every
// group is known to a per cent at least.
TEST(Identity, EachGroupAlone) {
  const Batches all = batches_of(world_of(Set{}.text()), 4);
  const Set alone[] = {
      {.sun = false, .glow = false, .torch = false, .side = false},
      {.sky = false, .glow = false, .torch = false, .side = false},
      {.sky = false, .sun = false, .torch = false, .side = false},
      {.sky = false, .sun = false, .glow = false, .side = false},
      {.sky = false, .sun = false, .glow = false, .torch = false},
  };
  ASSERT_EQ(all.name.size(), std::size(alone));
  Verdicts verdicts;
  for (std::size_t g = 0; g < std::size(alone); ++g) {
    const World world = world_of("render.seed = 2\n" + alone[g].text());
    const Batches single = batches_of(world, 4);
    ASSERT_EQ(single.name, std::vector{all.name[g]});
    for (std::size_t block = 0; block < all.value[g].size(); ++block)
      verdicts.add(welch_chance(all.value[g][block], single.value[0][block]),
                   fmt::format("{} {}", all.name[g], block));
  }
  EXPECT_EQ(verdicts.tests(), 40);
  EXPECT_TRUE(verdicts.hold());
}

// The mix is the sum of the groups by their weights, on the CPU to the rounding of single precision; and the
// device, which mixes for itself, shows the codes of that mix (one code: rounding at a boundary).
TEST(Identity, SumOfGroups) {
  const World world = world_of(Set{}.text());
  Tracer tracer(test_shaders(), world);
  Film film = tracer.make_film(small_view);
  for (const unsigned half : {0u, 1u}) tracer.sample(small_view, film, {.count = 4, .half = half, .seed = 3});
  const auto means = group_means(film.read(), small_view.pixels(), tracer.groups(), 8);
  const std::vector<float> mix = mixed(mix_of(world), means);
  std::vector<float> sum(mix.size());
  for (std::size_t i = 0; i < sum.size(); ++i) {
    double exact = 0;
    for (std::size_t g = 0; g < means.size(); ++g)
      exact += world.groups[g].weight()[static_cast<int>(i % 3)] * static_cast<double>(means[g][i]);
    sum[i] = static_cast<float>(exact);
  }
  EXPECT_LT(difference(mix, sum), 1e-6);
  const Development how{.shutter = Duration(0.02), .iso = 100};
  const Picture8 shown = Developer(test_shaders()).develop(world, small_view, film, 8, how);
  const CameraRig& rig = world.camera;
  for (std::size_t i = 0; i < shown.rgb.size(); ++i) {
    const std::size_t x = i / 3 % 24, y = i / 3 / 24;
    const Length off = rig.width * ((static_cast<double>(x) + 0.5) / 24 - 0.5),
                 up = rig.height * ((static_cast<double>(y) + 0.5) / 16 - 0.5);
    const double weight =
        chief_ray_weight(rig.lens, rig.magnification, Length(std::hypot(off.value(), up.value())));
    const double exposure =
        exposure_per_luminance(world, how.shutter).value() * weight * static_cast<double>(mix[i]);
    const double linear = 0.18 * std::min(exposure * how.iso, 78.0) / 10;
    EXPECT_NEAR(shown.rgb[i], srgb_code(display_linear(Tone::srgb, linear)), 1) << i;
  }
}

// A lamp that is moved changes no path of the camera and nothing of another group: the same bits. (If lamps
// were ever asked by their distance, this would hold on the average only.)
TEST(Identity, MovedLampLeavesTheOthers) {
  const World here = world_of(Set{}.text()), there = world_of(Set{.torch_place = {.1, -.3, .2}}.text());
  const std::vector<float> a = film_of(here, small_view, {{.count = 8}}),
                           b = film_of(there, small_view, {{.count = 8}});
  const std::size_t pixels = small_view.pixels() * 3;
  for (std::size_t g = 0; g < here.groups.size(); ++g) {
    const auto from = static_cast<long>(g * pixels), to = static_cast<long>((g + 1) * pixels);
    const bool same = std::equal(a.begin() + from, a.begin() + to, b.begin() + from);
    EXPECT_EQ(same, here.groups[g].name != "torch") << here.groups[g].name;
  }
}

// --- after the fact and before

std::string replaced(std::string text, const std::string& what, const std::string& by) {
  const std::size_t at = text.find(what);
  EXPECT_NE(at, std::string::npos) << what;
  return text.replace(at, what.size(), by);
}

// Power, colour and switch: the films stay as they are, bit for bit, at unit power and white. So a picture of
// the new values from the old film is the picture made so, byte by byte; and the same for shutter,
// sensitivity, compensation, white balance and tone.
TEST(Identity, ChangedAfterTheFact) {
  const std::string before = Set{}.text(), torch = "name = \"torch\"\n";
  constexpr unsigned samples = 4;
  const World world = world_of(before);
  Tracer tracer(test_shaders(), world);
  Film film = tracer.make_film(small_view);
  for (unsigned i = 0; i < samples; ++i)
    tracer.sample(small_view, film, {.index = i / 2, .half = i % 2, .seed = 1});
  const auto means = group_means(film.read(), small_view.pixels(), tracer.groups(), samples);
  using Change = std::pair<std::string, std::string>;
  const std::vector<Change> changes[] = {
      {{torch, torch + "power_pct = 30\ncct_k = 2500\nduv = 0.01\n"},
       {"horizontal_lx = 800", "horizontal_lx = 35\ncct_k = 12000"},
       {"[camera]\n", "[exposure]\ncompensation_stops = -1.5\ntone = \"reinhard\"\n[camera]\n"}},
      {{torch, torch + "on = false\n"},
       {"normal_lx = 2000", "normal_lx = 900"},
       {"[camera]\n", "[exposure]\niso = 1600\nshutter_s = 0.002\nwhite_balance_k = 3200\n[camera]\n"}}};
  std::set<std::string> pictures;
  for (const auto& several : changes) {
    std::string after = before;
    for (const auto& [what, by] : several) after = replaced(after, what, by);
    Session session(test_shaders(),
                    SceneFile::from_text("undercap = 1\n" + after, test_folder() + "/after.toml").scene());
    session.survey(Quality::draft, {}, [](double) { return true; });
    const PictureResult made = session.picture(
        {.width = small_view.width, .height = small_view.height, .samples = samples, .keep_groups = true},
        [](double) { return true; });
    EXPECT_EQ(made.groups, means);
    const Developer developer(test_shaders());
    const auto develop = [&](const World& lit) {
      const Development& how = session.exposure().development;
      return developer.develop_mixed(
          lit, small_view, film_without_strays(mix_over(lit, how.shutter), small_view, film.read(), samples),
          how);
    };
    EXPECT_EQ(made.picture.rgb, develop(session.world()).rgb);
    EXPECT_NE(made.picture.rgb, develop(world).rgb);  // the change is to be seen
    EXPECT_EQ(made.mix.rgb, mixed(mix_of(session.world()), means));
    pictures.emplace(made.picture.rgb.begin(), made.picture.rgb.end());
  }
  EXPECT_EQ(pictures.size(), 2u);
}

// --- a scene scaled, and turned

// All lengths times three, lens, format and lamps too, lamps nine times as strong: the same picture and the
// same readings of meters. Samples take the same paths but for rounding, which sends a few across an edge.
TEST(Identity, Scaled) {
  const World one = world_of(Set{}.text()), three = world_of(Set{.metre = 3}.text());
  const auto picture = [](const World& world) {
    return mixed(mix_of(world), group_means(film_of(world, small_view, {{.count = 8}}), small_view.pixels(),
                                            static_cast<int>(world.groups.size()), 8));
  };
  EXPECT_LT(difference(picture(one), picture(three)), 2e-3);
  for (const Meter& meter : one.scene.meters) {
    const double e = meter_reading(one, meter.name, 1).value;
    EXPECT_NEAR(meter_reading(three, meter.name, 1).value, e, 1e-3 * e) << meter.name;
  }
}

// Everything turned by a quarter about z, sun, lamps, camera and meters too: every reading stays, but for
// the sun's azimuth. Independent samples: what has a standard error is tested with it (31 degrees of freedom
// of 32 batches); laws of the lens and of the day hold to rounding; what else rests on samples, to 2 %.
TEST(Identity, Turned) {
  const auto readings = [](const Set& set, int seed) {
    Session session(test_shaders(),
                    SceneFile::from_text(fmt::format("undercap = 1\nrender.seed = {}\n", seed) + set.text(),
                                         test_folder() + "/turned.toml")
                        .scene());
    session.survey(Quality::draft, {}, [](double) { return true; });
    return session.readings(Quality::draft, {}, [](double) { return true; });
  };
  const std::vector<Reading> before = readings({}, 1), after = readings({.turn = 1}, 2);
  ASSERT_EQ(before.size(), after.size());
  Verdicts verdicts;
  for (std::size_t i = 0; i < before.size(); ++i) {
    const Reading &a = before[i], &b = after[i];
    ASSERT_EQ(a.name, b.name);
    ASSERT_EQ(a.value.index(), b.value.index()) << a.name;
    if (!std::holds_alternative<double>(a.value)) continue;
    const double x = std::get<double>(a.value), turned = std::get<double>(b.value),
                 y = a.name == "sun.azimuth_deg" ? turned + 90 : turned;
    const bool law = a.name.starts_with("lens.") || a.name.starts_with("sun.") || a.name.starts_with("sky.");
    if (a.se && *a.se > 0 && b.se)
      verdicts.add(student_chance((x - y) / std::hypot(*a.se, *b.se), batch_count - 1), a.name);
    else
      EXPECT_NEAR(x, y, (law ? 1e-9 : 0.02) * std::abs(x)) << a.name;
  }
  EXPECT_GT(verdicts.tests(), 20);
  EXPECT_TRUE(verdicts.hold());
}

}  // namespace
}  // namespace undercap
