// Develops to eight bits: the same pass for every picture that a person sees. The order is that of a camera: illuminance on
// the sensor -> noise and clip of the raw value -> white balance -> tone -> code.

layout(local_size_x = 8, local_size_y = 8) in;

#include "lib/halves.glsl"
#include "lib/exposing.glsl"
#include "lib/random.glsl"
#include "lib/sensor.glsl"

layout(std430, binding = 2) writeonly buffer CodeBlock { uint code[]; };       // R, G, B, 255 from the low byte
layout(std430, binding = 3) readonly buffer ExposureBlock { vec4 exposures[]; };  // lx s, where they are there already
layout(binding = 2) uniform samplerBuffer features;                             // of features.comp

uniform int exposed;      // 1: take 'exposures', 0: expose the film
uniform float iso;
uniform vec3 gains;       // white balance
uniform int tone;         // 0 sRGB with clip, 1 Reinhard 2002 with mid-grey kept
uniform int overlay;      // 0 none, 1 clipping, 2 stops from mid-grey, 3 the sharp zone, 4 the plane in focus
uniform float circle_px;

const float clip_exposure = 78.0;  // raw clip at H = 78 / S (ISO 12232 saturation speed)
const float grey_exposure = 10.0;  // mid-grey at H = 10 / S, shown as linear 0.18
const vec3 luminance_weights = vec3(0.2126390, 0.7151687, 0.0721923);

float encode(float x) {  // IEC 61966-2-1
  return x <= 0.0031308 ? 12.92 * x : 1.055 * pow(x, 1.0 / 2.4) - 0.055;
}

// L / (1 + L), with the gain that keeps 0.18 at 0.18.
float shoulder(float x) { float y = x * (0.18 / (1.0 - 0.18)) / 0.18; return y / (1.0 + y); }

float stops_from_grey(vec3 exposure) { return log2(max(dot(exposure, luminance_weights) * iso / grey_exposure, 1e-12)); }

// What is clipped in the raw value gets stripes, what drowns a dotted grid; neither needs an eye for colour.
vec3 clipping(vec3 codes, ivec2 at, vec3 exposure) {
  float brightest = max(exposure.x, max(exposure.y, exposure.z));
  if (brightest >= clip_exposure / iso) return (at.x + at.y) % 8 < 4 ? vec3(1.0, 0.45, 0.0) : vec3(0.0);
  if (stops_from_grey(exposure) < DARKEST_STOP) return at.x % 4 < 2 && at.y % 4 < 2 ? vec3(0.25, 0.55, 1.0) : codes;
  return codes;
}

// The blur of what is in the pixel by the lens, signed: above 0 behind the plane in focus.
float signed_blur(uint pixel) {
  float blur = texelFetch(features, int(pixel) * 3 + 2).z;
  return texelFetch(features, int(pixel) * 3 + 2).x > 1.0 ? -blur : blur;
}

// Where the plane in focus cuts what is seen: the blur changes its sign between neighbours, or is all but none.
bool at_focus_plane(ivec2 at, uint pixel) {
  float here = signed_blur(pixel);
  if (abs(here) < 0.1 * circle_px) return true;
  ivec2 right = min(at + ivec2(1, 0), ivec2(film_width, film_rows) - 1), down = min(at + ivec2(0, 1), ivec2(film_width, film_rows) - 1);
  float a = signed_blur(uint(right.y * film_width + right.x)), b = signed_blur(uint(down.y * film_width + down.x));
  float near = 2.0 * circle_px;  // not at the edge of a near thing before a far one
  return abs(here) < near && ((here < 0.0) != (a < 0.0) && abs(a) < near || (here < 0.0) != (b < 0.0) && abs(b) < near);
}

vec3 with_overlay(vec3 codes, ivec2 at, uint pixel, vec3 exposure) {
  if (overlay == 1) return clipping(codes, at, exposure);
  if (overlay == 2) {
    const vec3 colours[] = STOP_COLOURS;
    return colours[clamp(int(floor(stops_from_grey(exposure) - DARKEST_STOP)) + 1, 0, colours.length() - 1)];
  }
  vec3 grey = vec3(dot(codes, luminance_weights)) * 0.45;
  if (overlay == 3) return abs(signed_blur(pixel)) <= circle_px ? codes : grey;
  return at_focus_plane(at, pixel) ? vec3(1.0, 0.78, 0.1) : grey;
}

void main() {
  ivec2 at = ivec2(gl_GlobalInvocationID.xy);
  if (at.x >= film_width || at.y >= film_rows) return;
  uint pixel = uint(at.y * film_width + at.x);
  vec3 exposure = exposed == 1 ? exposures[pixel].rgb : exposure_of_film(at);
  uint in_picture = uint((at.y + first_row) * film_width + at.x);
  vec3 codes;
  for (int c = 0; c < 3; ++c) {
    float x = sensed(exposure[c], clip_exposure / iso, in_picture, uint(c));
    x = max(x * gains[c] * (0.18 * iso / grey_exposure), 0.0);
    if (tone == 1) x = shoulder(x);
    codes[c] = encode(min(x, 1.0));
  }
  if (overlay != 0) codes = with_overlay(codes, at, pixel, exposure);
  uint word = 0xff000000u;
  for (int c = 0; c < 3; ++c) word |= uint(255.0 * codes[c] + 0.5) << (8 * c);
  code[pixel] = word;
}
