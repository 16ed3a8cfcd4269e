// The display filter, one pass a program; engine/render/filter.h says what it does, filter.cpp in which order:
//   PASS_MIX      films of the light groups -> the two halves in display values, white = 1
//   PASS_PREPARE  variances and reach from a pixel's surroundings; outliers of one half held to the other
//   PASS_LEVEL    one a-trous level: each half averaged with weights that the other half gives
//   PASS_OUT      the two halves -> a film of one group, cd/m2

layout(local_size_x = 8, local_size_y = 8) in;

#include "lib/halves.glsl"

uniform int film_width, film_rows;
uniform int slice_row, slice_end;  // rows of this dispatch

layout(binding = 0) uniform samplerBuffer half_a;    // colour; variance of one channel, the mean of the three
layout(binding = 1) uniform samplerBuffer half_b;
layout(binding = 2) uniform samplerBuffer features;  // three texels a pixel, see features.comp

bool inside(ivec2 at) { return at.x >= 0 && at.y >= 0 && at.x < film_width && at.y < film_rows; }
int pixel_of(ivec2 at) { return at.y * film_width + at.x; }
float mean_of(vec3 v) { return dot(v, vec3(1.0 / 3.0)); }

#ifdef PASS_OUT
layout(std430, binding = 0) writeonly buffer FilmBlock { float film[]; };
uniform vec3 luminance_per_value;

void run(ivec2 at, int p) {
  vec3 a = texelFetch(half_a, p).rgb * luminance_per_value, b = texelFetch(half_b, p).rgb * luminance_per_value;
  int second = film_width * film_rows + p;
  for (int c = 0; c < 3; ++c) {
    film[p * 3 + c] = a[c];
    film[second * 3 + c] = b[c];
  }
}
#else
layout(std430, binding = 0) writeonly buffer OutABlock { vec4 out_a[]; };
layout(std430, binding = 1) writeonly buffer OutBBlock { vec4 out_b[]; };
#endif

#ifdef PASS_MIX
layout(std430, binding = 2) readonly buffer FilmBlock { float film[]; };
layout(std430, binding = 3) readonly buffer WeightBlock { FilmWeight weight[]; };  // display value for a unit film
uniform int groups;
uniform float ceiling;  // display value far over the raw clip, which shows all of it as white

void run(ivec2 at, int p) {
  int pixels = film_width * film_rows;
  vec3 a = vec3(0.0), b = vec3(0.0);
  for (int g = 0; g < groups; ++g) {
    int i = (g * pixels + p) * 3, j = ((groups + g) * pixels + p) * 3;
    vec2 n = vec2(max(samples_at(weight[g].count, at.y), ivec2(1)));
    a += weight[g].colour.rgb * (vec3(film[i], film[i + 1], film[i + 2]) / n.x);
    b += weight[g].colour.rgb * (vec3(film[j], film[j + 1], film[j + 2]) / n.y);
  }
  a = min(a, vec3(ceiling));
  b = min(b, vec3(ceiling));
  // A - B has twice the variance of a half.
  float variance = 0.5 * mean_of((a - b) * (a - b));
  out_a[p] = vec4(a, variance);
  out_b[p] = vec4(b, variance);
}
#endif

#ifdef PASS_PREPARE
layout(std430, binding = 2) writeonly buffer FeatureBlock { vec4 prepared[]; };

// An outlier of one half exceeds twice all that the other half saw around it. A true highlight is in both halves.
const float outlier = 2.0;
const float blur_share = 0.25;

void run(ivec2 at, int p) {
  vec3 high_a = vec3(0.0), high_b = vec3(0.0), spread = vec3(0.0);
  float variance = 0.0, count = 0.0, spread_count = 0.0, blur = 1e6;
  for (int y = -2; y <= 2; ++y)
    for (int x = -2; x <= 2; ++x) {
      ivec2 near = at + ivec2(x, y);
      if (!inside(near)) continue;
      int q = pixel_of(near);
      vec4 a = texelFetch(half_a, q);
      high_a = max(high_a, a.rgb);
      high_b = max(high_b, texelFetch(half_b, q).rgb);
      variance += a.w;
      count += 1.0;
      if (max(abs(x), abs(y)) > 1) continue;
      vec4 rest = texelFetch(features, q * 3 + 2);
      spread += vec3(texelFetch(features, q * 3).w, texelFetch(features, q * 3 + 1).w, rest.y);
      spread_count += 1.0;
      blur = min(blur, rest.z);
    }
  variance /= count;
  // Few samples give a variance that may be 0 by chance, so the neighbours have a say; a pixel on an edge knows it alone.
  vec4 p0 = texelFetch(features, p * 3), p1 = texelFetch(features, p * 3 + 1), p2 = texelFetch(features, p * 3 + 2);
  spread = max(spread / spread_count, vec3(p0.w, p1.w, p2.y));
  out_a[p] = vec4(min(texelFetch(half_a, p).rgb, outlier * high_b), variance);
  out_b[p] = vec4(min(texelFetch(half_b, p).rgb, outlier * high_a), variance);
  prepared[p * 3] = vec4(p0.xyz, spread.x);
  prepared[p * 3 + 1] = vec4(p1.xyz, spread.y);
  prepared[p * 3 + 2] = vec4(p2.x, spread.z, blur_share * blur, 0.0);
}
#endif

#ifdef PASS_LEVEL
uniform int stride;

const float colour_k2 = 2.0, feature_k2 = 2.0;
// Least variances that tell two pixels apart: of the normal, of the root of the albedo (sums of three), of the inverse
// distance, for which it grows with the distance of the pixels, since a floor recedes.
const float normal_floor = 0.02, albedo_floor = 0.002, inverse_floor = 1e-6;
const float nothing = 1e-10;  // a hundred-thousandth of white, squared

// Rousselle, Knaus & Zwicker 2012, 'Adaptive Rendering with Non-Local Means Filtering', ACM TOG 31(6), from memory: the
// squared difference less what noise alone makes of it, in units of k^2 times the noise.
float colour_distance(vec4 p, vec4 q) {
  vec3 d = p.rgb - q.rgb;
  return (mean_of(d * d) - (p.w + min(p.w, q.w))) / (colour_k2 * (p.w + q.w) + nothing);
}

// The same for features, with a floor: Rousselle, Manzi & Zwicker 2013, 'Robust Denoising using Feature and Color
// Information', Computer Graphics Forum 32(7), from memory.
float feature_distance(float squared, float p, float q, float least) {
  return (squared - (p + min(p, q))) / (feature_k2 * max(p + q, least));
}

// Mean over the 3 x 3 pixels about p and q, of either half.
vec2 patch_distance(ivec2 p, ivec2 q) {
  ivec2 last = ivec2(film_width - 1, film_rows - 1);
  vec2 sum = vec2(0.0);
  for (int y = -1; y <= 1; ++y)
    for (int x = -1; x <= 1; ++x) {
      int i = pixel_of(clamp(p + ivec2(x, y), ivec2(0), last)), j = pixel_of(clamp(q + ivec2(x, y), ivec2(0), last));
      sum += vec2(colour_distance(texelFetch(half_a, i), texelFetch(half_a, j)),
                  colour_distance(texelFetch(half_b, i), texelFetch(half_b, j)));
    }
  return sum * (1.0 / 9.0);
}

void run(ivec2 at, int p) {
  vec4 a = texelFetch(half_a, p), b = texelFetch(half_b, p);
  vec4 p0 = texelFetch(features, p * 3), p1 = texelFetch(features, p * 3 + 1), p2 = texelFetch(features, p * 3 + 2);
  // Where the features are sure they carry the edges; where they are not, the blur disc bounds the step.
  float sure = exp(-0.25 * (p0.w / normal_floor + p1.w / albedo_floor));
  float open = stride == 1 ? 1.0 : max(min(p2.z / float(stride), 1.0), sure);
  vec3 sum_a = 4.0 * a.rgb, sum_b = 4.0 * b.rgb;
  float weight_a = 4.0, weight_b = 4.0, variance_a = 16.0 * a.w, variance_b = 16.0 * b.w;
  for (int y = -1; y <= 1; ++y)
    for (int x = -1; x <= 1; ++x) {
      ivec2 near = at + stride * ivec2(x, y);
      if ((x == 0 && y == 0) || open < 0.01 || !inside(near)) continue;
      int q = pixel_of(near);
      vec4 q0 = texelFetch(features, q * 3), q1 = texelFetch(features, q * 3 + 1), q2 = texelFetch(features, q * 3 + 2);
      vec3 d0 = p0.xyz - q0.xyz, d1 = p1.xyz - q1.xyz;
      float d2 = p2.x - q2.x;
      float apart = max(max(feature_distance(dot(d0, d0), p0.w, q0.w, normal_floor),
                            feature_distance(dot(d1, d1), p1.w, q1.w, albedo_floor)),
                        feature_distance(d2 * d2, p2.y, q2.y, inverse_floor * float(stride * stride)));
      vec4 qa = texelFetch(half_a, q), qb = texelFetch(half_b, q);
      vec2 colour = patch_distance(at, near);
      vec2 w = (x == 0 || y == 0 ? 2.0 : 1.0) * open * exp(-max(max(colour.yx, vec2(apart)), vec2(0.0)));
      sum_a += w.x * qa.rgb;
      sum_b += w.y * qb.rgb;
      weight_a += w.x;
      weight_b += w.y;
      variance_a += w.x * w.x * qa.w;
      variance_b += w.y * w.y * qb.w;
    }
  out_a[p] = vec4(sum_a / weight_a, variance_a / (weight_a * weight_a));
  out_b[p] = vec4(sum_b / weight_b, variance_b / (weight_b * weight_b));
}
#endif

void main() {
  ivec2 at = ivec2(gl_GlobalInvocationID.xy) + ivec2(0, slice_row);
  if (inside(at) && at.y < slice_end) run(at, pixel_of(at));
}
