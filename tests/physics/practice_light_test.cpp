// Jobs of the trade, from the question to the answer: flash for fill, a warm torch in cold shade, a dappled
// noon, a wide lens that shades what it sees. Each answer is worked out above its test; what is right or
// usual in the field is common practice, no source.
#include <fmt/format.h>

#include <cmath>
#include <map>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/light/photometry.h"
#include "engine/optics/exposure.h"
#include "engine/scene/load.h"
#include "engine/session/session.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
const auto go_on = [](double) { return true; };

std::string even_sky(double horizontal_lx, const std::string& more = {}) {
  return fmt::format("[sky]\nmodel = \"uniform\"\nhorizontal_lx = {}\n{}", horizontal_lx, more);
}

// A flat grey or white disc.
std::string disc(const std::string& name, const std::string& at, double diameter_mm,
                 const std::string& normal, double reflectance) {
  return fmt::format(
      "[[prop]]\nname = \"{}\"\nkind = \"disc\"\nat_m = {}\ndiameter_mm = {}\nnormal = {}\nmaterial.surface "
      "= "
      "{{ reflectance = {}, roughness = 1 }}\n",
      name, at, diameter_mm, normal, reflectance);
}

// A scene measured as 'undercap measure --quality draft' does, and its picture.
class Job {
 public:
  explicit Job(const std::string& text)
      : session_(test_shaders(),
                 SceneFile::from_text("undercap = 1\n" + bare + text, test_folder() + "/job.toml").scene(),
                 Quality::draft) {
    session_.survey(Quality::draft, {}, go_on);
    for (const Reading& reading : session_.readings(Quality::draft, {}, go_on))
      readings_[reading.name] = reading;
  }
  const Reading& reading(const std::string& name) const { return readings_.at(name); }
  double value(const std::string& name) const {
    const double* value = std::get_if<double>(&reading(name).value);
    EXPECT_TRUE(value) << name << ": " << reading(name).note;
    return value ? *value : std::nan("");
  }
  double se(const std::string& name) const { return reading(name).se.value_or(0); }
  // Mean of the display's linear RGB over a picture of the subject alone, up to where it is clipped.
  glm::dvec3 shown() {
    const PictureResult result = session_.picture({.width = 24, .height = 24, .samples = 32}, go_on);
    glm::dvec3 sum(0);
    for (std::size_t i = 0; i < result.picture.rgb.size(); ++i)
      sum[static_cast<int>(i % 3)] += linear_from_srgb_code(result.picture.rgb[i]);
    return sum;
  }

 private:
  Session session_;
  std::map<std::string, Reading> readings_;
};

// Flash for fill. 150 lx for 4 s are 600 lx s. A guide number of 20 m at ISO 100 is 2.5 x 20^2 = 1000 cd s
// (from GN = N d and E t = 2.5 N^2 / (S / 100), common practice), 11,111 lx s at 30 cm. Fill one stop under
// the day wants 300 lx s: 1/37, of the settings of a flash 1/32, and 1/8 (1/9.3) behind a diffuser that costs
// two stops on the axis. A beam of cos^n, n = 4.82 (60 degrees to half), made Lambertian costs (n + 1) / 2;
// .728 of transmission make it 4.
//
// Of that, a backdrop 60 cm further back gets about (30 / 90)^2 = 1/9: 33 lx s, .08 stop over the day's 600.
// At 1/60 s it has 2.5 lx s of the day: 7.9 stops less, which is what the wood behind loses, where no flash
// reaches. The near backdrop keeps the flash and falls by log2(633 / 36) = 4.1 stops alone.
//
// The lamp shines from before the camera, out of the frame, square to a subject of 40 mm; the backdrop is
// beside the subject's shadow.
constexpr double ambient_lx = 150, day_s = 4, candela_s = 1000, lamp_m = .3;
const double exponent = beam_exponent(60_deg);

std::string crowgate(bool diffuser) {
  return bare + even_sky(2 * ambient_lx) +  // upright things see half of the sky
         "[camera]\nformat_mm = [36, 24]\nfocal_length_mm = 35\nf_number = 16\nbarrel_mm = 0\nposition_m = "
         "[0.0, "
         "-0.5, 0.3]\nlook_at = [0.0, 0.0, 0.0]\n[subject]\nparts = [\"subject\"]\nbackdrop = "
         "[\"backdrop\"]\n" +
         disc("subject", "[0.0, 0.0, 0.0]", 40, "[0, -1, 0]", .18) +
         disc("backdrop", "[0.14, 0.6, 0.0]", 80, "[0, -1, 0]", .18) +
         disc("wood", "[-5.0, 20.0, -6.0]", 6000, "[0, -1, 0]", .18) +
         fmt::format(
             "[[source]]\nname = \"flash\"\nkind = \"flash\"\nposition_m = [0.0, -{}, 0.0]\naim = [0.0, 0.0, "
             "0.0]\nsize_mm = [6, 4]\nguide_number_m = 20\n{}",
             lamp_m,
             diffuser ? fmt::format("diffuser = 1\ndiffuser_transmission = {:.9f}\n", (exponent + 1) / 8)
                      : "");
}

// Mean over the subject's disc at full power, lx s: the flux through its cone over its area,
// 2 pi I0 (1 - cos^(n+1)) / (n + 1) / (pi r^2); and at the backdrop's middle I0 cos^(n+1) / d^2.
double flash_on_subject(double peak, double n) {
  const double r = .02, cosine = lamp_m / std::hypot(lamp_m, r);
  return 2 * peak * (1 - std::pow(cosine, n + 1)) / (n + 1) / (r * r);
}
double flash_on_backdrop(double peak, double n) {
  const double d = std::hypot(.9, .14);
  return peak * std::pow(.9 / d, n + 1) / (d * d);
}

struct Crowgate {
  World world;
  Survey survey;
  std::size_t flash;

  explicit Crowgate(bool diffuser)
      : world(world_of(crowgate(diffuser))), flash(static_cast<std::size_t>(world.group_index("flash"))) {
    Tracer tracer(test_shaders(), world);
    survey = take_survey(tracer, world, 16, false, go_on);
  }
  RegionSums part(const std::string& name) const {
    return region_of(world, survey, {Address::Of::prop, name, 0, "surface"});
  }
  // lx or lx s, of a grey of .18
  Estimate on(const std::string& name, const Mix& mix) const {
    Estimate light = *mean_luminance(part(name), mix);
    light.value *= pi / .18;
    light.se *= pi / .18;
    return light;
  }
  // The share of full power that brings so many stops under the day's exposure: no new ray.
  double power_for_fill(double stops_under) const {
    return std::exp2(-stops_under) * on("subject", mix_of(world)).value * day_s /
           on("subject", mix_of_flashes(world)).value;
  }
  // lx s over an exposure
  double exposure(const std::string& name, double shutter_s, bool with_flash) const {
    return on(name, mix_with(world, Duration(shutter_s), flash, with_flash)).value * shutter_s;
  }
};

TEST(PracticeFlash, PowerForFill) {
  const Crowgate bare_flash(false), diffused(true);
  EXPECT_TRUE(agrees(bare_flash.on("subject", mix_of(bare_flash.world)), ambient_lx, .001));
  const double full = flash_on_subject(candela_s, exponent), soft = flash_on_subject(candela_s / 4, 1);
  EXPECT_TRUE(agrees(bare_flash.on("subject", mix_of_flashes(bare_flash.world)), full, .001));
  const double power = bare_flash.power_for_fill(1), soft_power = diffused.power_for_fill(1);
  // Two sampled figures, each to half a per cent.
  EXPECT_NEAR(power / (.5 * ambient_lx * day_s / full), 1, .01);
  EXPECT_NEAR(soft_power / (.5 * ambient_lx * day_s / soft), 1, .01);
  EXPECT_NEAR(std::log2(power), std::log2(1. / 32), .3);
  EXPECT_NEAR(std::log2(soft_power), std::log2(1. / 8), .3);
}

TEST(PracticeFlash, TimeSetsTheWood) {
  Crowgate at(false);
  at.world.groups[at.flash].power *= at.power_for_fill(1);
  const auto fall = [&](const std::string& name, bool with_flash) {
    return std::log2(at.exposure(name, day_s, with_flash) / at.exposure(name, 1. / 60, with_flash));
  };
  const double lift = std::log2(at.exposure("backdrop", day_s, true) / at.exposure("backdrop", day_s, false)),
               near = .5 * ambient_lx * day_s * flash_on_backdrop(candela_s, exponent) /
                      flash_on_subject(candela_s, exponent),
               day = ambient_lx * day_s, short_day = ambient_lx / 60;
  // One per cent of the flash's share, which is all that the noise and the backdrop's width can shift.
  EXPECT_NEAR(lift, std::log2(1 + near / day), .001);
  EXPECT_LT(lift, .1);
  EXPECT_NEAR(std::log2(at.exposure("subject", day_s, true) / at.exposure("subject", day_s, false)),
              std::log2(1.5), .001);
  EXPECT_NEAR(fall("backdrop", false), std::log2(240), 1e-9);
  EXPECT_NEAR(fall("wood", true), 8, .3);
  EXPECT_NEAR(fall("backdrop", true), std::log2((day + near) / (short_day + near)), .02);
}

// A torch of 3200 K in shade of 7000 K, as bright as it: 10^6 / 3200 - 10^6 / 7000 = 169.6 mired warmer.
// Under the shade's balance what both light turns orange: most red, least blue. A full blue gel of -137 mired
// leaves 33 of them, an eighth more of -18 leaves 15 (LEE 201 and 218, from memory): under 20, which hardly
// shows. The sky's 7000 K are of the daylight locus, the torch's of Planck's; the balance and the readings go
// by correlated temperature, to a mired.
std::string vell(double gel_mired) {
  return even_sky(200, "cct_k = 7000\n") +
         "[camera]\nformat_mm = [12, 12]\nf_number = 16\nbarrel_mm = 0\nposition_m = [0.0, -0.5, "
         "0.0]\nlook_at = "
         "[0.0, 0.0, 0.0]\n[exposure]\nwhite_balance_k = 7000\nnoise = false\ndiffraction = false\n" +
         disc("stem", "[0.0, 0.0, 0.0]", 300, "[0, -1, 0]", .5) +
         fmt::format(
             "[[source]]\nname = \"torch\"\nkind = \"torch\"\nposition_m = [0.0, -4.0, 1.0]\naim = [0.0, "
             "0.0, "
             "0.0]\nintensity_cd = {:.9f}\nbeam_deg = 30\ncct_k = 3200\ngel_mired = {}\n",
             100 * 17 * std::sqrt(17.) / 4, gel_mired);
}

TEST(PracticeColour, ATorchInTheShade) {
  const double apart = 1e6 / 3200 - 1e6 / 7000;
  Job bare_torch(vell(0)), full(vell(-137)), enough(vell(-155));
  EXPECT_NEAR(apart, 170, 1);
  for (const char* name : {"subject.torch.vs_sky_mired", "subject.torch.vs_white_mired"}) {
    EXPECT_NEAR(bare_torch.value(name), apart, 1) << name;
    EXPECT_NEAR(full.value(name), apart - 137, 1) << name;
    EXPECT_GT(full.value(name), 20) << name;
    EXPECT_NEAR(enough.value(name), apart - 155, 1) << name;
    EXPECT_LT(enough.value(name), 20) << name;
  }
  const glm::dvec3 orange = bare_torch.shown(), near_white = enough.shown();
  EXPECT_GT(orange.r, 1.2 * orange.g);
  EXPECT_GT(orange.g, 1.2 * orange.b);
  EXPECT_NEAR(near_white.r / near_white.g, 1, .05);
  EXPECT_NEAR(near_white.b / near_white.g, 1, .1);
}

// Noon at midsummer, 52 degrees north, under leaves 15 m up. The sun's disc of .533 degrees (from memory)
// makes a fleck at least 15 m x tan .533 = 14 cm wide. The sun stands at e = 90 - 52 + 23.4 = 61.4 degrees
// and goes sideways alone, by cos 23.4 / cos e of 15 degrees an hour, so that a fleck moves
//   h x .00436 a minute x cos 23.4 / sin e = 6.84 cm a minute.
// Twenty frames of 6 s with 2 s between them take 158 s: 18 cm, more than one width, and the stack says so.
TEST(PracticeDappled, AFleckLeavesTheStack) {
  const Job job(
      "[place]\nlatitude_deg = 52\nlongitude_deg = 0\ntime = 2026-06-21T12:02:00Z\n[sun]\non = "
      "true\n[canopy]\nleaf_area_index = 2\nheight_m = 15\n[camera]\nformat_mm = [24, 24]\nf_number = "
      "4\nbarrel_mm = 0\nposition_m = [0.0, -0.5, 0.0]\nlook_at = [0.0, 0.0, 0.0]\n[exposure]\nshutter_s = "
      "6\n[stack]\npause_s = 2\n" +
      disc("log", "[0.0, 0.0, 0.0]", 80, "[0, -0.5, 0.866]", .3));
  const double wide_m = 15 * std::tan(.533 * pi / 180),
               drift = 15 * (15 * pi / 180 / 60) * std::cos(23.4 * pi / 180) / std::sin(61.4 * pi / 180);
  EXPECT_NEAR(job.value("sun.fleck_m_per_min"), drift, .005 * drift);
  ASSERT_EQ(job.value("depth.frames_for_stack"), 20);
  const double seconds = 20 * 6 + 19 * 2, widths = drift * seconds / 60 / wide_m;
  EXPECT_NEAR(job.value("depth.stack_s"), seconds, 1e-9);
  EXPECT_GT(widths, 1);
  EXPECT_LT(widths, 1.5);
  EXPECT_NE(job.reading("depth.stack_s").note.find("; a fleck of sun moves 18.0 cm meanwhile"),
            std::string::npos)
      << job.reading("depth.stack_s").note;
}

// A pale thing of .85 that fills half of the frame before dark litter of .03, in a fleck of 60 klx, 60
// degrees high: 30 klx square to an upright face, and 2 klx of sky. The exposure is the shade's: .18 under 2
// klx is mid-grey, so raw clips at 7.8 x 360 = 2808 lx x reflectance (H = 78 / S against 10 / S, ISO 12232).
// In the fleck the pale half has 27,200 of them and clips, litter 960 and does not: 50 %. Under a black shade
// card toward the sun the pale half has at most 1700 and nothing clips.
TEST(PracticeDappled, AShadeCardEndsTheClipping) {
  const auto clipped = [](bool card) {
    const std::string camera =
        "[camera]\nformat_mm = [12, 12]\nf_number = 16\nbarrel_mm = 0\nposition_m = [0.0, -0.5, "
        "0.0]\nlook_at = "
        "[0.0, 0.0, 0.0]\n";
    const World world = world_of(bare + camera);
    const double mid_s =
        mid_grey_exposure(200).value() / (exposure_per_luminance(world, 1_s).value() * (.18 * 2000 / pi));
    const Job job(
        even_sky(4000) + "[sun]\non = true\nazimuth_deg = 180\nelevation_deg = 60\nnormal_lx = 60000\n" +
        camera + fmt::format("[exposure]\niso = 200\nshutter_s = {:.9f}\n", mid_s) +
        "[subject]\nparts = [\"pale\"]\n[[prop]]\nname = \"pale\"\nkind = \"card\"\nat_m = [0.1, 0.0, "
        "0.0]\nsize_mm = [200, 200]\nnormal = [0, -1, 0]\nmaterial.surface = { reflectance = 0.85 }\n" +
        disc("litter", "[0.0, 0.001, 0.0]", 400, "[0, -1, 0]", .03) +
        (card ? "[[prop]]\nname = \"shade\"\nkind = \"card\"\nat_m = [0.0, -0.2, 0.3464]\nsize_mm = "
                "[300, 300]\nnormal = [0, -0.5, 0.866]\nmaterial.surface = { reflectance = 0 }\n"
              : ""));
    return job.value("exposure.raw_clip_pct");
  };
  EXPECT_NEAR(clipped(false), 50, .05 * 50);
  EXPECT_LT(clipped(true), .1);
}

// A lens front of radius R at clearance d before a level place hides a cap of the even sky of half-angle
// atan(R / d) about the lens's axis; as long as the cap is above the horizon it holds sin^2 x cos a of the
// illuminance, a the axis's angle from the vertical (projected solid angle of a cap). With R = 35 mm: -1.24,
// -.58 and -.09 stop from 30, 50 and 140 mm straight above, under 1/3 stop from d = 35 mm x sqrt(1 / (1 -
// 2^(-1/3)) - 1) = 68.7 mm on; at 50 mm from a = 51 degrees on, where the barrel still clears the ground. The
// barrel behind the front is hidden by it. Its rim has 48 sides (area .997 of the circle's), the subject is 4
// mm wide, and the front sends back 4 % of the little that the subject sends up: together under .02 stop.
Job pell_bank(double clear_mm, double angle_deg, bool barrel) {
  const double away = (clear_mm + 30) * 1e-3, a = angle_deg * pi / 180;
  return Job(
      even_sky(1000) +
      fmt::format(
          "[camera]\nformat_mm = [6, 6]\nfocal_length_mm = 24\nf_number = 8\nposition_m = [0.0, {:.9f}, "
          "{:.9f}]\nlook_at = [0.0, 0.0, 0.0]\nfront_ahead_mm = 30\nfront_diameter_mm = 70\nbarrel_mm = {}\n",
          -away * std::sin(a), away * std::cos(a), barrel ? 80 : 0) +
      disc("cap", "[0.0, 0.0, 0.0]", 4, "[0, 0, 1]", .5));
}
double shade_of_front(double clear_mm, double angle_deg = 0) {
  const double hidden = 35 * 35 / (35 * 35 + clear_mm * clear_mm) * std::cos(angle_deg * pi / 180);
  return std::log2(1 - hidden);
}
const std::string shade = "lens.barrel_shade_stops", cap_luminance = "part.cap/surface.luminance_cd_m2";

TEST(PracticeWideLens, ItsOwnShade) {
  const double rounded[][2] = {{30, -1.2}, {50, -.6}, {140, -.1}};
  for (const auto& [clear, stops] : rounded) {
    const Job on = pell_bank(clear, 0, true);
    EXPECT_NEAR(on.value("lens.front_to_subject_m"), clear * 1e-3, 1e-6);
    EXPECT_NEAR(on.value(shade), shade_of_front(clear), 4 * on.se(shade) + .02) << clear;
    EXPECT_NEAR(shade_of_front(clear), stops, .05);
  }
  const Job on = pell_bank(30, 0, true), off = pell_bank(30, 0, false);
  EXPECT_EQ(off.value(shade), 0);
  EXPECT_NEAR(std::log2(on.value(cap_luminance) / off.value(cap_luminance)), shade_of_front(30), .05);
}

TEST(PracticeWideLens, WhereItIsUnderAThirdOfAStop) {
  const double from_mm = 35 * std::sqrt(1 / (1 - std::exp2(-1. / 3)) - 1);
  EXPECT_NEAR(from_mm, 68.7, .05);
  EXPECT_LT(pell_bank(from_mm - 6, 0, true).value(shade), -1. / 3);
  EXPECT_GT(pell_bank(from_mm + 6, 0, true).value(shade), -1. / 3);
  for (const double angle : {45., 57.}) {
    const Job job = pell_bank(50, angle, true);
    EXPECT_NEAR(job.value(shade), shade_of_front(50, angle), 4 * job.se(shade) + .02) << angle;
    EXPECT_EQ(job.value(shade) > -1. / 3, angle > 51) << angle;
  }
}

}  // namespace
}  // namespace undercap
