// The display filter: a picture for the eye from few samples. Readings, EXR files and stop rules never see
// it.
//
// Five a-trous levels over the mixed film. Half A is averaged with weights that half B gives, and the
// reverse, so that no half chooses its own noise; their mean is the picture. A weight falls with the distance
// in colour, in units of the variance that A - B shows around the pixel, and with the distance of what the
// pixels see: shading normal, albedo and inverse distance, as means over the lens samples that the picture
// takes, in units of their own variances. So a blur disc has no edge of something that is sharp only for the
// middle of the lens. As the variance goes to 0 so do the weights, and a converged picture stays what it is.
//
// The step of a level is bounded by a quarter of the smallest blur disc that the pixel and its neighbours
// see, since a disc hides all detail that is finer. Where every sample of a pixel sees the same surface, in
// focus or not, features are sure: they carry the edges and the bound does not hold. Where they are not sure,
// as where a blurred leaf covers half of a sharp cap, it does.
//
// Sources: Dammertz et al. 2010, 'Edge-Avoiding A-Trous Wavelet Transform for fast Global Illumination
// Filtering', HPG; Rousselle et al. 2012 and 2013 (shaders/filter.comp). From memory.
#pragma once

#include <array>

#include "engine/gl/objects.h"
#include "engine/gl/shader_library.h"
#include "engine/render/develop.h"
#include "engine/render/tracer.h"

namespace undercap {

class DisplayFilter {
 public:
  // Rows above and below that the result depends on: the strides 1 to 16 with a patch each, and 2 for the
  // variances. Whole tiles of the stop rule.
  static constexpr int margin_rows = 48;
  static constexpr std::size_t bytes_a_pixel = 48;  // of its largest buffer, the features

  // 'tracer' says how the kernel was compiled; any tracer of the same world serves later.
  DisplayFilter(const ShaderLibrary& shaders, const Tracer& tracer);

  // What the view's band shows, from the first of the picture's samples. Stays good while the view does.
  TexelBuffer features(Tracer& tracer, const World& world, const View& view, unsigned samples) const;
  // The same, some rows at a time, into a buffer of features_of_a_pixel texels a pixel.
  static constexpr std::size_t features_of_a_pixel = 3;
  void find_features(Tracer& tracer, const World& world, const View& view, unsigned samples, int first_row,
                     int rows, const TexelBuffer& into) const;

  // The filtered mix as a film of one group, for Developer::develop_mixed. 'samples': of both halves
  // together.
  Film run(const World& world, const View& view, const Film& film, const TexelBuffer& features,
           unsigned samples, const Development& how) const;

 private:
  friend class FilterRun;
  ComputeProgram features_, mix_, prepare_, level_, out_;
};

// One run of the filter, in slices of rows for a window that stays responsive. The film may go on growing
// once the first step is done. Everything given must outlive it.
class FilterRun {
 public:
  FilterRun(const DisplayFilter& filter, const World& world, const View& view, const Film& film,
            const FilmCounts& counts, const TexelBuffer& features, const Development& how);
  static constexpr int steps = 8;  // mix, prepare, five levels, out
  bool done() const { return step_ == steps; }
  // Steps are of unlike length; the mix, step 0, is short.
  int step() const { return step_; }
  void advance(int rows);
  const Film& result() const& { return result_; }  // once done
  Film result() && { return std::move(result_); }

 private:
  struct Halves {
    explicit Halves(std::size_t pixels);
    TexelBuffer a, b;
  };
  static constexpr int levels = 5;
  void dispatch_rows(const ComputeProgram& program, int from, int rows);
  const DisplayFilter& filter_;
  View view_;
  const Film& film_;
  const TexelBuffer& features_;
  std::vector<FilmWeight> weights_;
  Buffer weight_buffer_;
  glm::vec3 luminance_per_value_;
  std::array<Halves, 2> halves_;
  TexelBuffer prepared_;
  Film result_;
  int step_ = 0, row_ = 0;
};

}  // namespace undercap
