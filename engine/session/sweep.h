// One scene under several values: a picture and a headline of each.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/session/session.h"

namespace undercap {

struct SweepEntry {
  std::string name;
  Scene scene;
  int width = 480, height = 320;  // of its picture
  bool same_set = false;          // as the entry before: only camera, sensor and exposure differ
};

struct SweepRequest {
  Quality quality = Quality::good;
  std::optional<double> noise_pct, seconds;  // of each picture
  bool filtered = false;
};

struct SweepResult {
  std::vector<Headline> headlines;  // by entry
  std::vector<Picture8> pictures;
  unsigned samples = 0, most_samples = 0;          // a pixel, of any picture
  double least_noise_pct = 0, most_noise_pct = 0;  // reached before any filter
  double seconds = 0;                              // of sampling the pictures
  std::vector<std::string> notes;                  // each opens with the entry's name
  std::vector<std::string> details;                // by entry: triangles and times
};

// Progress counts all pictures as one job. Nothing when stopped: a sheet that lacks pictures compares
// nothing.
std::optional<SweepResult> run_sweep(const ShaderLibrary& shaders, const std::vector<SweepEntry>& entries,
                                     const SweepRequest& request, const Progress& progress);

// What the entries differ in: the keys of a change, by the table or the thing that they belong to, each once
// and in order: "sun.on" gives "sun", "prop.tuft.wet" "tuft", "camera.f_number" "camera.f_number".
std::vector<std::string> changed_things(const std::vector<Variant>& variants,
                                        const std::vector<std::string>& names);

}  // namespace undercap
