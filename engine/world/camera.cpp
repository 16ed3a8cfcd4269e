// Where the camera stands, what it is focused on, and what of it shades the set.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <glm/trigonometric.hpp>

#include "engine/optics/close_focus.h"
#include "engine/optics/depth.h"
#include "engine/optics/diffraction.h"
#include "engine/optics/iris.h"
#include "engine/world/assemble.h"

namespace undercap {

GaussianLens marked_lens(const Camera& camera) {
  return {.focal_length = camera.focal_length_mm * 1_mm,
          .f_number = camera.f_number,
          .pupil_magnification = camera.pupil_magnification,
          .principal_separation = camera.principal_separation_mm * 1_mm};
}

std::optional<CloseFocus> close_focus(const Camera& camera) {
  if (!camera.minimum_focus_m || !camera.largest_magnification) return std::nullopt;
  return CloseFocus{*camera.minimum_focus_m * 1_m, *camera.largest_magnification};
}

namespace {

[[noreturn]] void refuse(const World& world, std::string_view key, const std::string& message) {
  throw Refusal(world.scene.place_of(key), message);
}

Length mm(double value) { return value * 1_mm; }

Address whole_prop(const Prop& prop) { return {Address::Of::prop, prop.name, 0, {}}; }

// The address or point that the camera looks at: as told, or the first prop that is there, or the origin.
Target look_target(World& world) {
  if (world.scene.camera.look_at) return *world.scene.camera.look_at;
  for (const Prop& prop : world.scene.props)
    if (prop.visible) return whole_prop(prop);
  world.notes.push_back("camera.look_at: the scene shows no prop, so the camera looks at the origin");
  return glm::dvec3(0);
}

void orient(World& world, const glm::dvec3& target) {
  CameraRig& rig = world.camera;
  const glm::dvec3 line = target - world.scene.camera.position_m;
  if (glm::length(line) < 1e-6)
    refuse(world, "camera.look_at", "camera.look_at is where the camera stands; move one of them");
  rig.forward = glm::normalize(line);
  const bool vertical = std::abs(rig.forward.z) > 1 - 1e-9;
  const glm::dvec3 upward = vertical ? glm::dvec3(0, 1, 0) : glm::dvec3(0, 0, 1);
  const glm::dvec3 right = glm::normalize(glm::cross(rig.forward, upward)),
                   up = glm::cross(right, rig.forward);
  // A positive roll turns the camera clockwise, seen from behind it.
  const double roll = glm::radians(world.scene.camera.roll_deg);
  rig.right = std::cos(roll) * right - std::sin(roll) * up;
  rig.up = std::cos(roll) * up + std::sin(roll) * right;
}

// The point on a target that is brought into focus: a point itself; of an address the first hit on the way to
// its centroid, or the centroid where that line misses (between gills, say).
glm::dvec3 focus_point(World& world, const Target& target, const std::string& asker) {
  const glm::dvec3 middle = point_of(world, target, asker);
  const auto* address = std::get_if<Address>(&target);
  if (!address || address->of != Address::Of::prop) return middle;
  const auto hit = first_hit(world, nearest_parts(world, *address), world.scene.camera.position_m, middle);
  if (!hit)
    world.notes.push_back(fmt::format(
        "{}: the line to the centre of '{}' meets none of it, so the plane in focus goes through its centre",
        asker, address->text()));
  return hit.value_or(middle);
}

// The lens at the magnification that it has without its converter, with it.
void set_lens(CameraRig& rig, const Camera& camera, double bare_magnification) {
  GaussianLens lens = marked_lens(camera);
  // Nearer than it focuses, the lens is as at its closest, moved out as a whole; a note says so.
  if (const auto close = close_focus(camera))
    lens = focused_at(lens, *close, std::min(bare_magnification, close->largest_magnification));
  rig.lens = with_converter(lens, camera.converter);
  rig.magnification = bare_magnification * camera.converter;
  rig.scale_distance = scale_distance(lens, bare_magnification);
}

// Magnification, without a converter, of the plane at a depth in front of the pupil.
double magnification_at(const World& world, double depth_m, const std::string& asker) {
  const Camera& camera = world.scene.camera;
  const GaussianLens lens = marked_lens(camera);
  const auto close = close_focus(camera);
  GaussianLens closest = lens;
  std::optional<double> m;
  if (close) {
    m = magnification_from_pupil_distance(lens, *close, Length(depth_m));
    closest = focused_at(lens, *close, close->largest_magnification);
  }
  if (!m) m = magnification_from_pupil_distance(closest, Length(depth_m));
  if (!m || *m > 10)
    refuse(world, asker,
           fmt::format("{}: what is to be in focus lies {:.1f} mm in front of the entrance pupil along the "
                       "axis; a {:g} mm lens "
                       "focuses from {:.1f} mm (10 times life size) outwards; move the camera or focus on "
                       "something else",
                       asker, depth_m * 1e3, camera.focal_length_mm, pupil_distance(closest, 10) / 1_mm));
  return *m;
}

double magnification_at_scale_distance(const World& world) {
  const Camera& camera = world.scene.camera;
  const GaussianLens lens = marked_lens(camera);
  const Length wanted = *camera.focus_distance_m * 1_m;
  const auto close = close_focus(camera);
  if (close && wanted < close->nearest_scale_distance)
    refuse(
        world, "camera.focus_distance_m",
        fmt::format("camera.focus_distance_m = {:g}: the lens focuses from camera.minimum_focus_m = {:g} m "
                    "outwards; give a larger distance",
                    *camera.focus_distance_m, *camera.minimum_focus_m));
  const auto m = close ? magnification_from_scale_distance(lens, *close, wanted)
                       : magnification_from_scale_distance(lens, wanted);
  if (!m)
    refuse(world, "camera.focus_distance_m",
           fmt::format("camera.focus_distance_m = {:g}: a {:g} mm lens focuses from {:.1f} mm (four focal "
                       "lengths and the "
                       "principal separation) outwards; give a larger distance, or a magnification",
                       *camera.focus_distance_m, camera.focal_length_mm,
                       4 * camera.focal_length_mm + camera.principal_separation_mm));
  return *m;
}

void set_focus(World& world, const Target& look) {
  const Camera& camera = world.scene.camera;
  CameraRig& rig = world.camera;
  rig.pupil_m = camera.position_m;
  if (camera.magnification) {
    set_lens(rig, camera, *camera.magnification / camera.converter);
    rig.focus_point_m = focus_point(world, look, "camera.magnification");
    rig.pupil_m = rig.focus_point_m - rig.forward * pupil_distance(rig.lens, rig.magnification).value();
  } else if (camera.focus_distance_m) {
    set_lens(rig, camera, magnification_at_scale_distance(world));
    rig.focus_point_m = rig.pupil_m + rig.forward * pupil_distance(rig.lens, rig.magnification).value();
  } else {
    const std::string asker = camera.focus ? "camera.focus" : "camera.look_at";
    rig.focus_point_m = focus_point(world, camera.focus ? *camera.focus : look, asker);
    set_lens(rig, camera,
             magnification_at(world, glm::dot(rig.focus_point_m - rig.pupil_m, rig.forward), asker));
  }
}

// Whether the subject is nearer than the lens can focus, as far as its data sheet tells; in words.
std::string beyond_closest_focus(const CameraRig& rig, const Camera& camera) {
  const double m = rig.magnification, closest_m = camera.largest_magnification.value_or(0) * camera.converter;
  if (camera.largest_magnification && m > closest_m * (1 + 1e-9))
    return fmt::format("the scale of {:.3g} is beyond the lens's largest of {:.3g}", m, closest_m);
  if (camera.minimum_focus_m && rig.scale_distance < *camera.minimum_focus_m * (1 - 1e-9) * 1_m)
    return fmt::format("{:.3f} m from subject to sensor is nearer than the lens's closest focus of {:g} m",
                       rig.scale_distance.value(), *camera.minimum_focus_m);
  return {};
}

// Where an address lies as far as the file tells: the base of a prop.
glm::dvec3 nominal_point(const Scene& scene, const Target& target) {
  if (const auto* point = std::get_if<glm::dvec3>(&target)) return *point;
  const std::string& name = std::get<Address>(target).name;
  for (const Prop& prop : scene.props)
    if (prop.name == name)
      return {prop.at_m[0], prop.at_m[1],
              prop.at_z_m ? *prop.at_z_m : floor_height_m(scene.ground, prop.at_m[0], prop.at_m[1])};
  return glm::dvec3(0);
}

}  // namespace

double View::pixel_at(const glm::dvec3& place_m) const {
  constexpr double nearest_m = 0.02;  // no lens of the kit focuses nearer
  const double pixel = pixel_per_m * std::max(glm::distance(place_m, eye_m), nearest_m);
  return std::exp2(std::floor(2 * std::log2(pixel)) / 2);
}

View nominal_view(const Scene& scene, bool draft) {
  const Camera& camera = scene.camera;
  constexpr double picture_px = 1200;  // width of the picture that the meshes are made for
  const GaussianLens lens = with_converter(marked_lens(camera), camera.converter);
  glm::dvec3 look(0);
  if (camera.look_at)
    look = nominal_point(scene, *camera.look_at);
  else if (!scene.props.empty())
    look = nominal_point(scene, whole_prop(scene.props.front()));
  View view{.eye_m = camera.position_m};
  double m = 0;
  if (camera.magnification) {
    m = *camera.magnification;
    const glm::dvec3 line = look - camera.position_m;
    if (glm::length(line) > 0) view.eye_m = look - glm::normalize(line) * pupil_distance(lens, m).value();
  } else if (camera.focus_distance_m) {
    m = magnification_from_scale_distance(lens, Length(*camera.focus_distance_m)).value_or(1);
  } else {
    const glm::dvec3 focus = camera.focus ? nominal_point(scene, *camera.focus) : look;
    m = magnification_from_pupil_distance(lens, Length(glm::distance(focus, camera.position_m))).value_or(1);
  }
  view.draft = draft;
  view.pixel_per_m = camera.format_mm[0] * 1e-3 / picture_px / equivalent_image_distance(lens, m).value();
  return view;
}

// 20 megapixels on the format unless the scene gives the pitch.
Length pitch_of(const World& world) {
  const auto given = world.scene.sensor.pixel_pitch_um;
  return given ? *given * 1_um : pixel_pitch(SensorFormat{world.camera.width, world.camera.height}, 20e6);
}

SensorModel sensor_of(const World& world) {
  const Sensor& sensor = world.scene.sensor;
  return {.pitch = pitch_of(world),
          .read_noise_e = sensor.read_noise_e,
          .dark_current_e_s = sensor.dark_current_e_s,
          .prnu = sensor.prnu_pct / 100};
}

Length circle_of(const World& world) {
  const Camera& camera = world.scene.camera;
  if (camera.circle_of_confusion_mm) return *camera.circle_of_confusion_mm * 1_mm;
  switch (camera.coc_rule) {
    case Camera::CocRule::d1442:
      return circle_of_confusion(CircleOfConfusionRule::d1442,
                                 SensorFormat{world.camera.width, world.camera.height}, pitch_of(world));
    case Camera::CocRule::two_pixels:
      return circle_of_confusion(CircleOfConfusionRule::two_pixels,
                                 SensorFormat{world.camera.width, world.camera.height}, pitch_of(world));
    case Camera::CocRule::d1500:
      break;
  }
  return circle_of_confusion(CircleOfConfusionRule::d1500,
                             SensorFormat{world.camera.width, world.camera.height}, pitch_of(world));
}

double share_of_axis(const CameraRig& rig, Length image_height) {
  const double share = obliquity_weight(rig.lens, rig.magnification, image_height, rig.fall_off);
  if (rig.rim_diameter <= 0_mm) return share;
  return share * rim_share(rig.lens, rig.magnification, image_height, rig.rim_ahead, rig.rim_diameter);
}

double transmission_of(const Camera& camera) {
  const double stops = camera.nd_stops + (camera.polariser_deg ? camera.polariser_stops : 0);
  return camera.transmission * std::exp2(-stops);
}

void set_camera(World& world) {
  const Camera& camera = world.scene.camera;
  CameraRig& rig = world.camera;
  rig.width = mm(camera.format_mm[0]);
  rig.height = mm(camera.format_mm[1]);
  const Target look = look_target(world);
  orient(world, point_of(world, look, "camera.look_at"));
  set_focus(world, look);
  rig.pupil_distance = pupil_distance(rig.lens, rig.magnification);
  rig.image_distance = equivalent_image_distance(rig.lens, rig.magnification);
  rig.working_f_number = working_f_number(rig.lens, rig.magnification);
  rig.iris_m =
      iris_outline({camera.blades, camera.blade_curvature, glm::radians(camera.blade_turn_deg) * 1_rad},
                   entrance_pupil_diameter(rig.lens));
  rig.beyond_closest_focus = beyond_closest_focus(rig, camera);
  rig.rim_ahead = mm(camera.rim_ahead_mm);
  rig.rim_diameter = mm(camera.rim_diameter_mm.value_or(0));
  rig.fall_off = camera.fall_off == Camera::FallOffSide::image ? ObliquitySide::image : ObliquitySide::object;
  // The transverse aberration of a wave aberration W rho^4 is 8 N_w W rho^3 on the sensor (Welford,
  // Aberrations of Optical Systems, 1986, from memory), and 1/m of that on the plane in focus.
  rig.spherical_m =
      8 * rig.working_f_number * camera.spherical_waves * diffraction_wavelength.value() / rig.magnification;
  rig.polariser.reset();
  if (camera.polariser_deg) {
    const double turn = glm::radians(*camera.polariser_deg - camera.roll_deg);
    rig.polariser = glm::dvec2(std::sin(turn), std::cos(turn));
  }
  if (camera.barrel_mm > 0 && camera.front_ahead_mm > 0) rig.clear_ahead = mm(camera.front_ahead_mm) + 2_um;

  rig.axis_height = Length(rig.pupil_m.z - floor_height_m(world.scene.ground, rig.pupil_m.x, rig.pupil_m.y));

  const auto resolve = [&](const std::vector<Address>& addresses) {
    std::vector<std::uint32_t> parts;
    for (const Address& address : addresses)
      for (const std::uint32_t part : parts_of(world, address)) parts.push_back(part);
    std::sort(parts.begin(), parts.end());
    parts.erase(std::unique(parts.begin(), parts.end()), parts.end());
    return parts;
  };
  std::vector<Address> subject = world.scene.subject.parts;
  for (const Prop& prop : world.scene.props)
    if (subject.empty() && prop.visible) subject.push_back(whole_prop(prop));
  world.subject = resolve(subject);
  if (!world.scene.subject.backdrop.empty()) world.backdrop = resolve(world.scene.subject.backdrop);
}

// A black closed tube around the axis: anodised metal sends back about 4 % (common practice, no source).
void add_barrel(World& world) {
  const Camera& camera = world.scene.camera;
  if (camera.barrel_mm <= 0) return;
  constexpr std::uint32_t sides = 48;
  const CameraRig& rig = world.camera;
  const glm::dvec3 front = rig.pupil_m + rig.forward * (camera.front_ahead_mm * 1e-3);
  const glm::dvec3 back = front - rig.forward * (camera.barrel_mm * 1e-3);
  Mesh mesh;
  mesh.part_index("barrel");
  for (std::uint32_t i = 0; i < sides; ++i) {
    const double angle = 2 * std::numbers::pi * i / sides;
    const glm::dvec3 rim =
        (std::cos(angle) * rig.right + std::sin(angle) * rig.up) * (camera.front_diameter_mm * 0.5e-3);
    mesh.position.emplace_back(front + rim);
    mesh.position.emplace_back(back + rim);
  }
  mesh.position.emplace_back(front);
  mesh.position.emplace_back(back);
  for (std::uint32_t i = 0; i < sides; ++i) {
    const std::uint32_t a = 2 * i, b = 2 * ((i + 1) % sides);
    mesh.triangle.push_back({a, b + 1, b, 0});
    mesh.triangle.push_back({a, a + 1, b + 1, 0});
    mesh.triangle.push_back({2 * sides, a, b, 0});
    mesh.triangle.push_back({2 * sides + 1, b + 1, a + 1, 0});
  }
  append_mesh(world, mesh, {}, "", {Material{.reflectance = glm::vec3(.04f)}});
}

// The photographer kneeling behind the camera, as an upright dark sheet half a metre wide and a metre high,
// 0.35 m behind the pupil (common practice, no source).
void add_photographer(World& world) {
  const CameraRig& rig = world.camera;
  glm::dvec3 behind(-rig.forward.x, -rig.forward.y, 0);
  if (glm::length(behind) < 1e-6) behind = -rig.up;
  behind = glm::normalize(behind);
  const glm::dvec3 side = 0.25 * glm::normalize(glm::cross(glm::dvec3(0, 0, 1), behind));
  glm::dvec3 foot = rig.pupil_m + 0.35 * behind;
  foot.z = 0;
  const glm::dvec3 rise(0, 0, 1);
  Mesh mesh;
  mesh.part_index("photographer");
  for (const glm::dvec3& corner : {foot - side, foot + side, foot + side + rise, foot - side + rise})
    mesh.position.emplace_back(corner);
  mesh.triangle = {{0, 1, 2, 0}, {0, 2, 3, 0}};
  append_mesh(world, mesh, {}, "", {Material{.reflectance = glm::vec3(.05f)}});
}

}  // namespace undercap
