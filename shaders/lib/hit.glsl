// From the triangle that a ray met to the surface there. A triangle has two texels of triangle_surface: three packed normals
// and material | part << 16; three packed tints. A material has three: reflectance and alpha of the coat; transmittance and
// emission; a metal's reflectance and the share of wet area.

// Whether a place of a partly wet part is under water. Where the pattern was read, by its patches; else by a chance of the
// place, so that the share of area is the given one.
bool is_wet(vec3 place, float share, Look look) {
  if (share >= 1.0) return true;
  if ((look.transmit & 0x80000000u) != 0u) return (look.transmit & 0x40000000u) != 0u;
  uvec3 bits = floatBitsToUint(place);
  return float(combine(combine(combine(0x77e7u, bits.x), bits.y), bits.z) >> 8) * (1.0 / 16777216.0) < share;
}

Surface surface_at(Hit hit, vec3 direction, Look look) {
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
  s.normal = look.normal == 0xffffffffu ? interpolated_normal(normals, weight, s.geometric) : unpack_normal(look.normal);
  int material = int(normals.w & 0xffffu);
  s.part = normals.w >> 16;
  vec4 reflect_alpha = texelFetch(materials, material * 3);
  vec4 transmit_emission = texelFetch(materials, material * 3 + 1);
  vec4 mirror_wet = texelFetch(materials, material * 3 + 2);
  vec3 tint = weight.x * unpack_tint(tints.x) + weight.y * unpack_tint(tints.y) + weight.z * unpack_tint(tints.z);
  s.reflectance = reflect_alpha.rgb * tint * unpack_factor(look.reflect);
  s.transmittance = transmit_emission.rgb * tint * unpack_factor(look.transmit);
  s.alpha = reflect_alpha.w;
  // A glossy patch has roughness .2, as a viscid cap or a damp leaf (from memory).
  if (s.alpha > 0.04) {
    float roughness = mix(sqrt(s.alpha), 0.2, float(look.reflect >> 30) * (1.0 / 3.0));
    s.alpha = roughness * roughness;
  }
  s.index = dry_index;
  s.mirror = mirror_wet.rgb;
  bool front = dot(s.geometric, direction) < 0.0;
  s.emission = front ? transmit_emission.w : 0.0;
  s.polariser = vec3(0.0);
  if (!front) { s.geometric = -s.geometric; s.normal = -s.normal; }
  // An interpolated normal that looks away from the viewer is bent back into view.
  float facing = dot(s.normal, -direction);
  if (facing < 0.01) s.normal = normalize(s.normal + (0.01 - facing) * -direction);
  // Water on a metal adds little to what the metal sends back, and is left out.
  if (mirror_wet.w > 0.0 && s.mirror == vec3(0.0) && is_wet(s.position, mirror_wet.w, look)) make_wet(s);
  finish_coat(s, -direction);
  return s;
}
