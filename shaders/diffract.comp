// The light of each pixel spread over its neighbours as the aperture spreads it: one pattern for the whole picture, that of
// a point in focus. At the picture's edge the outermost pixels go on.

layout(local_size_x = 8, local_size_y = 8) in;

layout(std430, binding = 3) readonly buffer ExposureBlock { vec4 exposures[]; };    // lx s
layout(std430, binding = 5) writeonly buffer SpreadBlock { vec4 spread[]; };        // lx s
layout(std430, binding = 6) readonly buffer PatternBlock { float pattern[]; };      // (2 radius + 1)^2, sum 1

uniform int film_width, film_rows, radius;

void main() {
  ivec2 at = ivec2(gl_GlobalInvocationID.xy);
  if (at.x >= film_width || at.y >= film_rows) return;
  vec3 sum = vec3(0.0);
  int k = 0;
  for (int y = -radius; y <= radius; ++y) {
    int row = clamp(at.y + y, 0, film_rows - 1) * film_width;
    for (int x = -radius; x <= radius; ++x, ++k) sum += pattern[k] * exposures[row + clamp(at.x + x, 0, film_width - 1)].rgb;
  }
  spread[at.y * film_width + at.x] = vec4(sum, 0.0);
}
