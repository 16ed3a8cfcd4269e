#include "tests/reference/embree_scene.h"

#include <embree3/rtcore.h>

#include <algorithm>

#include "engine/core/errors.h"

namespace undercap::reference {
namespace {

void fill(RTCRay& to, const Ray& ray) {
  const glm::vec3 origin(ray.origin), direction(ray.direction);
  to.org_x = origin.x;
  to.org_y = origin.y;
  to.org_z = origin.z;
  to.dir_x = direction.x;
  to.dir_y = direction.y;
  to.dir_z = direction.z;
  to.tnear = static_cast<float>(ray.from);
  to.tfar = static_cast<float>(ray.to);
  to.time = 0;
  to.mask = 0xffffffffu;
  to.id = 0;
  to.flags = 0;
}

}  // namespace

void EmbreeScene::Release::operator()(void* scene) const { rtcReleaseScene(static_cast<RTCScene>(scene)); }

EmbreeScene::EmbreeScene(const World& world, bool watertight) {
  const RTCDevice device = rtcNewDevice(nullptr);
  if (!device) throw Trouble("Embree gives no device");
  const RTCScene scene = rtcNewScene(device);
  scene_.reset(scene);
  rtcSetSceneFlags(scene, watertight ? RTC_SCENE_FLAG_ROBUST : RTC_SCENE_FLAG_NONE);
  rtcSetSceneBuildQuality(scene, RTC_BUILD_QUALITY_HIGH);
  if (!world.triangle.empty()) {
    const RTCGeometry geometry = rtcNewGeometry(device, RTC_GEOMETRY_TYPE_TRIANGLE);
    auto* position = static_cast<glm::vec3*>(rtcSetNewGeometryBuffer(
        geometry, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3, sizeof(glm::vec3), world.position.size()));
    auto* corner = static_cast<std::uint32_t*>(
        rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3,
                                3 * sizeof(std::uint32_t), world.triangle.size()));
    if (!position || !corner) throw Trouble("Embree gives no memory for the triangles");
    std::copy(world.position.begin(), world.position.end(), position);
    for (const WorldTriangle& t : world.triangle) {
      *corner++ = t.a;
      *corner++ = t.b;
      *corner++ = t.c;
    }
    rtcCommitGeometry(geometry);
    rtcAttachGeometry(scene, geometry);
    rtcReleaseGeometry(geometry);
  }
  rtcCommitScene(scene);
  rtcReleaseDevice(device);  // the scene keeps it alive
}

std::optional<RayHit> EmbreeScene::nearest(const Ray& ray) const {
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  RTCRayHit query;
  fill(query.ray, ray);
  query.hit.geomID = RTC_INVALID_GEOMETRY_ID;
  query.hit.instID[0] = RTC_INVALID_GEOMETRY_ID;
  rtcIntersect1(static_cast<RTCScene>(scene_.get()), &context, &query);
  if (query.hit.geomID == RTC_INVALID_GEOMETRY_ID) return std::nullopt;
  return RayHit{static_cast<double>(query.ray.tfar), query.hit.primID, static_cast<double>(query.hit.u),
                static_cast<double>(query.hit.v)};
}

bool EmbreeScene::blocked(const Ray& ray) const {
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  RTCRay query;
  fill(query, ray);
  rtcOccluded1(static_cast<RTCScene>(scene_.get()), &context, &query);
  return query.tfar < 0;
}

}  // namespace undercap::reference
