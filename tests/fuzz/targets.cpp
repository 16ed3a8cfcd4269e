#include "tests/fuzz/targets.h"

#include <cmath>
#include <glm/geometric.hpp>

#include "engine/core/errors.h"
#include "engine/light/lm63.h"
#include "engine/scene/load.h"
#include "engine/shape/obj.h"

namespace undercap::fuzz {
namespace {

// A refusal says something, one line a fault, in letters that a terminal only prints.
void hold_refusal(const Refusal& refusal) {
  UNDERCAP_CHECK(!refusal.faults().empty(), "a refusal has a fault");
  for (const Fault& fault : refusal.faults()) {
    UNDERCAP_CHECK(!fault.message.empty(), "a fault has a message");
    for (const char c : fault.text()) {
      const auto byte = static_cast<unsigned char>(c);
      UNDERCAP_CHECK(byte >= 0x20 && byte != 0x7f, "a message holds no control character");
    }
  }
}

template <class Action>
void refused_or_done(Action action) {
  try {
    action();
  } catch (const Refusal& refusal) {
    hold_refusal(refusal);
  }
}

bool is_finite(const glm::vec3& v) { return std::isfinite(v.x) && std::isfinite(v.y) && std::isfinite(v.z); }

void hold_mesh(const Mesh& mesh) {
  UNDERCAP_CHECK(!mesh.triangle.empty(), "a mesh has a triangle");
  UNDERCAP_CHECK(mesh.normal.size() == mesh.position.size(), "a position has a normal");
  for (std::size_t i = 0; i < mesh.position.size(); ++i) {
    UNDERCAP_CHECK(is_finite(mesh.position[i]), "a position is finite");
    UNDERCAP_CHECK(is_finite(mesh.normal[i]) && std::abs(glm::length(mesh.normal[i]) - 1) < 1e-3f,
                   "a normal is a unit vector");
  }
  for (const MeshTriangle& t : mesh.triangle) {
    UNDERCAP_CHECK(std::max({t.a, t.b, t.c}) < mesh.position.size(), "a corner is a position");
    UNDERCAP_CHECK(t.part < mesh.parts.size(), "a triangle has a part");
  }
}

}  // namespace

void scene(const std::string& bytes) {
  const SceneFile file = SceneFile::from_text(bytes, "wood.toml");
  Scene scene;
  bool good = false;
  refused_or_done([&] {
    scene = file.scene();
    good = true;
  });
  // What may be set in any file may be set in this one, or is refused; a good scene stays one.
  for (const char* key : {"camera.focus_distance_m", "sky.model"})
    refused_or_done([&] {
      SceneFile edited = file;
      edited.set(key, std::string_view(key) == "sky.model" ? "uniform" : "2", "--set");
      edited.scene();
    });
  if (!good) return;
  for (const Variant& variant : scene.variants)
    refused_or_done([&] {
      SceneFile edited = file;
      edited.use_variant(variant.name);
      edited.scene();
    });
  std::vector<std::string> keys;
  if (!scene.sources.empty()) keys.push_back("source." + scene.sources.back().name + ".power_pct");
  if (!scene.props.empty()) keys.push_back("prop." + scene.props.back().name + ".turn_deg");
  for (const std::string& key : keys) {
    SceneFile edited = file;
    edited.set(key, "50", "--set");
    edited.scene();
  }
}

void obj(const std::string& bytes) {
  const auto read = [](const std::filesystem::path& path) -> std::string {
    if (path == "x.mtl") return "newmtl bark\nKd .1 .2 .3\nnewmtl moss\n";
    throw Refusal("cannot be read");
  };
  refused_or_done([&] { hold_mesh(mesh_of_obj(bytes, "x.obj", 0.001, true, read)); });
}

void mtl(const std::string& bytes) {
  const auto read = [&](const std::filesystem::path&) { return bytes; };
  const char* triangle = "mtllib x.mtl\nv 0 0 0\nv 1 0 0\nv 0 1 0\nusemtl bark\nf 1 2 3\n";
  refused_or_done([&] {
    const Mesh mesh = mesh_of_obj(triangle, "x.obj", 1, false, read);
    hold_mesh(mesh);
    for (const MeshPart& part : mesh.parts)
      if (part.reflectance)
        for (int channel = 0; channel < 3; ++channel)
          UNDERCAP_CHECK((*part.reflectance)[channel] >= 0 && (*part.reflectance)[channel] <= 1,
                         "a reflectance is 0 to 1");
  });
}

void lm63(const std::string& bytes) {
  refused_or_done([&] {
    const MeasuredBeam lamp = beam_from_lm63(bytes, "x.ies");
    UNDERCAP_CHECK(lamp.beam.planes >= 1 && lamp.beam.planes <= 360, "a beam has 1 to 360 planes");
    for (const float ratio : lamp.beam.node)
      UNDERCAP_CHECK(ratio >= 0 && ratio <= 1, "a beam is relative to its peak");
    UNDERCAP_CHECK(std::isfinite(lamp.peak.value()) && lamp.peak > 0_cd, "a peak is above 0");
    UNDERCAP_CHECK(std::isfinite(lamp.flux.value()) && lamp.flux > 0_lm, "a flux is above 0");
    UNDERCAP_CHECK(lamp.behind >= 0 && lamp.behind <= 1, "a share is 0 to 1");
  });
}

}  // namespace undercap::fuzz
