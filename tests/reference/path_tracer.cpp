#include "tests/reference/path_tracer.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <glm/geometric.hpp>
#include <thread>

namespace undercap::reference {
namespace {

// The same roulette as the engine's, so that paths are as long: from the fourth bounce, at most .95.
constexpr int first_roulette = 3;
constexpr double best_survival = 0.95;

// A start off the surface on the side of a direction, past the rounding to single precision.
glm::dvec3 off_surface(const Surface& s, const glm::dvec3& direction) {
  const double size = std::max({std::abs(s.position.x), std::abs(s.position.y), std::abs(s.position.z)});
  const double step = 3e-8 + 2e-6 * size;
  return s.position + (glm::dot(direction, s.face) < 0 ? -step : step) * s.face;
}

double largest(const glm::dvec3& v) { return std::max({v.x, v.y, v.z}); }

}  // namespace

struct PathTracer::Path {
  Random random;
  Light light;  // a group each
  std::uint32_t part = no_part;
  std::uint64_t rays = 0;
  glm::dvec3 throughput{1};
  bool meets_wide = true;  // sky and glow count when this ray meets them
};

PathTracer::PathTracer(const World& world, bool watertight)
    : world_(world),
      scene_(world, watertight),
      lights_(world),
      first_lamp_(world.groups.size() - world.lamps.size()) {
  for (const Material& m : world.materials) {
    // Roughness 1 is no coat; alpha is the square of the roughness, with the floor that World's reader sets.
    const double roughness = static_cast<double>(m.roughness);
    const bool metal = m.mirror != glm::vec3(0);
    const double alpha = roughness >= 1 && !metal ? 0 : std::max(roughness * roughness, 1e-3);
    alpha_.push_back(alpha);
    if (alpha > 0 && !metal) coats_.try_emplace(alpha, alpha);
  }
  for (const double alpha : alpha_) coat_.push_back(coats_.contains(alpha) ? &coats_.at(alpha) : nullptr);
  for (const Material& m : world.materials)
    if (m.wet > 0 && !water_) water_.emplace(roughness_of_water * roughness_of_water, index_of_water);
  for (std::size_t g = 0; g < world.groups.size(); ++g) {
    const auto number = static_cast<int>(g);
    if (world.groups[g].kind == LightGroup::Kind::sky) sky_ = number;
    if (world.groups[g].kind == LightGroup::Kind::sun) sun_ = number;
    if (world.groups[g].kind == LightGroup::Kind::canopy) canopy_ = number;
    if (world.groups[g].kind == LightGroup::Kind::glow) glow_ = number;
  }
}

// A thin lens at the entrance pupil: every ray of a place in the frame, 0..1 from the upper left, goes
// through the same point of the plane in focus.
Ray PathTracer::camera_ray(double across, double down, Random& random) const {
  const CameraRig& rig = world_.camera;
  const double focus = rig.pupil_distance.value();
  const double right = (across - 0.5) * (rig.width / rig.image_distance),
               up = (0.5 - down) * (rig.height / rig.image_distance);
  const glm::dvec3 target = rig.pupil_m + focus * (rig.forward + right * rig.right + up * rig.up);
  // The iris is a fan of equal triangles about its middle.
  const std::size_t count = rig.iris_m.size();
  const std::size_t k = std::min(static_cast<std::size_t>(random() * static_cast<double>(count)), count - 1);
  double u = random(), v = random();
  if (u + v > 1) {
    u = 1 - u;
    v = 1 - v;
  }
  const glm::dvec2 stop = u * rig.iris_m[k] + v * rig.iris_m[(k + 1) % count];
  Ray ray;
  ray.origin = rig.pupil_m + stop.x * rig.right + stop.y * rig.up;
  ray.direction = glm::normalize(target - ray.origin);
  ray.from = rig.clear_ahead.value() / glm::dot(ray.direction, rig.forward);
  return ray;
}

Surface PathTracer::surface_at(const RayHit& hit, const glm::dvec3& direction, Random& random) const {
  const WorldTriangle& t = world_.triangle[hit.triangle];
  const glm::dvec3 a(world_.position[t.a]), b(world_.position[t.b]), c(world_.position[t.c]);
  const double w = 1 - hit.u - hit.v;
  Surface s;
  s.position = w * a + hit.u * b + hit.v * c;
  s.face = glm::normalize(glm::cross(b - a, c - a));
  const glm::dvec3 na(world_.normal[t.a]), nb(world_.normal[t.b]), nc(world_.normal[t.c]);
  const bool flat = na == glm::dvec3(0) || nb == glm::dvec3(0) || nc == glm::dvec3(0);
  s.normal = flat ? s.face : glm::normalize(w * na + hit.u * nb + hit.v * nc);
  const glm::dvec3 tint = w * glm::dvec3(world_.tint[t.a]) + hit.u * glm::dvec3(world_.tint[t.b]) +
                          hit.v * glm::dvec3(world_.tint[t.c]);
  const std::uint32_t number = world_.parts[t.part].material;
  const Material& material = world_.materials[number];
  s.reflectance = glm::dvec3(material.reflectance) * tint;
  s.transmittance = glm::dvec3(material.transmittance) * tint;
  const bool front = glm::dot(s.face, direction) < 0;
  s.emission = front ? static_cast<double>(material.emission_cd_m2) : 0;
  if (!front) {
    s.face = -s.face;
    s.normal = -s.normal;
  }
  // A normal that looks away from the viewer is bent until it just faces him.
  const double facing = -glm::dot(s.normal, direction);
  if (facing < 0.01) s.normal = glm::normalize(s.normal - (0.01 - facing) * direction);
  s.alpha = alpha_[number];
  if (material.mirror != glm::vec3(0)) {
    s.mirror = glm::dvec3(material.mirror);
    s.reflectance = s.transmittance = glm::dvec3(0);
    return s;
  }
  s.coat = coat_[number];
  if (material.wet > 0 && random() < static_cast<double>(material.wet)) {
    wet_sheet(s.reflectance, s.transmittance);
    s.alpha = roughness_of_water * roughness_of_water;
    s.coat = &*water_;
  }
  if (s.coat) s.view_albedo = s.coat->at(-glm::dot(s.normal, direction));
  return s;
}

// Sun and lamps in the picture itself; a lamp hides nothing.
void PathTracer::meet_sources(Path& path, const Ray& ray, double limit) const {
  if (sun_ >= 0 && limit >= 1e30)
    path.light[static_cast<std::size_t>(sun_)] += path.throughput * lights_.sun(ray.origin, ray.direction);
  for (std::size_t i = 0; i < world_.lamps.size(); ++i)
    path.light[first_lamp_ + i] +=
        path.throughput * lights_.lamp(i, ray.origin, ray.direction, ray.from, limit);
}

void PathTracer::ask_sources(Path& path, const Surface& s, const glm::dvec3& view, bool all) const {
  const std::size_t count = world_.groups.size();
  std::size_t group = 0, end = count;
  if (!all) {
    group = std::min(static_cast<std::size_t>(path.random() * static_cast<double>(count)), count - 1);
    end = group + 1;
  }
  const double share = all ? 1 : static_cast<double>(count);
  for (; group < end; ++group) {
    const LightSample light = lights_.sample(group, s.position, path.random);
    if (light.value == glm::dvec3(0)) continue;
    glm::dvec3 value = body_toward(s, light.direction);
    const bool wide = static_cast<int>(group) == sky_ || static_cast<int>(group) == glow_ ||
                      static_cast<int>(group) == canopy_;
    if (!wide) value += coat_toward(s, view, light.direction);
    if (largest(value) <= 0) continue;
    Ray shadow{off_surface(s, light.direction), light.direction, 0, light.distance};
    if (light.distance < 1e30) {
      const glm::dvec3 to = s.position + light.distance * light.direction - shadow.origin;
      const double distance = glm::length(to);
      shadow.direction = to / distance;
      shadow.to = distance * (1 - 1e-5);
    }
    ++path.rays;
    if (!scene_.blocked(shadow)) path.light[group] += path.throughput * value * (light.value * share);
  }
}

void PathTracer::trace(Path& path, Ray ray) const {
  for (int bounce = 0;; ++bounce) {
    ++path.rays;
    const std::optional<RayHit> hit = scene_.nearest(ray);
    if (bounce == 0) meet_sources(path, ray, hit ? hit->distance : 1e30);
    if (!hit) {
      if (!path.meets_wide) return;
      if (sky_ >= 0)
        path.light[static_cast<std::size_t>(sky_)] +=
            path.throughput * lights_.sky(world_.sky, ray.direction);
      if (canopy_ >= 0)
        path.light[static_cast<std::size_t>(canopy_)] +=
            path.throughput * lights_.sky(world_.leaves, ray.direction);
      return;
    }
    const Surface s = surface_at(*hit, ray.direction, path.random);
    if (bounce == 0) path.part = world_.triangle[hit->triangle].part;
    if (path.meets_wide && s.emission > 0)
      path.light[static_cast<std::size_t>(glow_)] += path.throughput * s.emission;
    const glm::dvec3 view = -ray.direction;
    ask_sources(path, s, view, bounce == 0);
    const std::optional<Scatter> next = scatter(s, view, path.random);
    if (!next) return;
    path.throughput *= next->weight;
    path.meets_wide = next->by_coat;
    if (bounce >= first_roulette) {
      const double survival = std::min(largest(path.throughput), best_survival);
      if (path.random() >= survival) return;
      path.throughput /= survival;
    }
    ray = {off_surface(s, next->direction), next->direction};
  }
}

Film PathTracer::render(const Settings& settings) const {
  const std::size_t groups = world_.groups.size(), parts = settings.parts ? world_.parts.size() : 0;
  const auto pixels = static_cast<std::size_t>(settings.width) * static_cast<std::size_t>(settings.height);
  Film film{.width = settings.width, .height = settings.height, .samples = settings.samples};
  film.group.assign(groups, Light(pixels, glm::dvec3(0)));
  film.paths = pixels * settings.samples;

  struct Share {
    std::vector<double> hits;
    std::vector<Light> light;
    std::uint64_t rays = 0;
  };
  std::vector<Share> shares(std::max(1u, settings.threads));
  std::atomic<int> next_row = 0;
  const auto work = [&](Share& share) {
    share.hits.assign(parts, 0);
    share.light.assign(parts, Light(groups, glm::dvec3(0)));
    for (int y = next_row++; y < settings.height; y = next_row++)
      for (int x = 0; x < settings.width; ++x) {
        const auto pixel = static_cast<std::size_t>(y) * static_cast<std::size_t>(settings.width) +
                           static_cast<std::size_t>(x);
        Path path{.random = Random(settings.seed, pixel), .light = Light(groups)};
        for (unsigned i = 0; i < settings.samples; ++i) {
          std::fill(path.light.begin(), path.light.end(), glm::dvec3(0));
          path.part = no_part;
          path.throughput = glm::dvec3(1);
          path.meets_wide = true;
          const double across = (x + path.random()) / settings.width,
                       down = (y + path.random()) / settings.height;
          trace(path, camera_ray(across, down, path.random));
          for (std::size_t g = 0; g < groups; ++g) film.group[g][pixel] += path.light[g];
          if (path.part >= parts) continue;
          share.hits[path.part] += 1;
          for (std::size_t g = 0; g < groups; ++g) share.light[path.part][g] += path.light[g];
        }
        share.rays += path.rays;
      }
  };
  std::vector<std::thread> threads;
  for (std::size_t i = 1; i < shares.size(); ++i) threads.emplace_back(work, std::ref(shares[i]));
  work(shares[0]);
  for (std::thread& thread : threads) thread.join();

  film.part_hits.assign(parts, 0);
  film.part.assign(parts, Light(groups, glm::dvec3(0)));
  for (const Share& share : shares) {
    film.rays += share.rays;
    for (std::size_t p = 0; p < parts; ++p) {
      film.part_hits[p] += share.hits[p];
      for (std::size_t g = 0; g < groups; ++g) film.part[p][g] += share.light[p][g];
    }
  }
  return film;
}

}  // namespace undercap::reference
