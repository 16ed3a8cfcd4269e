#include "engine/render/light_probe.h"

#include <algorithm>

#include "engine/core/errors.h"

namespace undercap {
namespace {

constexpr unsigned lanes = 8;
constexpr unsigned result_binding = 1, lamp_unit = 6, beam_unit = 10, asked_unit = 15;
constexpr unsigned rays_a_row = 4096;  // as in the kernel
// Pairs of a place and a point in a dispatch: what even a slow device does well within a second.
constexpr std::size_t most_pairs = std::size_t{1} << 18;

ComputeProgram pass(const ShaderLibrary& shaders, const Tracer& tracer, const char* name) {
  const ShaderSource source =
      shaders.source("probe.comp", std::string("#define ") + name + "\n" + tracer.walk_defines());
  return ComputeProgram(source.text, source.files);
}

unsigned groups(std::size_t count) { return static_cast<unsigned>((count + lanes - 1) / lanes); }

}  // namespace

ProbeLamp probe_lamp(const CarriedLamp& carried, const Source& source) {
  return {carried.lamp, source.roll_deg, carried.group.colour, source.snoot_mm.value_or(0) * 1e-3};
}

LightProbe::LightProbe(const ShaderLibrary& shaders, const Tracer& tracer)
    : surfaces_(pass(shaders, tracer, "PASS_SURFACES")),
      light_(pass(shaders, tracer, "PASS_LIGHT")),
      rays_(pass(shaders, tracer, "PASS_RAYS")),
      room_(pass(shaders, tracer, "PASS_ROOM")) {}

std::vector<SeenPoint> LightProbe::see(Tracer& tracer, const View& view, unsigned sample,
                                       std::uint32_t seed) const {
  std::vector<SeenPoint> seen(view.pixels());
  const Buffer result(seen.size() * sizeof(SeenPoint));
  tracer.bind_walk(view);
  result.bind_storage(result_binding);
  surfaces_.use();
  surfaces_.set2("extent", view.width, view.height);
  surfaces_.set("sample_index", sample);
  surfaces_.set("sample_seed", seed);
  dispatch(groups(static_cast<std::size_t>(view.width)), groups(static_cast<std::size_t>(view.height)));
  storage_barrier();
  result.read(std::as_writable_bytes(std::span(seen)));
  return seen;
}

std::vector<Received> LightProbe::light(Tracer& tracer, const ProbeLamp& lamp,
                                        std::span<const LampPlace> places,
                                        const std::vector<SeenPoint>& points, unsigned samples) const {
  UNDERCAP_CHECK(samples >= 1 && samples <= 16, "a lamp's front is sampled 1 to 16 times");
  std::vector<Received> all(places.size() * points.size());
  if (all.empty()) return all;
  const TexelBuffer asked(TexelFormat::rgba32f, std::as_bytes(std::span(points)));
  const TexelBuffer beam(TexelFormat::r32f, lamp.lamp.beam);
  Lamp carried = lamp.lamp;
  carried.beam.clear();
  const std::size_t at_once = std::max<std::size_t>(1, most_pairs / points.size());
  tracer.bind_walk({.width = 1, .height = 1});
  light_.use();
  light_.set("sample_index", samples);
  light_.set("sample_seed", 1u);
  light_.set3("lamp_colour", static_cast<float>(lamp.colour.r), static_cast<float>(lamp.colour.g),
              static_cast<float>(lamp.colour.b));
  light_.set("tube_m", static_cast<float>(lamp.tube_m));
  asked.bind(asked_unit);
  beam.bind(beam_unit);
  for (std::size_t from = 0; from < places.size(); from += at_once) {
    const std::size_t count = std::min(at_once, places.size() - from);
    std::vector<glm::vec4> texels;
    for (const LampPlace& place : places.subspan(from, count)) {
      carried.position_m = place.position_m;
      turn_lamp(carried, place.direction, lamp.roll_deg);
      add_lamp_texels(carried, 0, texels);
    }
    const TexelBuffer lamps(TexelFormat::rgba32f, texels);
    lamps.bind(lamp_unit);
    const std::span<Received> received = std::span(all).subspan(from * points.size(), count * points.size());
    const Buffer result(received.size_bytes());
    result.bind_storage(result_binding);
    light_.set2("extent", static_cast<int>(points.size()), static_cast<int>(count));
    dispatch(groups(points.size()), groups(count));
    storage_barrier();
    result.read(std::as_writable_bytes(received));
  }
  return all;
}

// One result an invocation, of which the first value counts.
std::vector<float> LightProbe::first_values(Tracer& tracer, const ComputeProgram& program,
                                            const std::vector<glm::vec4>& texels, std::size_t count) const {
  if (count == 0) return {};
  std::vector<glm::vec4> results(count);
  const TexelBuffer asked(TexelFormat::rgba32f, texels);
  const Buffer result(count * sizeof(glm::vec4));
  tracer.bind_walk({.width = 1, .height = 1});
  asked.bind(asked_unit);
  result.bind_storage(result_binding);
  program.use();
  program.set2("extent", static_cast<int>(count), 1);
  dispatch(rays_a_row / lanes, groups((count + rays_a_row - 1) / rays_a_row));
  storage_barrier();
  result.read(std::as_writable_bytes(std::span(results)));
  std::vector<float> values;
  for (const glm::vec4& one : results) values.push_back(one.x);
  return values;
}

std::vector<float> LightProbe::reach(Tracer& tracer, const std::vector<ProbeRay>& rays) const {
  std::vector<glm::vec4> texels;
  for (const ProbeRay& ray : rays) {
    texels.emplace_back(ray.from_m, 0);
    texels.emplace_back(ray.direction, ray.length_m);
  }
  return first_values(tracer, rays_, texels, rays.size());
}

std::vector<float> LightProbe::room(Tracer& tracer, const std::vector<glm::vec3>& places_m,
                                    float radius_m) const {
  std::vector<glm::vec4> texels;
  for (const glm::vec3& place : places_m) texels.emplace_back(place, radius_m);
  return first_values(tracer, room_, texels, places_m.size());
}

}  // namespace undercap
