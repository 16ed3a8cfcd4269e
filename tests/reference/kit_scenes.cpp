// Two sets of the procedural kit, as its own rows of materials have it: what grows on the floor, and what
// lies on it. Both tracers take a part's mean in place of its pattern.
#include "tests/reference/scenes.h"

namespace undercap::reference {
namespace {

constexpr const char* cap_in_leaves = R"(
[camera]
position_m = [0.0, -0.42, 0.07]
look_at = [0, 0, 0.03]
focal_length_mm = 60
f_number = 8
[sky]
model = "overcast"
horizontal_lx = 4000
[ground]
kind = "litter"
relief_mm = 6
size_m = 2
[[prop]]
name = "one"
kind = "mushroom"
preset = "brown_broad"
at_m = [-0.02, 0]
cap_diameter_mm = 60
stem_length_mm = 50
[[prop]]
name = "moss"
kind = "moss"
at_m = [0.05, 0.02]
diameter_mm = 60
shoots_per_cm2 = 4
[[prop]]
name = "leaves"
kind = "litter"
at_m = [0, 0]
radius_m = 0.3
[[prop]]
name = "grass"
kind = "grass"
at_m = [0.06, 0.08]
[[prop]]
name = "bracken"
kind = "frond"
at_m = [-0.1, 0.25]
[[source]]
name = "torch"
kind = "torch"
position_m = [-0.2, -0.15, 0.04]
aim = "one"
flux_lm = 60
beam_deg = 60
diameter_mm = 40
)";

constexpr const char* log_and_shelves = R"(
[camera]
position_m = [0.0, -0.5, 0.16]
look_at = [0, -0.04, 0.06]
focal_length_mm = 60
f_number = 8
[sky]
model = "overcast"
horizontal_lx = 3000
[sun]
on = true
normal_lx = 8000
azimuth_deg = 130
elevation_deg = 40
[ground]
kind = "soil"
relief_mm = 5
size_m = 2
[[prop]]
name = "log"
kind = "log"
at_m = [0, 0.05]
diameter_mm = 110
length_mm = 320
[[prop]]
name = "shelves"
kind = "shelf"
on = "log"
at_m = [0.02, -0.02, 0.06]
count = 5
spread_mm = 50
[[prop]]
name = "lichen"
kind = "lichen"
on = "log"
at_m = [-0.07, 0.03]
[[prop]]
name = "eggs"
kind = "ball"
at_m = [-0.06, -0.1]
[[prop]]
name = "stone"
kind = "stone"
at_m = [0.1, -0.12]
width_mm = 50
[[prop]]
name = "twig"
kind = "twig"
at_m = [0.02, -0.14]
[[prop]]
name = "tuft"
kind = "tuft"
at_m = [0.09, -0.03]
count = 5
)";

}  // namespace

std::vector<NamedScene> kit_scenes() {
  // Glints of the sun in coats, seen by way of other things, are rare and bright.
  return {{"broad cap, moss and litter", cap_in_leaves, {}, 0.4},
          {"log with shelves in the sun", log_and_shelves, {}, 0.4}};
}

}  // namespace undercap::reference
