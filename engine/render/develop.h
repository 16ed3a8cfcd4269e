// From a film to what a person sees: mixing the light groups, exposing, diffraction, the sensor's noise,
// developing to eight bits on the device.
#pragma once

#include <optional>
#include <vector>

#include "engine/core/quantities.h"
#include "engine/gl/objects.h"
#include "engine/gl/shader_library.h"
#include "engine/image/picture.h"
#include "engine/optics/sensor.h"
#include "engine/render/tracer.h"
#include "engine/world/mix.h"
#include "engine/world/world.h"

namespace undercap {

// The numbers of one exposure.
struct Development {
  Duration shutter;
  double iso = 100;
  glm::dvec3 gains{1};  // white balance: makes the light neutral, keeps its luminance
  Exposure::Tone tone = Exposure::Tone::srgb;
  // Of the camera; its noise is that of an output pixel, which gathers as many of the sensor's as fall to it,
  // so that pictures of one size compare, whatever the format. Each pixel has all three colours: a mosaic of
  // filters, whose red and blue are noisier, is not modelled. None: no noise.
  std::optional<SensorModel> sensor{};
  // One pattern for the whole picture, at the working f-number: exact in focus; what is out of focus has the
  // lens's disc, spread once more, which differs from the true sum (optics/diffraction.h) at its edge alone.
  bool diffraction = false;
};

// Exposure on the sensor, on the axis, for a subject of luminance 1 cd/m2: H = (pi/4) T t / N_w^2 (ISO 12232
// form with the chief ray's cos^4 alone, see optics/lens.h).
LuminousExposure exposure_per_luminance(const World& world, Duration shutter);

// What develop.comp makes of an exposure on the sensor (linear RGB, lx s) without noise, before the code: the
// display's linear light, 0..1, its white at 1.
glm::dvec3 displayed_linear(const glm::dvec3& exposure, const Development& how);

// Gains that turn light of this colour (linear RGB) to neutral at the same luminance.
glm::dvec3 white_balance_gains(const glm::dvec3& light);

// The kernel's record of a light group of a film: what a unit film is multiplied by, and its samples
// (shaders/lib/halves.glsl).
struct FilmWeight {
  glm::vec4 colour{1};
  glm::ivec4 count{0};
};
std::vector<FilmWeight> film_weights(const Mix& mix, const FilmCounts& counts);

// A film whose groups all have so many samples, both halves together.
FilmCounts even_counts(std::size_t groups, unsigned samples);

// What is drawn over a developed picture, after its exposure.
struct Overlay {
  enum class Kind { none, clipping, stops, sharp_zone, focus_plane } kind = Kind::none;
  const TexelBuffer* features = nullptr;  // of the filter, for the sharp zone and the plane in focus
  double circle_px = 1;                   // the largest disc that counts as sharp, pixels of this picture
  static bool needs_features(Kind kind) { return kind == Kind::sharp_zone || kind == Kind::focus_plane; }
};
// Darker than this below mid-grey counts as drowned; the bands of the stops begin and end there.
inline constexpr int darkest_stop = -5, brightest_stop = 3;
// Of a band of one stop, 0 = the darkest; evenly lighter, from blue to yellow, so that any eye tells them.
glm::vec3 stop_colour(int band);

class Developer {
 public:
  explicit Developer(const ShaderLibrary& shaders);
  // Rows above and below a band that a picture with diffraction depends on.
  static constexpr int margin_rows = 32;
  // One band: 'samples' is the count of both halves together. Rows are those of the view's band.
  Picture8 develop(const World& world, const View& view, const Film& film, unsigned samples,
                   const Development& how) const;
  // A film of one group that is already the mix at the world's powers: two halves, each a mean in cd/m2.
  Picture8 develop_mixed(const World& world, const View& view, const Film& film, const Development& how,
                         const Overlay& overlay = {}) const;
  // What develop reads, left on the device: R, G, B and 255 a pixel, by rows.
  Buffer codes(const World& world, const View& view, const Film& film, const std::vector<FilmWeight>& weights,
               const Development& how, const Overlay& overlay = {}) const;

 private:
  void set_film(const ComputeProgram& program, const World& world, const View& view, int groups,
                const Development& how) const;
  // The picture's exposures, spread; none where the pattern stays within its pixel.
  std::optional<Buffer> spread(const World& world, const View& view, int groups,
                               const Development& how) const;
  ComputeProgram expose_, diffract_, develop_;
  // The pattern of the last picture: working it out costs as much as spreading a picture with it.
  struct Pattern {
    double working_f_number = 0;
    Length pixel;
    int radius = 0;
    Buffer weights;
  };
  const Pattern& pattern_of(const World& world, const View& view) const;
  mutable Pattern pattern_;
};

// Mean luminance a group, RGB a pixel, of both halves; and a mix of them.
std::vector<std::vector<float>> group_means(const std::vector<float>& sums, std::size_t pixels, int groups,
                                            unsigned samples);
std::vector<float> mixed(const Mix& mix, const std::vector<std::vector<float>>& means);

}  // namespace undercap
