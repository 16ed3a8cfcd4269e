// From the triangle that a ray met to the surface there. A triangle has two texels of triangle_surface: three packed normals
// and material | part << 16; three packed tints. A material has three: reflectance and alpha of the coat; transmittance and
// emission; a metal's reflectance and the share of wet area.

vec3 unpack_normal(uint word) {
  vec2 e = unpackSnorm2x16(word);
  vec3 n = vec3(e, 1.0 - abs(e.x) - abs(e.y));
  if (n.z < 0.0) n.xy = (1.0 - abs(n.yx)) * vec2(n.x >= 0.0 ? 1.0 : -1.0, n.y >= 0.0 ? 1.0 : -1.0);
  return normalize(n);
}

vec3 unpack_tint(uint word) { return vec3((uvec3(word) >> uvec3(0u, 10u, 20u)) & 1023u) * (1.0 / 512.0); }

// Whether a place of a partly wet part is under water: spots of some 2 mm with wavy outlines, each by a chance of its own, so
// that the share of area is the given one.
bool wet_here(vec3 place, float share) {
  if (share >= 1.0) return true;
  vec3 p = place * 500.0;
  p += 0.6 * sin(1.7 * p.yzx + vec3(0.0, 1.0, 2.0)) + 0.3 * sin(4.1 * p.zxy + vec3(4.0, 5.0, 6.0));
  uvec3 cell = uvec3(ivec3(floor(p)));
  return float(combine(combine(combine(0x77e7u, cell.x), cell.y), cell.z) >> 8) * (1.0 / 16777216.0) < share;
}

Surface surface_at(Hit hit, vec3 direction) {
  Surface s;
  int triangle = int(hit.triangle);
  vec3 to_b = texelFetch(bvh_triangles, triangle * 3 + 1).xyz;
  vec3 to_c = texelFetch(bvh_triangles, triangle * 3 + 2).xyz;
  vec3 corner = texelFetch(bvh_triangles, triangle * 3).xyz;
  s.position = corner + hit.uv.x * to_b + hit.uv.y * to_c;
  // Sums and products in single precision are off by parts of their largest term: a large triangle's rounding stays, however
  // near to the origin the place is.
  vec3 reach = abs(corner) + abs(to_b) + abs(to_c);
  s.rounding = 5e-7 * max(reach.x, max(reach.y, reach.z)) + 2e-8;
  s.geometric = normalize(cross(to_b, to_c));
  uvec4 normals = texelFetch(triangle_surface, triangle * 2);
  uvec4 tints = texelFetch(triangle_surface, triangle * 2 + 1);
  vec3 weight = vec3(1.0 - hit.uv.x - hit.uv.y, hit.uv);
  s.normal = s.geometric;
  if (normals.x != 0xffffffffu)
    s.normal = normalize(weight.x * unpack_normal(normals.x) + weight.y * unpack_normal(normals.y) + weight.z * unpack_normal(normals.z));
  int material = int(normals.w & 0xffffu);
  s.part = normals.w >> 16;
  vec4 reflect_alpha = texelFetch(materials, material * 3);
  vec4 transmit_emission = texelFetch(materials, material * 3 + 1);
  vec4 mirror_wet = texelFetch(materials, material * 3 + 2);
  vec3 tint = weight.x * unpack_tint(tints.x) + weight.y * unpack_tint(tints.y) + weight.z * unpack_tint(tints.z);
  s.reflectance = reflect_alpha.rgb * tint;
  s.transmittance = transmit_emission.rgb * tint;
  s.alpha = reflect_alpha.w;
  s.index = dry_index;
  s.mirror = mirror_wet.rgb;
  bool front = dot(s.geometric, direction) < 0.0;
  s.emission = front ? transmit_emission.w : 0.0;
  if (!front) { s.geometric = -s.geometric; s.normal = -s.normal; }
  // An interpolated normal that looks away from the viewer is bent back into view.
  float facing = dot(s.normal, -direction);
  if (facing < 0.01) s.normal = normalize(s.normal + (0.01 - facing) * -direction);
  // Water on a metal adds little to what the metal sends back, and is left out.
  if (mirror_wet.w > 0.0 && s.mirror == vec3(0.0) && wet_here(s.position, mirror_wet.w)) make_wet(s);
  finish_coat(s, -direction);
  return s;
}
