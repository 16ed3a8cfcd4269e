// Shadow rays: from a surface to a sample of a light.

// Leaves the surface on the side of 'direction', past the rounding of the hit.
vec3 leave(Surface s, vec3 direction) {
  return s.position + (dot(direction, s.geometric) < 0.0 ? -s.rounding : s.rounding) * s.geometric;
}

// Whether something stands before a light sample; 'hit' is then one thing that does, not always the nearest.
bool meets(Surface s, LightSample light, out Hit hit) {
  vec3 ray = light.direction, origin = leave(s, ray);
  float limit = light.distance;
  if (limit < far_away) {
    // Aimed again from where the ray really starts: a parallel ray would graze a small lamp's own limb.
    vec3 to = s.position + limit * ray - origin;
    limit = length(to);
    ray = to / limit;
    limit *= 0.99999;
  }
  hit = Hit(limit, 0u, vec2(0.0));
  return trace(origin, ray, 0.0, true, hit);
}

bool is_hidden(Surface s, LightSample light) {
  Hit hit;
  return meets(s, light, hit);
}
