// The ray of a point of the film (0..1, from the upper left) through a point of the lens (0..1 each, an even measure of the
// iris): a thin lens at the entrance pupil. It begins at t_min, past the barrel's front.

void camera_ray(vec2 in_film, vec2 lens, out vec3 origin, out vec3 direction, out float t_min) {
  vec2 in_frame = frame.window.xy + in_film * frame.window.zw;
  vec2 slope = vec2(2.0 * in_frame.x - 1.0, 1.0 - 2.0 * in_frame.y) * vec2(frame.right.w, frame.up.w);
  int count = frame.counts.y;
  float wedge = lens.x * float(count);
  int k = min(int(wedge), count - 1);
  vec2 from = texelFetch(iris, k).xy, to = texelFetch(iris, k + 1 == count ? 0 : k + 1).xy;
  vec2 stop = sqrt(lens.y) * mix(from, to, wedge - float(k));
  origin = frame.pupil.xyz + stop.x * frame.right.xyz + stop.y * frame.up.xyz;
  vec3 target = frame.pupil.xyz + frame.pupil.w * (frame.forward.xyz + slope.x * frame.right.xyz + slope.y * frame.up.xyz);
  direction = normalize(target - origin);
  t_min = frame.forward.w / dot(direction, frame.forward.xyz);
}

// How far apart relief is read, m: about a pixel at this distance, so that what is finer does not glitter.
float relief_step(float distance) {
  float pixel = 2.0 * distance * frame.right.w * frame.window.z / float(frame.size.x);
  return clamp(0.75 * pixel, 1e-5, 5e-4);
}
