#include "tests/reference/scenes.h"

#include <fmt/format.h>

#include <fstream>
#include <utility>

namespace undercap::reference {
namespace {

// Matt mushrooms close together on bumpy ground, only the sky: light that goes round.
constexpr const char* diffuse_cluster = R"(
[sky]
model = "overcast"
horizontal_lx = 2000
cct_k = 7000
[camera]
position_m = [0.05, -0.30, 0.10]
look_at = "cluster"
focal_length_mm = 60
f_number = 4
[ground]
size_m = 0.5
[[prop]]
name = "cluster"
kind = "mushroom"
at_m = [0, 0]
count = 3
spread_mm = 25
gill_count = 24
gill_tiers = 0
material.cap = { reflectance = [0.7, 0.5, 0.3], roughness = 1 }
material.gills = { reflectance = [0.6, 0.5, 0.3], transmittance = [0.2, 0.15, 0.05], roughness = 1 }
material.stem = { reflectance = [0.8, 0.75, 0.65], roughness = 1 }
)";

// Low sun on a mushroom, and a white card that throws it back into the shade.
constexpr const char* sun_and_card = R"(
[sky]
model = "uniform"
horizontal_lx = 5000
cct_k = 12000
[sun]
on = true
normal_lx = 60000
azimuth_deg = 40
elevation_deg = 35
[camera]
position_m = [0.0, -0.35, 0.07]
look_at = [0, 0, 0.035]
focal_length_mm = 60
f_number = 5.6
[ground]
size_m = 2
relief_mm = 0
[[prop]]
name = "one"
kind = "mushroom"
at_m = [0, 0]
gill_count = 24
gill_tiers = 0
material.cap = { reflectance = [0.5, 0.2, 0.1], roughness = 0.5 }
[[prop]]
name = "card"
kind = "card"
at_m = [-0.08, -0.05, 0.06]
size_mm = [80, 120]
normal = [0.8, 0.6, 0.1]
material.surface = { reflectance = 0.9 }
)";

// A torch a few centimetres under the gills, itself in the picture.
constexpr const char* torch_at_gills = R"(
[sky]
model = "overcast"
horizontal_lx = 20
[camera]
position_m = [0.0, -0.24, 0.012]
look_at = [0, 0, 0.045]
focal_length_mm = 60
f_number = 2.8
pupil_magnification = 0.8
[ground]
kind = "soil"
size_m = 0.5
relief_mm = 4
[[prop]]
name = "one"
kind = "mushroom"
at_m = [0, 0]
cap_diameter_mm = 70
gill_count = 30
gill_tiers = 0
cap_tilt_deg = 18
material.cap = { reflectance = [0.5, 0.3, 0.2], roughness = 1 }
[[source]]
name = "torch"
kind = "torch"
position_m = [-0.05, -0.035, 0.02]
aim = "one/gills"
flux_lm = 40
beam_deg = 80
diameter_mm = 14
cct_k = 4000
[[source]]
name = "back"
kind = "torch"
position_m = [0.1, 0.12, 0.10]
aim = [0, 0, 0.05]
flux_lm = 10
beam_deg = 40
diameter_mm = 30
cct_k = 6500
)";

// Sheets one behind the other against the light.
constexpr const char* sheets_backlit = R"(
[sky]
model = "overcast"
horizontal_lx = 3000
[sun]
on = true
normal_lx = 30000
azimuth_deg = 10
elevation_deg = 30
[camera]
position_m = [0.0, -0.35, 0.06]
look_at = [0, 0, 0.05]
focal_length_mm = 60
f_number = 2.8
[ground]
kind = "sand"
relief_mm = 0
[[prop]]
name = "front"
kind = "card"
at_m = [-0.03, 0.0, 0.05]
size_mm = [60, 70]
normal = [0.3, -1, 0.2]
material.surface = { reflectance = [0.4, 0.3, 0.2], transmittance = [0.5, 0.6, 0.3], roughness = 1 }
[[prop]]
name = "behind"
kind = "card"
at_m = [0.0, 0.03, 0.05]
size_mm = [70, 60]
normal = [-0.4, -1, 0]
material.surface = { reflectance = [0.3, 0.4, 0.1], transmittance = [0.3, 0.4, 0.1], roughness = 0.5 }
[[prop]]
name = "tuft"
kind = "bonnet"
at_m = [0.045, 0.0]
count = 2
material.cap = { reflectance = [0.3, 0.25, 0.2], transmittance = [0.4, 0.3, 0.2], roughness = 1 }
)";

// A log and a stone that gleam, with the sky, a torch and a small glowing ball in their coats.
constexpr const char* wet_log = R"(
[sky]
model = "overcast"
horizontal_lx = 1500
[camera]
position_m = [0.0, -0.40, 0.16]
look_at = "log"
focal_length_mm = 50
f_number = 8
[ground]
kind = "soil"
size_m = 2
relief_mm = 0
[[prop]]
name = "log"
kind = "log"
at_m = [0, 0]
length_mm = 260
diameter_mm = 80
detail = 0.3
material.bark = { reflectance = [0.09, 0.07, 0.05], roughness = 0.3 }
material.wood = { reflectance = [0.3, 0.2, 0.12], roughness = 0.8 }
[[prop]]
name = "stone"
kind = "mesh"
file = "stone.obj"
unit = "cm"
up = "z"
at_m = [-0.07, -0.10, 0.03]
scale = 3
turn_deg = 20
material.surface = { reflectance = [0.5, 0.5, 0.4], roughness = 0.4 }
[[prop]]
name = "ember"
kind = "sphere"
at_m = [0.08, -0.11, 0.06]
diameter_mm = 40
material.surface = { reflectance = 0, emission_cd_m2 = 400 }
[[source]]
name = "torch"
kind = "torch"
position_m = [-0.25, 0.25, 0.25]
aim = "log"
flux_lm = 200
beam_deg = 60
diameter_mm = 40
)";

}  // namespace

const std::vector<NamedScene>& scenes() {
  static const std::vector<NamedScene> all = [] {
    std::vector<NamedScene> made = {{"diffuse cluster under overcast", diffuse_cluster},
                                    {"sun and white card", sun_and_card},
                                    {"torch close to gills", torch_at_gills},
                                    {"translucent sheets backlit", sheets_backlit},
                                    {"wet log", wet_log}};
    for (NamedScene& scene : wood_scenes()) made.push_back(std::move(scene));
    for (NamedScene& scene : kit_scenes()) made.push_back(std::move(scene));
    return made;
  }();
  return all;
}

void write_stone(const std::string& folder) {
  std::ofstream out(folder + "/stone.obj");
  for (const char* line : {"v", "vn"})
    for (const char* corner : {" 1 0 0", " 0 1 0", " -1 0 0", " 0 -1 0", " 0 0 1", " 0 0 -1"})
      out << line << corner << "\n";
  for (int i = 0; i < 4; ++i) {
    const int a = i + 1, b = (i + 1) % 4 + 1;
    out << fmt::format("f {0}//{0} {1}//{1} 5//5\nf {1}//{1} {0}//{0} 6//6\n", a, b);
  }
}

}  // namespace undercap::reference
