// What a sensor makes of a luminous exposure: electrons, their shot noise, dark current, the spread of the pixels'
// sensitivity and the noise of reading out, until the pixel is full. Every number of an output pixel is drawn from its
// place, its channel and a seed alone, so that the same picture has the same noise on any device.
//
// Poisson by counting off (Knuth, The Art of Computer Programming 2, 3.4.1, from memory) below a mean of 50, a normal
// number above, where the skew is under .15. Foi et al. 2008, IEEE TIP 17(10): Poisson and Gaussian, then the clip.

uniform float electrons_per_exposure;  // of an output pixel, e-/(lx s); 0 = no noise
uniform float dark_electrons;          // mean, of an output pixel
uniform float read_deviation;          // e-
uniform float pixel_spread;            // standard deviation of the sensitivity, a share
uniform uint noise_seed;

// Two independent normal numbers (Box and Muller 1958).
vec2 normal_pair(uint key) {
  float u = 1.0 - to_unit(hash_u32(key)), angle = 6.28318530718 * to_unit(hash_u32(key ^ 0x68bc21ebu));
  return sqrt(-2.0 * log(u)) * vec2(cos(angle), sin(angle));
}

float poisson(float mean, uint key) {
  if (mean > 50.0) return max(floor(mean + sqrt(mean) * normal_pair(key).x + 0.5), 0.0);
  float u = to_unit(hash_u32(key)), chance = exp(-mean), sum = chance, count = 0.0;
  while (u > sum && count < 120.0) {
    count += 1.0;
    chance *= mean / count;
    sum += chance;
  }
  return count;
}

// The exposure that the pixel reports, lx s; below 0 where the reading noise takes it there.
float sensed(float exposure, float full_exposure, uint pixel, uint channel) {
  if (electrons_per_exposure <= 0.0) return min(exposure, full_exposure);
  uint own = combine(combine(0x51ed270bu, pixel), channel);           // the pixel's own nature stays
  uint shot = combine(combine(noise_seed, pixel), channel + 16u);     // each exposure is another
  float mean = max(exposure * electrons_per_exposure * (1.0 + pixel_spread * normal_pair(own).x), 0.0) + dark_electrons;
  float read = poisson(mean, shot) + read_deviation * normal_pair(combine(shot, 1u)).y - dark_electrons;
  return min(read / electrons_per_exposure, full_exposure);
}
