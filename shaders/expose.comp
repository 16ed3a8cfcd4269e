// A film's exposure of the sensor, pixel by pixel, for what looks at a pixel's neighbours before it is developed.

layout(local_size_x = 8, local_size_y = 8) in;

#include "lib/halves.glsl"
#include "lib/exposing.glsl"

layout(std430, binding = 3) writeonly buffer ExposureBlock { vec4 exposures[]; };  // lx s

void main() {
  ivec2 at = ivec2(gl_GlobalInvocationID.xy);
  if (at.x >= film_width || at.y >= film_rows) return;
  exposures[at.y * film_width + at.x] = vec4(exposure_of_film(at), 0.0);
}
