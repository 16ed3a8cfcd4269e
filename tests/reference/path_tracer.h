// An independent path tracer to hold the engine's against: plain random numbers, no multiple importance
// sampling, its own camera, surfaces and sources; it shares nothing with the engine but World.
//
// How it samples: sun and lamps by shadow rays alone, body and coat together. Sky and glow toward the body by
// shadow rays alone, toward the coat by the coat's own rays alone. A camera ray meets everything. At the
// first hit a shadow ray goes to every light group, at deeper hits to one of them, each as likely as the
// other. A partly wet part is wet or dry by chance at each hit; the engine decides by the place, and over
// many places that is the same.
#pragma once

#include <cstdint>
#include <glm/vec3.hpp>
#include <map>
#include <optional>
#include <vector>

#include "engine/world/world.h"
#include "tests/reference/embree_scene.h"
#include "tests/reference/light.h"
#include "tests/reference/surface.h"

namespace undercap::reference {

struct Settings {
  int width = 0, height = 0;
  unsigned samples = 1;  // a pixel
  std::uint64_t seed = 1;
  unsigned threads = 1;
  bool parts = true;  // sum by first hit too
};

// What the paths of a pixel or a part brought, a sum a group at unit power and white.
using Light = std::vector<glm::dvec3>;

struct Film {
  int width = 0, height = 0;
  unsigned samples = 0;
  std::vector<Light> group = {};       // [group][pixel], row 0 on top: sums
  std::vector<double> part_hits = {};  // [part]: first hits
  std::vector<Light> part = {};        // [part][group]: sums over the paths that met it first
  std::uint64_t rays = 0, paths = 0;
};

class PathTracer {
 public:
  explicit PathTracer(const World& world, bool watertight = true);
  Film render(const Settings& settings) const;

 private:
  struct Path;
  Ray camera_ray(double across, double down, Random& random) const;
  Surface surface_at(const RayHit& hit, const glm::dvec3& direction, Random& random) const;
  void meet_sources(Path& path, const Ray& ray, double limit) const;
  void ask_sources(Path& path, const Surface& s, const glm::dvec3& view, bool all) const;
  void trace(Path& path, Ray ray) const;
  const World& world_;
  EmbreeScene scene_;
  Lights lights_;
  std::map<double, CoatAlbedo> coats_;                 // by alpha
  std::vector<double> alpha_;                          // [material], 0 = no coat
  std::vector<const CoatAlbedo*> coat_;                // [material]
  std::optional<CoatAlbedo> water_;                    // where anything is wet
  int sky_ = -1, sun_ = -1, glow_ = -1, canopy_ = -1;  // groups
  std::size_t first_lamp_ = 0;
};

}  // namespace undercap::reference
