// A scene made ready to be rendered: posed triangles, materials, light groups at unit power, the camera's
// lengths. The only input of a renderer, here or in a test.
//
// World space: metres, x east, y north, z up. Light is photometric; colours are linear RGB, D65 white.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <glm/mat4x3.hpp>
#include <glm/vec2.hpp>
#include <glm/vec3.hpp>
#include <numbers>
#include <optional>
#include <string>
#include <vector>

#include "engine/light/beam.h"
#include "engine/light/sun.h"
#include "engine/optics/close_focus.h"
#include "engine/optics/lens.h"
#include "engine/optics/sensor.h"
#include "engine/optics/vignetting.h"
#include "engine/scene/scene.h"
#include "engine/surface/material.h"

namespace undercap {

inline constexpr std::uint32_t no_part = 0xffffffffu;

struct WorldPart {
  std::string prop;  // empty: the barrel or the body of the photographer
  int individual = 1;
  std::string part;
  std::uint32_t material = 0;  // into World::materials
  std::string row{};           // of the table of materials its colour is; empty: the scene's or a file's own
  glm::mat4x3 to_own{0};       // from the world, m, to the prop's own space, mm: where patterns are read
};

struct WorldTriangle {
  std::uint32_t a = 0, b = 0, c = 0;  // into World::position
  std::uint32_t part = 0;             // into World::parts
};

// A light group has a film of its own, at unit power and unit white.
struct LightGroup {
  enum class Kind { sky, sun, glow, canopy, lamp } kind = Kind::sky;
  std::string name;  // sky, sun, glow, canopy (sunlight scattered down by the leaves) or the source's name
  bool on = true;
  double power = 1;  // on top of the unit film. sky: lx on level ground above the leaves; sun and canopy: lx
                     // of sun at normal incidence above the leaves; lamp: cd at the peak; glow: 1
  bool flash = false;            // power is then cd s at the peak
  std::optional<double> on_s{};  // shines for this part of the exposure
  glm::dvec3 colour{1};          // linear RGB with unit luminance
  // What the unit film is multiplied by, per channel; 0 when off.
  glm::dvec3 weight() const { return on ? colour * power : glm::dvec3(0); }
};

// Luminance over the upper hemisphere, linear RGB: the nodes of a square, (side + 1)^2, row by row from v =
// 0, bilinear between. sky_map.h says where a node stands. Black below the horizon.
struct SkyMap {
  int side = 0;
  std::vector<glm::vec3> node{};
};

// What the sun's rays meet in the leaves: cells of a level plane, 1 = gap, 0 = leaf, row by row northward;
// repeats beyond its edges. side 0 = no leaves.
struct GapLayer {
  double height_m = 0;
  glm::dvec2 corner_m{0};  // south-west
  double cell_m = 0;
  int side = 0;
  std::vector<std::uint8_t> open{};
};

// A disc or a rectangle. Every point of it sends I(theta, azimuth) / area; unit power is I0 = 1 cd at the
// peak.
struct Lamp {
  glm::dvec3 position_m{0}, direction{0, 0, -1};
  glm::dvec3 right{1, 0, 0};  // unit, square to the direction; up = cross(right, direction)
  bool rectangle = false;
  double half_width_m = 0, half_height_m = 0;  // along right and up; both the radius of a disc
  // I / I0 as light/beam.h lays it out, with azimuth from right toward up.
  int planes = 1;
  std::vector<float> beam{};
  double area() const {
    return rectangle ? 4 * half_width_m * half_height_m : std::numbers::pi * half_width_m * half_width_m;
  }
};

// The exact Gaussian lens as a thin-lens camera at the entrance pupil.
struct CameraRig {
  GaussianLens lens;  // as it works here: with its converter, and shortened by focusing close
  double magnification = 0;
  Length scale_distance;               // T: plane in focus to sensor, without the length of a converter
  std::string beyond_closest_focus{};  // why the lens cannot focus here, by its data sheet; empty: it can
  Length pupil_distance;               // a: entrance pupil to the plane in focus, along the axis
  Length image_distance;               // f (1 + m/P): equivalent image distance
  double working_f_number = 0;
  glm::dvec3 pupil_m{0}, right{1, 0, 0}, up{0, 0, 1}, forward{0, 1, 0};
  Length width, height;            // of the format
  std::vector<glm::dvec2> iris_m;  // fan triangles (0, k, k+1) of equal area, in the pupil plane (right, up)
  Length clear_ahead;              // camera rays begin here, past the barrel's front
  Length rim_ahead, rim_diameter;  // of a rim that cuts the pupil for what is off the axis; diameter 0 = none
  ObliquitySide fall_off = ObliquitySide::object;
  // Primary spherical aberration: a ray through a point of the pupil at rho (0..1, of the equal disc's
  // radius) lands on the plane in focus nearer to the axis by this x rho^3 along the point's own direction,
  // m. 0 = none.
  double spherical_m = 0;
  // In the frame (right, up), unit: the direction of swing that a polariser lets through. None: no polariser.
  std::optional<glm::dvec2> polariser{};
  Length axis_height;           // of the entrance pupil above the ground below it
  glm::dvec3 focus_point_m{0};  // where the plane in focus meets what was focused on
};

// The lens as its file's keys describe it, without a converter; and what its data sheet says of the closest
// focus, none where the lens keeps its focal length.
GaussianLens marked_lens(const Camera& camera);
std::optional<CloseFocus> close_focus(const Camera& camera);

// How much of the axis's illuminance an image point gets: cos^4 of its chief ray and what a rim leaves of the
// pupil. It is the one weight of a pixel: a film holds luminance, whatever its place in the frame.
double share_of_axis(const CameraRig& rig, Length image_height);

// All that dims the picture evenly: the glass, a grey filter, a polariser; 0..1.
double transmission_of(const Camera& camera);

struct World {
  Scene scene;
  std::vector<glm::vec3> position;  // m
  std::vector<glm::vec3> normal;    // unit, one a position; 0 = the triangle's own
  std::vector<glm::vec3> tint;      // factor on reflectance and transmittance, one a position
  std::vector<glm::vec2> uv;        // for the part's pattern, one a position
  std::vector<WorldTriangle> triangle;
  std::vector<WorldPart> parts;
  std::vector<Material> materials;
  std::vector<LightGroup> groups;  // sky, sun, glow as they exist, then every lamp
  SkyMap sky;                      // through the leaves, for 1 lx on level ground above them
  double sky_below_lx = 0;         // what the sky gives on level ground below the leaves
  double sky_by_height_lx = 0;  // what the height of the sun gives in the open, whatever the scene asks for
  SkyMap leaves;                // of the group 'canopy', for 1 lx of sun at normal incidence above them
  GapLayer gaps;                // what lets the sun through
  // The sun's place, also while it gives no light: true, apparent, and from north clockwise.
  Angle sun_elevation, sun_apparent_elevation, sun_azimuth;
  glm::dvec3 sun_direction{0, 0, 1};  // to the sun's centre, apparent
  std::vector<Lamp> lamps;
  CameraRig camera;
  std::vector<glm::vec2> coat_table;   // albedo of the dielectric coat (surface/coat.h)
  std::vector<glm::vec2> water_table;  // the same of a film of water
  double film_alpha = 0;               // GGX, of the film's upper side
  double film_return = 0;  // share of diffuse light from below that a film of water sends back down
  std::vector<std::uint32_t> subject;  // parts, sorted
  std::optional<std::vector<std::uint32_t>>
      backdrop;                    // none: all behind the plane in focus that is not subject
  std::vector<std::string> notes;  // what a user should know about how the scene was read

  int group_index(std::string_view name) const;  // -1 when there is none
};

struct BuildOptions {
  bool draft = false;  // about half the triangles, taken from what is not the subject
  const std::atomic<bool>* cancelled = nullptr;  // true: build_world throws Cancelled as soon as it sees it
};

// Nobody wants the result any more.
struct Cancelled {};

// Builds everything. Throws Refusal for what only geometry can tell: an address that is not there or not
// visible where a point is needed, an OBJ file that is broken, a host that does not reach below its prop.
World build_world(const Scene& scene, const BuildOptions& options = {});

// The world without the lens barrel and the photographer, which come after all else in it.
World without_barrel(World world);

// Every part looks as its mean everywhere: for a tracer that knows no patterns.
void leave_patterns_out(World& world);

// The parts that an address means; empty when it means none (hidden, or not there).
std::vector<std::uint32_t> parts_of(const World& world, const Address& address);

// Pixel pitch of the sensor: 20 megapixels on the format unless the scene gives it. And the largest blur that
// the scene counts as sharp.
Length pitch_of(const World& world);
SensorModel sensor_of(const World& world);
Length circle_of(const World& world);

// Area centroid of some parts, m.
std::optional<glm::dvec3> centroid(const World& world, const std::vector<std::uint32_t>& parts);

}  // namespace undercap
