// One picture that is sharp throughout, from a stack of slices focused at different distances.
//
// Slices are linear pictures of one size and one exposure. The sharpest slice of each place wins, and the
// slices are joined band by band, so that no seam shows:
//   P. J. Burt & E. H. Adelson, A multiresolution spline with application to image mosaics, ACM Trans.
//   Graphics 2:217-236, 1983, from memory.
// What a merge cannot mend: light of a blurred foreground edge lies over the sharp thing behind it (a halo),
// and a rail's steps show near and far against each other from different places (parallax). A stray bright
// sample looks like detail: spread strays before merging.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "engine/image/picture.h"

namespace undercap {

struct StackSlice {
  Picture picture;
  // How large this slice shows a thing, as a factor on the reference. The entrance pupil fixed and the focus
  // ring turned, it is the ratio of the two image distances v = m a of the pupil's thin-lens camera.
  double scale = 1;
  // Row by row, at the slice's own size: 1 where the slice may be taken, 0 where it is known to be worse than
  // another (under-sampled, say). Empty: everywhere. Where no slice may be taken all are.
  std::vector<float> trust{};
};

struct MergedStack {
  Picture picture;
  // Row by row from the top: the slice with the largest weight, the first of equals.
  std::vector<std::uint16_t> slice_of;
};

inline constexpr std::size_t most_slices = 65'536;

// A slice brought to the reference's size about the picture's centre, by cubic convolution with a = -1/2
// (Catmull & Rom; R. G. Keys, IEEE Trans. ASSP 29:1153-1160, 1981, from memory). Beyond the slice's edge its
// outermost pixels go on. Refuses a scale that is not above 0. May overshoot below 0 beside a bright edge.
Picture at_reference_scale(const Picture& picture, double scale);

// Refuses an empty stack, one of more than most_slices, pictures of different sizes or with a channel that is
// not a finite number, and a scale that is not above 0. Negative results become 0. The order of the slices
// does not matter but to the numbers in 'slice_of'.
MergedStack merge_focus_stack(std::span<const StackSlice> slices);

}  // namespace undercap
