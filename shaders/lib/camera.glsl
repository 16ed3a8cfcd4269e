// The ray of a point of the film (0..1, from the upper left) through a point of the lens (0..1 each, an even measure of the
// iris, or of what lies around a hole of its own shape): a thin lens at the entrance pupil. It begins at t_min, past the barrel's front. A rim before the pupil cuts what
// is off the axis; what it leaves of the iris is sampled as evenly, since the film holds luminance.

vec2 point_of_iris(vec2 lens) {
  int count = frame.counts.y;
  float wedge = lens.x * float(count);
  int k = min(int(wedge), count - 1);
  vec2 from = texelFetch(iris, k).xy, to = texelFetch(iris, k + 1 == count ? 0 : k + 1).xy;
  return sqrt(mix(frame.totals.w, 1.0, lens.y)) * mix(from, to, wedge - float(k));
}

// In place of a point that the rim stops, others by the hash of its own place until one passes. They know nothing of it, so
// that what the rim leaves is covered evenly; points of the same set, moved on, would crowd where they come from the part
// that is cut. Where all but none passes, the last one has to do.
vec2 point_within_rim(vec2 lens, vec2 slope) {
  vec2 stop = point_of_iris(lens);
  float ahead = frame.lens.x, radius = frame.lens.y;
  if (radius <= 0.0) return stop;
  uint key = combine(floatBitsToUint(lens.x), floatBitsToUint(lens.y));
  for (int i = 0; i < 32; ++i) {
    vec2 at_rim = stop * (1.0 - ahead / frame.pupil.w) + ahead * slope;
    if (dot(at_rim, at_rim) <= radius * radius) break;
    key = combine(key, uint(i));
    stop = point_of_iris(vec2(to_unit(key), to_unit(hash_u32(key ^ 0x68bc21ebu))));
  }
  return stop;
}

void camera_ray(vec2 in_film, vec2 lens, out vec3 origin, out vec3 direction, out float t_min) {
  vec2 in_frame = frame.window.xy + in_film * frame.window.zw;
  vec2 slope = vec2(2.0 * in_frame.x - 1.0, 1.0 - 2.0 * in_frame.y) * vec2(frame.right.w, frame.up.w);
  vec2 stop = point_within_rim(lens, slope);
  origin = frame.pupil.xyz + stop.x * frame.right.xyz + stop.y * frame.up.xyz;
  vec3 target = frame.pupil.xyz + frame.pupil.w * (frame.forward.xyz + slope.x * frame.right.xyz + slope.y * frame.up.xyz);
  if (frame.lens.z != 0.0) {
    vec2 rho = stop / frame.lens.w, shift = -frame.lens.z * dot(rho, rho) * rho;
    target += shift.x * frame.right.xyz + shift.y * frame.up.xyz;
  }
  direction = normalize(target - origin);
  t_min = frame.forward.w / dot(direction, frame.forward.xyz);
}

// How far apart relief is read, m: about a pixel at this distance, so that what is finer does not glitter.
float relief_step(float distance) {
  float pixel = 2.0 * distance * frame.right.w * frame.window.z / float(frame.size.x);
  return clamp(0.75 * pixel, 1e-5, 5e-4);
}
