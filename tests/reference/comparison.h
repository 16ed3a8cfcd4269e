// Two renderers' pictures of one world held against each other by statistics.
//
// Each side is rendered in independent batches. A quantity is a sum over a sum: the luminance of an 8 x 8
// pixel block over its samples, or that of a part over the samples that met it first (ratio estimator; its
// standard error is that of the residuals from batch to batch). The difference over its standard error is
// Student's t with Welch's degrees of freedom, and becomes the z of the same chance.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "engine/render/tracer.h"
#include "tests/reference/path_tracer.h"

namespace undercap::reference {

// The skewness of 32 normal numbers has a standard error of .41, so that few are left out by chance.
inline constexpr double most_skewness = 1.5;

struct Plan {
  int width = 64, height = 48;
  unsigned batches = 32;
  unsigned samples = 10;            // a pixel and batch, ours
  unsigned reference_samples = 20;  // the reference's
};

class Measurement {
 public:
  explicit Measurement(const World& world) : world_(world) {}
  void add(const Film& film);

  struct Quantity {
    std::vector<double> above, below;  // a batch each
    double value = 0, se = 0;
    double skewness = 0;  // of the batches' residuals
  };
  // By name; values and standard errors from the batches added so far.
  std::map<std::string, Quantity> quantities() const;

 private:
  void add_block(const Film& film, int left, int top);
  void put(const std::string& name, double above, double below);
  const World& world_;
  std::map<std::string, Quantity> quantity_;
};

Measurement measure_engine(const World& world, const ShaderLibrary& shaders, const Plan& plan);
Measurement measure_reference(const World& world, const Plan& plan, std::uint64_t seed);

struct Comparison {
  std::string name;
  double ours = 0, theirs = 0, se = 0;  // of the difference
  double z = 0, chance = 1;             // two-sided
  bool skewed = false;                  // not to be judged
};
std::vector<Comparison> compare(const Measurement& ours, const Measurement& theirs);

// What all comparisons of a scene say together.
struct Verdict {
  std::size_t count = 0, left_out = 0;
  Comparison worst;
  double threshold = 0;                   // for the worst chance: 1 % over all comparisons (Sidak)
  double chi_square = 0, chi_chance = 1;  // of the blocks' z
  std::size_t blocks = 0;
  double mean_z = 0, mean_chance = 1;  // of the blocks
  double whole_se = 0;                 // relative, of the difference of the whole pictures
};
Verdict judged(const std::vector<Comparison>& comparisons);

}  // namespace undercap::reference
