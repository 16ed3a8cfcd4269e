// One scene under several values: a picture and a headline of each, with the rays that they can share.
//
// Light is linear, and the films are kept by light group: pictures that differ in power, colour or exposure
// are mixed from the same samples. Pictures that differ in the f-number share the middle of the pupil: the
// widest one's is that of the narrowest and the rings around it (aperture_rings.h). All else is sampled anew.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "engine/scene/document.h"
#include "engine/session/edited_scene.h"
#include "engine/session/session.h"

namespace undercap {

struct SweepEntry {
  std::string name;
  Scene scene;
  std::vector<Edit> edits{};      // what was set, but for a camera that holds something
  Document document;              // what 'scene' comes from; the camera of the scene may be another
  int width = 480, height = 320;  // of its picture
};

// A part of the frame that is shown at full size beside the picture: the pixels of a picture so wide.
struct DetailBox {
  std::optional<std::array<double, 2>>
      middle{};                   // 0..1 of the frame, from the upper left; none: what is in focus
  int width = 240, height = 160;  // pixels
  int picture_width = 2400;       // of the frame, pixels
  glm::vec4 window(const CameraRig& rig) const;  // left, top, width, height, 0..1; within the frame
};

struct SweepRequest {
  Quality quality = Quality::good;
  std::optional<double> noise_pct{}, seconds{};  // of each picture; then no rays are shared
  bool filtered = false;
  bool separation = false;  // measured of every picture, into its headline
  std::optional<DetailBox> detail{};
};

struct SweepResult {
  std::vector<Headline> headlines;  // by entry
  std::vector<CameraRig> rigs;
  std::vector<Picture8> pictures, details;         // details only when asked for
  std::vector<glm::vec4> windows;                  // of the details
  unsigned samples = 0, most_samples = 0;          // a pixel, of any picture
  double least_noise_pct = 0, most_noise_pct = 0;  // reached before any filter
  double seconds = 0;                              // of sampling and developing the pictures
  double camera_rays = 0, camera_rays_alone = 0;   // that were sampled, and that pictures alone would take
  std::vector<std::string> notes;                  // each opens with the entry's name
  std::vector<std::string> log;                    // triangles, times
};

// Progress counts all pictures as one job. Nothing when stopped: a sheet that lacks pictures compares
// nothing.
std::optional<SweepResult> run_sweep(const ShaderLibrary& shaders, const std::vector<SweepEntry>& entries,
                                     const SweepRequest& request, const Progress& progress);

// "31 of 59 million camera rays": what sharing saved; empty where it saved nothing.
std::string saved_words(const SweepResult& result);

}  // namespace undercap
