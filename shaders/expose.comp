// Mixes the films of the light groups, exposes the sensor, and develops to eight bits: the same pass for every picture that
// a person sees. The order is that of a camera: luminance -> illuminance on the sensor -> clip of the raw value -> white
// balance -> tone -> code.

layout(local_size_x = 8, local_size_y = 8) in;

#include "lib/halves.glsl"

layout(std430, binding = 0) readonly buffer FilmBlock { float film[]; };
layout(std430, binding = 1) readonly buffer WeightBlock { FilmWeight weight[]; };
layout(std430, binding = 2) writeonly buffer CodeBlock { uint code[]; };     // R, G, B, 255 from the low byte

uniform int film_width, film_rows, film_height, first_row, groups;
uniform float exposure_per_luminance;     // lx s on the axis for 1 cd/m2
uniform float iso;
uniform float half_width_slope, half_height_slope;  // of the chief ray at the frame's edges
uniform vec3 gains;                       // white balance
uniform int tone;                         // 0 sRGB with clip, 1 Reinhard 2002 with mid-grey kept

const float clip_exposure = 78.0;  // raw clip at H = 78 / S (ISO 12232 saturation speed)
const float grey_exposure = 10.0;  // mid-grey at H = 10 / S, shown as linear 0.18

float encode(float x) {  // IEC 61966-2-1
  return x <= 0.0031308 ? 12.92 * x : 1.055 * pow(x, 1.0 / 2.4) - 0.055;
}

// L / (1 + L), with the gain that keeps 0.18 at 0.18.
float shoulder(float x) { float y = x * (0.18 / (1.0 - 0.18)) / 0.18; return y / (1.0 + y); }

void main() {
  ivec2 at = ivec2(gl_GlobalInvocationID.xy);
  if (at.x >= film_width || at.y >= film_rows) return;
  uint pixels = uint(film_width * film_rows);
  uint pixel = uint(at.y * film_width + at.x);
  vec3 luminance = vec3(0.0);
  for (int g = 0; g < groups; ++g) {
    uint a = (uint(g) * pixels + pixel) * 3u;
    uint b = (uint(groups + g) * pixels + pixel) * 3u;
    luminance += mean_of_halves(weight[g], at.y, vec3(film[a], film[a + 1u], film[a + 2u]),
                                vec3(film[b], film[b + 1u], film[b + 2u]));
  }
  // One weight a pixel: the fourth power of the chief ray's cosine.
  vec2 slope = (2.0 * (vec2(at.x, at.y + first_row) + 0.5) / vec2(film_width, film_height) - 1.0) * vec2(half_width_slope, half_height_slope);
  float cosine2 = 1.0 / (1.0 + dot(slope, slope));
  vec3 exposure = luminance * (exposure_per_luminance * cosine2 * cosine2);
  vec3 raw = min(exposure, vec3(clip_exposure / iso));
  vec3 shown = raw * gains * (0.18 * iso / grey_exposure);
  uint word = 0xff000000u;
  for (int c = 0; c < 3; ++c) {
    float x = max(shown[c], 0.0);
    if (tone == 1) x = shoulder(x);
    word |= uint(255.0 * encode(min(x, 1.0)) + 0.5) << (8 * c);
  }
  code[pixel] = word;
}
