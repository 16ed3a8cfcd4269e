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
layout(binding = 2) uniform samplerBuffer features;  // of features.comp
uniform int overlay;                      // 0 none, 1 clipping, 2 stops from mid-grey, 3 the sharp zone
uniform float circle_px;
uniform int tone;                         // 0 sRGB with clip, 1 Reinhard 2002 with mid-grey kept

const float clip_exposure = 78.0;  // raw clip at H = 78 / S (ISO 12232 saturation speed)
const float grey_exposure = 10.0;  // mid-grey at H = 10 / S, shown as linear 0.18

float encode(float x) {  // IEC 61966-2-1
  return x <= 0.0031308 ? 12.92 * x : 1.055 * pow(x, 1.0 / 2.4) - 0.055;
}

// L / (1 + L), with the gain that keeps 0.18 at 0.18.
float shoulder(float x) { float y = x * (0.18 / (1.0 - 0.18)) / 0.18; return y / (1.0 + y); }

// What is clipped in the raw value gets stripes, what drowns a dotted grid; neither needs an eye for colour.
vec3 clipping(vec3 codes, ivec2 at, vec3 exposure) {
  float brightest = max(exposure.x, max(exposure.y, exposure.z));
  float stops = log2(max(dot(exposure, vec3(0.2126390, 0.7151687, 0.0721923)) * iso / grey_exposure, 1e-12));
  if (brightest >= clip_exposure / iso) return (at.x + at.y) % 8 < 4 ? vec3(1.0, 0.45, 0.0) : vec3(0.0);
  if (stops < DARKEST_STOP) return at.x % 4 < 2 && at.y % 4 < 2 ? vec3(0.25, 0.55, 1.0) : codes;
  return codes;
}

vec3 with_overlay(vec3 codes, ivec2 at, uint pixel, vec3 exposure) {
  if (overlay == 1) return clipping(codes, at, exposure);
  if (overlay == 2) {
    const vec3 colours[] = STOP_COLOURS;
    float stops = log2(max(dot(exposure, vec3(0.2126390, 0.7151687, 0.0721923)) * iso / grey_exposure, 1e-12));
    return colours[clamp(int(floor(stops - DARKEST_STOP)) + 1, 0, colours.length() - 1)];
  }
  float blur = texelFetch(features, int(pixel) * 3 + 2).z;
  if (blur <= circle_px) return codes;
  return vec3(dot(codes, vec3(0.2126390, 0.7151687, 0.0721923))) * 0.45;
}

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
  vec3 codes;
  for (int c = 0; c < 3; ++c) {
    float x = max(shown[c], 0.0);
    if (tone == 1) x = shoulder(x);
    codes[c] = encode(min(x, 1.0));
  }
  if (overlay != 0) codes = with_overlay(codes, at, pixel, exposure);
  uint word = 0xff000000u;
  for (int c = 0; c < 3; ++c) word |= uint(255.0 * codes[c] + 0.5) << (8 * c);
  code[pixel] = word;
}
