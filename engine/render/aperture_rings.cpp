#include "engine/render/aperture_rings.h"

#include <algorithm>
#include <cmath>

#include "engine/core/errors.h"

namespace undercap {

bool has_aperture_rings(const Camera& camera) {
  return camera.spherical_waves == 0 && !camera.rim_diameter_mm;
}

double ring_share(double wide_f_number, double narrow_f_number) {
  UNDERCAP_CHECK(wide_f_number > 0 && wide_f_number < narrow_f_number, "a ring lies around a narrower pupil");
  const double ratio = wide_f_number / narrow_f_number;
  return 1 - ratio * ratio;
}

unsigned ring_samples(double share, unsigned samples) {
  const double wanted = samples * share / (2 - share);
  return std::max(2u, static_cast<unsigned>(std::ceil(wanted / 2 - 1e-9)) * 2);
}

SampledPicture with_ring(const SampledPicture& narrower, const SampledPicture& ring, double share) {
  UNDERCAP_CHECK(narrower.sums.size() == ring.sums.size(), "a ring has the pixels and groups of its middle");
  SampledPicture wider{narrower.view, narrower.sums, narrower.samples};
  const double brought = share * narrower.samples / ring.samples;
  for (std::size_t i = 0; i < wider.sums.size(); ++i)
    wider.sums[i] = static_cast<float>(brought * static_cast<double>(ring.sums[i]) +
                                       (1 - share) * static_cast<double>(narrower.sums[i]));
  return wider;
}

}  // namespace undercap
