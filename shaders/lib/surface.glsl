// What a hit surface does with light.
//
// A body that reflects R and transmits T diffusely, under an optional dielectric coat (GGX, index 1.5) on both sides:
//   f = f_coat + (1 - E(v)) (1 - E(l)) / (1 - E_mean) x (R or T) / pi
// with E(cos) the directional albedo of the coat, tabled by engine/surface/coat.cpp. Reciprocal, and a body with
// R + T = 1 gives everything back (Kelemen & Szirmay-Kalos 2001, 'A Microfacet Based Coupled Specular-Matte BRDF').
// A film of water is such a coat of index 1.333 over a body that sends light back up through the film's inner side. A rough
// metal is a coat without a body, with Schlick's Fresnel (1994).
//
// Shading normals: a direction that is above the interpolated normal's plane but below the real surface is folded back
// over the real surface, and so is the value. The lobes keep their energy exactly, and no light leaks through.

const float pi = 3.14159265358979;
const float dry_index = 1.5, water_index = 1.333;

struct Surface {
  vec3 position;
  float rounding;    // m, how far off its plane the position may be
  vec3 geometric;    // unit, towards the viewer
  vec3 normal;       // unit, interpolated, towards the viewer
  vec3 reflectance;
  vec3 transmittance;
  vec3 mirror;       // of a metal, at normal incidence; 0 = a dielectric coat
  float index;       // of a dielectric coat
  float alpha;       // of the coat; 0 = none
  float coat_view;   // E(v)
  float body_share;  // (1 - E(v)) / (1 - E_mean), 1 without a coat
  float emission;    // cd/m2 toward the viewer
  vec3 polariser;    // direction of swing that a polariser before the viewer lets through; 0 = none
  uint part;
};

// Two tables, dry and wet. The nodes stand at cosine = (i / 31)^2 and roughness = sqrt(alpha) = j / 31: E(cosine), E_mean.
vec2 coat_row(float column, int row) {
  int i = min(int(column), 30);
  return mix(texelFetch(coat_table, row * 32 + i).rg, texelFetch(coat_table, row * 32 + i + 1).rg, column - float(i));
}
vec2 coat_albedos(float cosine, float alpha, float index) {
  float column = 31.0 * sqrt(clamp(cosine, 0.0, 1.0)), y = 31.0 * sqrt(alpha);
  int j = min(int(y), 30);
  y += index == water_index ? 32.0 : 0.0;
  j += index == water_index ? 32 : 0;
  return mix(coat_row(column, j), coat_row(column, j + 1), y - float(j));
}

// Fresnel reflectance of unpolarised light from air, cosine of incidence > 0. A polariser before the viewer takes of both
// ways of swinging the part across its own direction (Malus), and half of the body's light: what is left of the glare is
// given against that half. Metals polarise little and keep theirs.
vec3 fresnel(Surface s, float cosine, vec3 v, vec3 h) {
  if (s.mirror != vec3(0.0)) return s.mirror + (1.0 - s.mirror) * pow(max(1.0 - cosine, 0.0), 5.0);
  float g = sqrt(s.index * s.index - 1.0 + cosine * cosine);
  float a = (g - cosine) / (g + cosine);
  float b = ((g + cosine) * cosine - 1.0) / ((g - cosine) * cosine + 1.0);
  if (s.polariser == vec3(0.0)) return vec3(0.5 * a * a * (1.0 + b * b));
  vec3 across = cross(v, h), lets = s.polariser - dot(s.polariser, v) * v;  // across the plane of incidence
  float length2 = dot(across, across) * dot(lets, lets), c = dot(across, lets);
  float share = length2 > 1e-20 ? c * c / length2 : 0.5;
  return vec3(a * a * (share + (1.0 - share) * b * b));
}

// Puts a film of water on what is described: the body then is what it was, with its own light thrown back by the film from
// inside, k = frame.film.x (the two-sided interface over a sheet; a solid has T = 0).
void make_wet(inout Surface s) {
  float k = frame.film.x;
  vec3 kr = 1.0 - k * s.reflectance, d = kr * kr - k * k * s.transmittance * s.transmittance;
  s.reflectance = (1.0 - k) * (s.reflectance * kr + k * s.transmittance * s.transmittance) / d;
  s.transmittance = (1.0 - k) * s.transmittance / d;
  s.alpha = frame.film.z;
  s.index = water_index;
}

// The coat's share of light toward the viewer, once everything else is known.
void finish_coat(inout Surface s, vec3 view) {
  s.coat_view = 0.0;
  s.body_share = 1.0;
  if (s.alpha <= 0.0) return;
  if (s.mirror != vec3(0.0)) {
    s.reflectance = s.transmittance = vec3(0.0);
    s.coat_view = 1.0;
    return;
  }
  vec2 e = coat_albedos(dot(s.normal, view), s.alpha, s.index);
  s.coat_view = e.x;
  s.body_share = (1.0 - e.x) / (1.0 - e.y);
}

// Smith's height-correlated masking for GGX (Heitz 2014, JCGT 3(2)): lambda of one direction.
float smith_lambda(float cosine, float alpha) {
  float c2 = cosine * cosine;
  return 0.5 * (sqrt(1.0 + alpha * alpha * (1.0 - c2) / max(c2, 1e-12)) - 1.0);
}

float ggx_density(float cosine_h, float alpha) {
  float a2 = alpha * alpha;
  float c = cosine_h * cosine_h * (a2 - 1.0) + 1.0;
  return a2 / (pi * c * c);
}

void basis(vec3 n, out vec3 t, out vec3 b) {
  // Duff et al. 2017, 'Building an Orthonormal Basis, Revisited', JCGT 6(1).
  float s = n.z >= 0.0 ? 1.0 : -1.0;
  float a = -1.0 / (s + n.z);
  float c = n.x * n.y * a;
  t = vec3(1.0 + s * n.x * n.x * a, s * c, -s * n.x);
  b = vec3(c, s + n.y * n.y * a, -n.y);
}

vec3 fold(vec3 l, vec3 geometric) { return l - 2.0 * dot(l, geometric) * geometric; }

// Folded cosine of l about 'normal' over the real surface 'geometric': 0 below it, integrates to pi above it.
float folded_cosine(vec3 l, vec3 normal, vec3 geometric) {
  float side = dot(l, geometric);
  return side <= 0.0 ? 0.0 : max(dot(normal, l), 0.0) + max(dot(normal, fold(l, geometric)), 0.0);
}

// Coat value times cosine, and its sampling density, for one unfolded direction.
vec4 coat_lobe(Surface s, vec3 v, vec3 l) {
  float cos_v = dot(s.normal, v), cos_l = dot(s.normal, l);
  if (cos_l <= 0.0) return vec4(0.0);
  vec3 h = normalize(v + l);
  float lambda_v = smith_lambda(cos_v, s.alpha);
  float density = ggx_density(dot(s.normal, h), s.alpha) / (4.0 * cos_v);
  return density * vec4(fresnel(s, dot(v, h), v, h) / (1.0 + lambda_v + smith_lambda(cos_l, s.alpha)), 1.0 / (1.0 + lambda_v));
}

// (value x cosine, density of coat sampling) toward l, folded.
vec4 coat_value(Surface s, vec3 v, vec3 l) {
  if (s.alpha <= 0.0 || dot(l, s.geometric) <= 0.0) return vec4(0.0);
  return coat_lobe(s, v, l) + coat_lobe(s, v, fold(l, s.geometric));
}

// What the coat lets through to or from the body at a cosine, times the cosine.
float under_coat(Surface s, float cosine) {
  if (cosine <= 0.0) return 0.0;
  return s.alpha > 0.0 ? cosine * s.body_share * (1.0 - coat_albedos(cosine, s.alpha, s.index).x) : cosine;
}

// Value x cosine of the diffuse body toward l, either side: the light of l itself and that which is folded to it.
vec3 body_value(Surface s, vec3 l) {
  bool through = dot(l, s.geometric) < 0.0;
  vec3 normal = through ? -s.normal : s.normal;
  float c = under_coat(s, dot(normal, l)) + under_coat(s, dot(normal, fold(l, s.geometric)));
  return (through ? s.transmittance : s.reflectance) * (c / pi);
}

// Chances of the three lobes: coat, reflect, transmit. They depend on the material alone.
vec3 lobe_chances(Surface s) {
  float r = dot(s.reflectance, vec3(1.0 / 3.0)), t = dot(s.transmittance, vec3(1.0 / 3.0));
  float body = (1.0 - s.coat_view) * (r + t);
  float coat = s.coat_view <= 0.0 ? 0.0 : s.coat_view / (s.coat_view + body);
  float reflect_share = r + t > 0.0 ? r / (r + t) : 0.0;
  return vec3(coat, (1.0 - coat) * reflect_share, (1.0 - coat) * (1.0 - reflect_share));
}

vec3 cosine_direction(vec2 u, vec3 normal) {
  float angle = 2.0 * pi * u.x, radius = sqrt(u.y);
  vec3 t, b;
  basis(normal, t, b);
  return normalize(radius * cos(angle) * t + radius * sin(angle) * b + sqrt(max(1.0 - u.y, 0.0)) * normal);
}

// A direction of the coat by its visible normals (Dupuy & Benyoub 2023, spherical caps).
vec3 coat_direction(Surface s, vec3 v, vec2 u) {
  vec3 t, b;
  basis(s.normal, t, b);
  vec3 local = vec3(dot(v, t), dot(v, b), dot(v, s.normal));
  vec3 stretched = normalize(vec3(local.xy * s.alpha, local.z));
  float z = (1.0 - u.y) * (1.0 + stretched.z) - stretched.z;
  float sine = sqrt(clamp(1.0 - z * z, 0.0, 1.0));
  vec3 h = vec3(sine * cos(2.0 * pi * u.x), sine * sin(2.0 * pi * u.x), z) + stretched;
  h = normalize(vec3(h.xy * s.alpha, max(h.z, 1e-6)));
  vec3 l = reflect(-local, h);
  return normalize(l.x * t + l.y * b + l.z * s.normal);
}
