// Luminous exposure of the sensor from a film: light groups mixed, then one weight a pixel for all that the lens takes from
// its image toward the corners (the chief ray's cos^4, a rim that cuts the pupil), given as a table by numbers of the lens.

layout(std430, binding = 0) readonly buffer FilmBlock { float film[]; };
layout(std430, binding = 1) readonly buffer WeightBlock { FilmWeight weight[]; };
layout(std430, binding = 4) readonly buffer FallOffBlock { float fall_off[]; };  // even steps of height^2, to the corner

uniform int film_width, film_rows, film_height, first_row, groups;
uniform float exposure_per_luminance;  // lx s on the axis for 1 cd/m2
uniform float frame_across, frame_down; // width and height over the diagonal
uniform vec4 film_window;               // part of the frame that the film covers, 0..1: left, top, width, height

float share_of_axis(ivec2 at) {
  vec2 in_film = (vec2(at.x, at.y + first_row) + 0.5) / vec2(film_width, film_height);
  vec2 from_axis = (2.0 * (film_window.xy + in_film * film_window.zw) - 1.0) * vec2(frame_across, frame_down);
  float place = min(dot(from_axis, from_axis), 1.0) * float(fall_off.length() - 1);
  int i = min(int(place), fall_off.length() - 2);
  return mix(fall_off[i], fall_off[i + 1], place - float(i));
}

vec3 exposure_of_film(ivec2 at) {
  uint pixels = uint(film_width * film_rows);
  uint pixel = uint(at.y * film_width + at.x);
  vec3 luminance = vec3(0.0);
  for (int g = 0; g < groups; ++g) {
    uint a = (uint(g) * pixels + pixel) * 3u;
    uint b = (uint(groups + g) * pixels + pixel) * 3u;
    luminance += mean_of_halves(weight[g], at.y, vec3(film[a], film[a + 1u], film[a + 2u]),
                                vec3(film[b], film[b + 1u], film[b + 2u]));
  }
  return luminance * (exposure_per_luminance * share_of_axis(at));
}
