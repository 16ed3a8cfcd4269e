// What a light group's sums in the two halves of a film count for.

struct FilmWeight {
  vec4 colour;  // of a unit film: power and colour of the group
  ivec4 count;  // whole passes; rows that the pass under way has reached
};

// Samples in each half at a row: even passes go to half A, odd ones to half B.
ivec2 samples_at(ivec4 count, int row) {
  bool more = row < count.y, odd = (count.x & 1) == 1;
  return ivec2((count.x + 1) / 2 + (more && !odd ? 1 : 0), count.x / 2 + (more && odd ? 1 : 0));
}

// A half without samples leaves the word to the other.
vec3 mean_of_halves(FilmWeight w, int row, vec3 a, vec3 b) {
  ivec2 n = samples_at(w.count, row);
  vec3 mean = n.x > 0 && n.y > 0 ? 0.5 * (a / float(n.x) + b / float(n.y)) : (a + b) / float(max(n.x + n.y, 1));
  return w.colour.rgb * mean;
}
