// What a lamp would do from many places, by shadow rays alone: no light that comes by way of another surface.
//
//   LightProbe probe(shaders, tracer);
//   const std::vector<SeenPoint> seen = probe.see(tracer, {.width = 192, .height = 128}, 0, 1);
//   const std::vector<Received> light = probe.light(tracer, {.lamp = lamp}, places, seen_texels, 4);
//
// A context must be current. The tracer's world is the one that is asked about, lamps apart.
#pragma once

#include <glm/vec3.hpp>
#include <glm/vec4.hpp>
#include <span>
#include <vector>

#include "engine/render/tracer.h"
#include "engine/world/update.h"

namespace undercap {

// What one camera ray meets first, as the device reads it (shaders/probe.comp).
struct SeenPoint {
  glm::vec4 texel[7];

  bool met() const { return texel[5].w >= 0; }
  std::uint32_t part() const { return static_cast<std::uint32_t>(texel[5].w); }
  glm::vec3 place_m() const { return texel[0]; }
  glm::vec3 normal() const { return texel[2]; }    // towards the camera
  float distance_m() const { return texel[6].w; }  // along the lens axis
};

struct LampPlace {
  glm::dvec3 position_m{0};
  glm::dvec3 direction{0, 0, -1};  // unit
};

// The lamp that is carried from place to place.
struct ProbeLamp {
  Lamp lamp;  // shape and beam
  double roll_deg = 0;
  glm::dvec3 colour{1};  // linear RGB, unit luminance
  double tube_m = 0;     // of a black snoot before it
};

ProbeLamp probe_lamp(const CarriedLamp& carried, const Source& source);

// Of one place at one point, for a peak of 1 cd.
struct Received {
  float luminance;       // toward the camera, cd/m2
  float lux;             // what would make that luminance on the surface as it is
  float share;           // of the lamp's front that lights the point
  float penumbra_ratio;  // width of a shadow's edge there over the width of the lamp; below 0: no shadow
};

struct ProbeRay {
  glm::vec3 from_m{0}, direction{0, 0, 1};  // unit
  float length_m = 1;
};

class LightProbe {
 public:
  LightProbe(const ShaderLibrary& shaders, const Tracer& tracer);

  // A sample of every pixel: its first surface, by rows.
  std::vector<SeenPoint> see(Tracer& tracer, const View& view, unsigned sample, std::uint32_t seed) const;

  // Place by place, each with all points in their order. Points that lie close in that order should lie close
  // in the set. The samples of the lamp's front are the same for every place, so that places compare, and the
  // answer for one does not hang on which others are asked.
  std::vector<Received> light(Tracer& tracer, const ProbeLamp& lamp, std::span<const LampPlace> places,
                              const std::vector<SeenPoint>& points, unsigned samples) const;

  // How far each ray goes before it meets something; its length where it meets nothing.
  std::vector<float> reach(Tracer& tracer, const std::vector<ProbeRay>& rays) const;

  // How near anything comes to each place, looked for in 48 directions; the radius where nothing is within
  // it.
  std::vector<float> room(Tracer& tracer, const std::vector<glm::vec3>& places_m, float radius_m) const;

 private:
  std::vector<float> first_values(Tracer& tracer, const ComputeProgram& program,
                                  const std::vector<glm::vec4>& texels, std::size_t count) const;
  ComputeProgram surfaces_, light_, rays_, room_;
};

}  // namespace undercap
