// The sources, each at unit power: the sky gives 1 lx on level ground, the sun 1 lx at normal incidence, a lamp 1 cd at
// its peak. Glow, the emission of props, is at its own level.

struct LightSample {
  vec3 direction;  // unit, from the surface
  float distance;
  float value;     // luminance over density: what a perfect cosine would receive; 0 = nothing from here
  float density;   // per solid angle
};

// --- sky: luminance at the nodes of a map that is linear in azimuth and in the sine of the elevation (equal areas)

float sky_node(int row, int column) { return texelFetch(sky_nodes, row * sky_columns + column % sky_columns).r; }

float sky_luminance(vec3 d) {
  if (d.z <= 0.0) return 0.0;
  float x = (atan(d.x, d.y) / (2.0 * pi) + 1.0) * float(sky_columns);
  float y = min(d.z, 1.0) * float(sky_rows);
  int column = int(x), row = min(int(y), sky_rows - 1);
  float fx = x - float(column), fy = y - float(row);
  return mix(mix(sky_node(row, column), sky_node(row, column + 1), fx),
             mix(sky_node(row + 1, column), sky_node(row + 1, column + 1), fx), fy);
}

// Cumulative chances: sky_rows + 1 of the rows, then sky_columns + 1 of the columns of each row.
float sky_cumulative(int at) { return texelFetch(sky_chances, at).r; }

float sky_density(vec3 d) {
  if (d.z <= 0.0) return 0.0;
  int column = int((atan(d.x, d.y) / (2.0 * pi) + 1.0) * float(sky_columns)) % sky_columns;
  int row = min(int(d.z * float(sky_rows)), sky_rows - 1);
  int base = sky_rows + 1 + row * (sky_columns + 1);
  float chance = (sky_cumulative(row + 1) - sky_cumulative(row)) * (sky_cumulative(base + column + 1) - sky_cumulative(base + column));
  return chance * float(sky_rows * sky_columns) / (2.0 * pi);
}

// The cell of a cumulative table that holds u, and where in the cell: (index, fraction).
vec2 invert(int base, int count, float u) {
  int low = 0, high = count;
  while (high - low > 1) {
    int middle = (low + high) >> 1;
    if (sky_cumulative(base + middle) <= u) low = middle;
    else high = middle;
  }
  float from = sky_cumulative(base + low), to = sky_cumulative(base + low + 1);
  return vec2(float(low), clamp((u - from) / max(to - from, 1e-20), 0.0, 0.99999994));
}

LightSample sample_sky(vec2 u) {
  vec2 row = invert(0, sky_rows, u.y);
  vec2 column = invert(sky_rows + 1 + int(row.x) * (sky_columns + 1), sky_columns, u.x);
  float z = (row.x + row.y) / float(sky_rows);
  float azimuth = (column.x + column.y) / float(sky_columns) * 2.0 * pi;
  float sine = sqrt(max(1.0 - z * z, 0.0));
  vec3 d = vec3(sine * sin(azimuth), sine * cos(azimuth), z);
  float density = sky_density(d);
  return LightSample(d, far_away, density > 0.0 ? sky_luminance(d) / density : 0.0, density);
}

// --- sun: a disc of even luminance; w is 2 (1 - cosine of its radius), the square of the chord, since the cosine itself
// has no more than 180 steps between the sun's centre and limb in single precision

float sun_solid_angle() { return pi * sun_direction.w; }

bool toward_sun(vec3 d) {
  vec3 off = d - sun_direction.xyz;
  return dot(off, off) <= sun_direction.w;
}

LightSample sample_sun(vec2 u) {
  float drop = 0.5 * u.x * sun_direction.w;  // 1 - cosine
  float sine = sqrt(drop * (2.0 - drop));
  vec3 t, b;
  basis(sun_direction.xyz, t, b);
  vec3 d = normalize(sine * cos(2.0 * pi * u.y) * t + sine * sin(2.0 * pi * u.y) * b + (1.0 - drop) * sun_direction.xyz);
  return LightSample(d, far_away, 1.0, 1.0 / sun_solid_angle());
}

// --- lamps: a disc, each point of which sends I0 cos^n; two texels: position and radius | direction and exponent

float lamp_luminance(vec4 place, float exponent, float cosine) {
  return cosine <= 0.0 ? 0.0 : pow(cosine, exponent - 1.0) / (pi * place.w * place.w);
}

LightSample sample_lamp(int lamp, vec2 u, vec3 from) {
  vec4 place = texelFetch(lamps, lamp * 2);
  vec4 aim = texelFetch(lamps, lamp * 2 + 1);
  vec3 t, b;
  basis(aim.xyz, t, b);
  float radius = place.w * sqrt(u.x), angle = 2.0 * pi * u.y;
  vec3 to = place.xyz + radius * (cos(angle) * t + sin(angle) * b) - from;
  float squared = dot(to, to), distance = sqrt(squared);
  vec3 d = to / distance;
  float cosine = -dot(d, aim.xyz);
  if (cosine <= 0.0) return LightSample(d, distance, 0.0, 0.0);
  float density = squared / (cosine * pi * place.w * place.w);
  return LightSample(d, distance, lamp_luminance(place, aim.w, cosine) / density, density);
}

// Where a ray meets the front of a lamp's disc: (distance, luminance, density of sample_lamp), distance < 0 = nowhere.
vec3 hit_lamp(int lamp, vec3 origin, vec3 d) {
  vec4 place = texelFetch(lamps, lamp * 2);
  vec4 aim = texelFetch(lamps, lamp * 2 + 1);
  float cosine = -dot(d, aim.xyz);
  if (cosine <= 1e-6) return vec3(-1.0);
  float t = dot(origin - place.xyz, aim.xyz) / cosine;
  vec3 off = origin + t * d - place.xyz;
  if (t <= 0.0 || dot(off, off) > place.w * place.w) return vec3(-1.0);
  return vec3(t, lamp_luminance(place, aim.w, cosine), t * t / (cosine * pi * place.w * place.w));
}

// --- glow: emissive triangles, chosen by emission times area; a texel each: triangle, cumulative chance

LightSample sample_glow(vec2 u, float choice, vec3 from) {
  if (glow_count == 0) return LightSample(vec3(0.0, 0.0, 1.0), 1.0, 0.0, 0.0);
  int low = 0, high = glow_count - 1;
  while (low < high) {
    int middle = (low + high) >> 1;
    if (texelFetch(glow_table, middle).y <= choice) low = middle + 1;
    else high = middle;
  }
  int triangle = int(floatBitsToUint(texelFetch(glow_table, low).x));
  vec3 to_b = texelFetch(bvh_triangles, triangle * 3 + 1).xyz;
  vec3 to_c = texelFetch(bvh_triangles, triangle * 3 + 2).xyz;
  float root = sqrt(u.x);
  vec3 point = texelFetch(bvh_triangles, triangle * 3).xyz + (1.0 - root) * to_b + u.y * root * to_c;
  vec3 normal = cross(to_b, to_c);
  vec3 to = point - from;
  float squared = dot(to, to), distance = sqrt(squared);
  vec3 d = to / distance;
  float cosine = -dot(d, normalize(normal));
  if (cosine <= 0.0) return LightSample(d, distance, 0.0, 0.0);
  // The chance of a triangle is emission x area / total, so the density at a point is emission / total.
  float emission = texelFetch(materials, int(texelFetch(triangle_surface, triangle * 2).w & 0xffffu) * 2 + 1).w;
  float density = emission / glow_total * squared / cosine;
  return LightSample(d, distance, emission / density, density);
}
