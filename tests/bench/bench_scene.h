// The set that benches share.
#pragma once

namespace undercap {

// Twelve small mushrooms by a log in litter, more than 200,000 triangles; sky, sun and a torch.
inline constexpr const char* bench_scene = R"(undercap = 1
[ground]
relief_mm = 0
[sun]
on = true
azimuth_deg = 120
elevation_deg = 30
[camera]
position_m = [0, -0.5, 0.12]
look_at = "tuft"
focal_length_mm = 60
f_number = 8
[[prop]]
name = "tuft"
kind = "bonnet"
at_m = [0, 0]
count = 12
[[prop]]
name = "log"
kind = "log"
at_m = [0.05, 0.16]
[[prop]]
name = "leaves"
kind = "litter"
at_m = [0, 0]
radius_m = 0.3
[[source]]
name = "torch"
kind = "torch"
position_m = [-0.2, -0.2, 0.05]
aim = "tuft"
flux_lm = 60
)";

}  // namespace undercap
