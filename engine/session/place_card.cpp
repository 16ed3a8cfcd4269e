#include "engine/session/place_card.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/colour/spaces.h"
#include "engine/core/errors.h"
#include "engine/session/place.h"
#include "engine/world/mix.h"
#include "engine/world/sky_map.h"
#include "engine/world/update.h"

namespace undercap {
namespace {

constexpr double degree = std::numbers::pi / 180;
constexpr double turn_deg = 20;  // of a mirror, to see whether its aim matters
constexpr int across = 5;        // points of a card's side that are looked at

const Prop& card_of(const Scene& scene, const std::string& name) {
  std::string names;
  for (const Prop& prop : scene.props) {
    if (prop.kind->name != "card") continue;
    if (prop.name == name) {
      if (!prop.at_z_m)
        throw Refusal(
            prop.place,
            fmt::format("'{}' stands on the ground: give at_m three numbers, the card's middle", name));
      return prop;
    }
    names += (names.empty() ? "" : ", ") + prop.name;
  }
  throw Refusal(
      fmt::format("there is no card '{}'; the scene's cards: {}", name, names.empty() ? "none" : names));
}

glm::dvec2 size_of(const Prop& card) {
  const auto& size = std::get<std::array<double, 2>>(card.values.at("size_mm"));
  return glm::dvec2(size[0], size[1]) * 1e-3 * card.scale;
}

// The way that most light comes from: the sun where it shines, else the middle of the brightest patch of the
// sky and the leaves, as far across as a gap is, by mean shift from its brightest place (Fukunaga & Hostetler
// 1975, from memory).
glm::dvec3 brightest_way(const World& world) {
  for (const LightGroup& group : world.groups)
    if (group.kind == LightGroup::Kind::sun && group.on) return world.sun_direction;
  constexpr int side = 48, shifts = 8;
  constexpr double patch_rad = 0.5;
  glm::dvec3 best(0, 0, 1);
  if (world.sky.side == 0) return best;
  std::vector<std::pair<glm::dvec3, double>> sky;  // cells of equal solid angle
  for (int v = 0; v < side; ++v)
    for (int u = 0; u < side; ++u) {
      const glm::dvec3 way = sky_direction({(u + 0.5) / side, (v + 0.5) / side});
      sky.emplace_back(way, luminance_y(sky_radiance(world.sky, way)));
    }
  best = std::max_element(sky.begin(), sky.end(), [](const auto& a, const auto& b) {
           return a.second < b.second;
         })->first;
  for (int shift = 0; shift < shifts; ++shift) {
    glm::dvec3 sum(0);
    for (const auto& [way, light] : sky)
      if (glm::dot(way, best) > std::cos(patch_rad)) sum += light * way;
    if (glm::length(sum) > 0) best = glm::normalize(sum);
  }
  return best;
}

// A card's own directions, as the kind 'card' lays it: u level.
struct CardAxes {
  glm::dvec3 u, v;
};
CardAxes axes_for(const glm::dvec3& normal) {
  const glm::dvec3 level = glm::cross(glm::dvec3(0, 0, 1), normal);
  const glm::dvec3 u = glm::length(level) > 1e-6 ? glm::normalize(level) : glm::dvec3(1, 0, 0);
  return {u, glm::cross(normal, u)};
}

// Every place of a grid on the card.
std::vector<glm::dvec3> points_of(const CardPlace& place, const glm::dvec2& size) {
  const CardAxes axes = axes_for(place.normal);
  std::vector<glm::dvec3> points;
  for (int j = 0; j < across; ++j)
    for (int i = 0; i < across; ++i)
      points.push_back(place.position_m + (i / double{across - 1} - 0.5) * size.x * axes.u +
                       (j / double{across - 1} - 0.5) * size.y * axes.v);
  return points;
}

double edge_distance(const CardPlace& place, const glm::dvec2& size, const glm::dvec3& target) {
  const CardAxes axes = axes_for(place.normal);
  const glm::dvec3 off = target - place.position_m;
  const double u = std::clamp(glm::dot(off, axes.u), -size.x / 2, size.x / 2),
               v = std::clamp(glm::dot(off, axes.v), -size.y / 2, size.y / 2);
  return glm::distance(target, place.position_m + u * axes.u + v * axes.v);
}

// The set with the card in it, somewhere.
class CardSet {
 public:
  CardSet(const ShaderLibrary& shaders, const Scene& scene, const std::string& card, bool draft)
      : shaders_(shaders), card_(card), scene_(scene) {
    for (Prop& prop : scene_.props)
      if (prop.name == card) prop.visible = true;
    world_ = build_world(scene_, {.draft = draft});
  }
  const World& world() const { return world_; }
  Tracer& put(const glm::dvec3& place_m, const glm::dvec3& normal) {
    for (Prop& prop : scene_.props)
      if (prop.name == card_) {
        prop.at_m = {place_m.x, place_m.y};
        prop.at_z_m = place_m.z;
        prop.turn_deg = prop.tilt_deg = 0;
        prop.values["normal"] = std::array<double, 3>{normal.x, normal.y, normal.z};
      }
    move_card(world_, scene_, card_);
    GpuWorld gpu(world_);
    // No pattern changes with a card's place.
    if (!means_) means_ = pattern_means(world_, gpu.pattern_places(), gpu.read_patterns(shaders_));
    gpu.set_pattern_means(*means_);
    tracer_ = std::make_unique<Tracer>(shaders_, world_, std::move(gpu), tracer_.get());
    return *tracer_;
  }

 private:
  const ShaderLibrary& shaders_;
  std::string card_;
  Scene scene_;
  World world_;
  std::optional<std::vector<PatternMeans>> means_;
  std::unique_ptr<Tracer> tracer_;
};

class CardJob {
 public:
  CardJob(const ShaderLibrary& shaders, Session& session, const Scene& scene, const CardRequest& request,
          const Progress& progress)
      : shaders_(shaders),
        session_(session),
        request_(request),
        progress_(progress),
        card_(card_of(scene, request.card)),
        size_(size_of(card_)),
        set_(shaders, scene, request.card, request.quality == Quality::draft) {}

  std::optional<CardResult> run() {
    if (!session_.survey(request_.quality, {}, part(0, 0.1), Session::For::picture)) return std::nullopt;
    const LightProbe probe(shaders_, session_.tracer());
    PlaceWish wish = request_.wish;
    wish.target = target_parts(session_.world(), request_.target);
    mix_ = mix_over(session_.world(), session_.exposure().development.shutter);
    const Placement seen(probe, session_.tracer(), session_.world(), session_.surveyed(), mix_, wish, {});
    wish_ = seen.wish();
    result_.target_m = seen.target_middle();
    result_.target_words = request_.target ? request_.target->text() : "the subject";
    result_.use = card_use(material());
    add_candidates(seen, probe);
    judge(probe);
    if (!render_all()) return std::nullopt;
    choose();
    if (!render_offers()) return std::nullopt;
    return std::move(result_);
  }

 private:
  Progress part(double from, double to) const {
    return [this, from, to](double done) { return progress_(from + (to - from) * done); };
  }
  const Material& material() const {
    const std::vector<std::uint32_t> parts =
        parts_of(set_.world(), Address{Address::Of::prop, request_.card, 0, {}});
    return set_.world().materials[set_.world().parts[parts.front()].material];
  }

  void add_candidates(const Placement& seen, const LightProbe& probe);
  glm::dvec3 floor_below(const LightProbe& probe, const glm::dvec3& place) const;
  glm::dvec3 mirroring(const glm::dvec3& foot, const glm::dvec3& outward, const glm::dvec3& light) const;
  void lean(const glm::dvec3& foot, const glm::dvec3& facing);
  void add(const glm::dvec3& place, const glm::dvec3& facing);
  void judge(const LightProbe& probe);
  std::optional<Survey> survey_at(const glm::dvec3& place, const glm::dvec3& normal,
                                  const Progress& progress);
  std::optional<Estimate> change(const Survey& with, const RegionSums Survey::*region) const;
  std::optional<Estimate> target_change(const Survey& with) const;
  bool render_all();
  bool try_turned(CardPlace& place, const Progress& progress);
  void choose();
  bool render_offers();

  const ShaderLibrary& shaders_;
  Session& session_;
  const CardRequest& request_;
  const Progress& progress_;
  const Prop& card_;
  glm::dvec2 size_;
  CardSet set_;
  PlaceWish wish_;
  Mix mix_;
  CardResult result_;
};

void CardJob::add(const glm::dvec3& place, const glm::dvec3& facing) {
  CardPlace one{.position_m = place, .normal = glm::normalize(facing)};
  one.edge_m = edge_distance(one, size_, result_.target_m);
  one.angle_deg = axis_angle_deg(session_.world().camera, result_.target_m, place);
  result_.places.push_back(one);
}

// Around the target, at eight hours: on what lies there with its lower edge so far from the target, upright
// or leaning back or flat, or turned to throw the brightest light at it; and held in the air, facing it. A
// black one also stands in the way of the light of lamps to the backdrop, and over what is seen of it.
void CardJob::add_candidates(const Placement& seen, const LightProbe& probe) {
  const World& world = session_.world();
  const auto [right, ahead] = level_axes(world.camera);
  const glm::dvec3 bright = brightest_way(world), up(0, 0, 1);
  const bool mirror = result_.use == CardUse::silver;
  for (int hour = 0; hour < 8; ++hour) {
    const double turn = (hour + 0.5) * 45 * degree;
    const glm::dvec3 way = std::sin(turn) * right + std::cos(turn) * ahead;
    for (const double distance : {0.03, 0.08, 0.15}) {
      const glm::dvec3 foot = floor_below(probe, result_.target_m + distance * way);
      if (mirror)
        lean(foot, mirroring(foot, way, bright));
      else
        for (const double back : {0.0, 30.0, 60.0, 90.0})
          lean(foot, -std::cos(back * degree) * way + std::sin(back * degree) * up);
    }
    for (const double distance : {0.12, 0.18}) {
      const glm::dvec3 line = std::cos(35 * degree) * way + std::sin(35 * degree) * up;
      add(result_.target_m + distance * line, mirror ? glm::normalize(bright - line) : -line);
    }
  }
  if (result_.use != CardUse::black) return;
  glm::dvec3 behind(0);
  int count = 0;
  for (const SeenPoint& point : seen.points())
    if (static_cast<double>(point.distance_m()) > world.camera.pupil_distance.value() * 1.05 &&
        point.distance_m() < 4) {
      behind += glm::dvec3(point.place_m());
      ++count;
    }
  if (count == 0) return;
  behind /= count;
  const std::size_t first = world.groups.size() - world.lamps.size();
  for (std::size_t i = 0; i < world.lamps.size(); ++i) {
    if (!world.groups[first + i].on) continue;
    const glm::dvec3 line = behind - world.lamps[i].position_m,
                     beside = glm::normalize(glm::cross(line, glm::dvec3(0, 0, 1)));
    for (const double share : {0.08, 0.16, 0.3})
      for (const double off : {-0.5, 0.0, 0.5})
        add(world.lamps[i].position_m + share * line + off * size_.x * beside, -line);
  }
  for (const double height : {0.1, 0.2, 0.35})
    for (const double nearer : {0.0, 0.15}) add(behind + glm::dvec3(0, 0, height) - nearer * ahead, bright);
}

// On what lies below a place near the target, a little clear of it.
glm::dvec3 CardJob::floor_below(const LightProbe& probe, const glm::dvec3& place) const {
  constexpr float above_m = 0.25f, reach_m = 1.5f;
  constexpr double clear_m = 0.008;
  const glm::dvec3 from = place + glm::dvec3(0, 0, static_cast<double>(above_m));
  const float down = probe.reach(session_.tracer(), {{glm::vec3(from), {0, 0, -1}, reach_m}})[0];
  const double height = down < reach_m ? from.z - static_cast<double>(down) : place.z - 0.1;
  return {place.x, place.y, height + clear_m};
}

// Turned so that its middle throws light of that way at the target; the middle moves as it turns.
glm::dvec3 CardJob::mirroring(const glm::dvec3& foot, const glm::dvec3& outward,
                              const glm::dvec3& light) const {
  constexpr int turns = 4;
  glm::dvec3 facing = glm::normalize(light - outward);
  for (int i = 0; i < turns; ++i) {
    const glm::dvec3 middle = foot + size_.y / 2 * axes_for(facing).v;
    facing = glm::normalize(glm::normalize(result_.target_m - middle) + light);
  }
  return facing;
}

// With the middle of its lower edge there.
void CardJob::lean(const glm::dvec3& foot, const glm::dvec3& facing) {
  const glm::dvec3 v = axes_for(facing).v;
  if (v.z < -1e-9) return;  // it would hang
  // One that lies has its edge nearest to the target at the foot.
  glm::dvec3 outward = foot - result_.target_m;
  outward.z = 0;
  const bool lies = facing.z > 0.999;
  add(foot + size_.y / 2 * (lies ? glm::normalize(outward) : v), facing);
}

// What camera, hand and set forbid; a card's inside may touch nothing.
void CardJob::judge(const LightProbe& probe) {
  std::vector<ProbeRay> lines;
  for (CardPlace& place : result_.places) {
    const std::vector<glm::dvec3> points = points_of(place, size_);
    constexpr double thickness_m = 0.002;
    PlaceWish wish = wish_;
    wish.least_angle_deg = 0;
    wish.hand = false;
    for (const glm::dvec3& point : points)
      place.limits = static_cast<PlaceLimits>(
          place.limits | geometric_limits(session_.world(), wish, result_.target_m, point, thickness_m));
    wish.hand = wish_.hand;
    place.limits = static_cast<PlaceLimits>(
        place.limits |
        (geometric_limits(session_.world(), wish, result_.target_m, place.position_m, thickness_m) &
         (static_cast<PlaceLimits>(PlaceLimit::out_of_reach) | PlaceLimit::arm_in_picture)));
    if (place.edge_m < std::min(wish_.nearest_m, 0.02))
      place.limits = place.limits | PlaceLimit::near_subject;
    for (int k = 0; k < across; ++k)
      for (const auto& [from, to] : {std::pair{points[static_cast<std::size_t>(k * across)],
                                               points[static_cast<std::size_t>(k * across + across - 1)]},
                                     std::pair{points[static_cast<std::size_t>(k)],
                                               points[static_cast<std::size_t>(across * (across - 1) + k)]}})
        lines.push_back({glm::vec3(from), glm::vec3(glm::normalize(to - from)),
                         static_cast<float>(glm::distance(from, to))});
  }
  const std::vector<float> free = probe.reach(session_.tracer(), lines);
  for (std::size_t i = 0; i < lines.size(); ++i)
    if (free[i] < lines[i].length_m) {
      CardPlace& place = result_.places[i / (2 * across)];
      place.limits = place.limits | PlaceLimit::in_the_way;
    }
}

std::optional<Survey> CardJob::survey_at(const glm::dvec3& place, const glm::dvec3& normal,
                                         const Progress& progress) {
  const unsigned passes = survey_passes(request_.quality);
  Survey survey = take_survey(set_.put(place, normal), set_.world(), passes, false, progress);
  if (survey.passes < passes) return std::nullopt;
  return survey;
}

std::optional<Estimate> CardJob::target_change(const Survey& with) const {
  RegionSums now(mix_.size()), before(mix_.size());
  const std::vector<std::uint32_t> parts = target_parts(set_.world(), request_.target);
  for (const std::uint32_t part : parts) now.merge(with.part[part]);
  for (const std::uint32_t part : wish_.target) before.merge(session_.surveyed().part[part]);
  return stops_between(now, mix_, before, mix_);
}

std::optional<Estimate> CardJob::change(const Survey& with, const RegionSums Survey::*region) const {
  const RegionSums &now = with.*region, &before = session_.surveyed().*region;
  return now.empty() || before.empty() ? std::nullopt : stops_between(now, mix_, before, mix_);
}

bool CardJob::render_all() {
  const auto total = static_cast<double>(std::count_if(result_.places.begin(), result_.places.end(),
                                                       [](const CardPlace& p) { return p.limits == 0; }));
  double done = 0;
  for (CardPlace& place : result_.places) {
    if (place.limits != 0) continue;
    const auto survey = survey_at(place.position_m, place.normal,
                                  part(0.1 + 0.6 * done / total, 0.1 + 0.6 * (done + 1) / total));
    if (!survey) return false;
    place.target = target_change(*survey);
    place.backdrop = change(*survey, &Survey::backdrop);
    place.foreground = change(*survey, &Survey::foreground);
    ++done;
  }
  return true;
}

// For a mirror it is the light added to the target, a black card the light taken off the backdrop.
void CardJob::choose() {
  const bool black = result_.use == CardUse::black;
  const auto value = [&](const CardPlace& place) {
    const auto& of = black ? place.backdrop : place.target;
    return of ? std::round(of->value / 0.02) * (black ? -1 : 1) : -1e9;
  };
  const auto spills = [&](const CardPlace& place) {
    if (black) return place.target && -place.target->value > wish_.spill_stops;
    return (place.backdrop && place.backdrop->value > wish_.spill_stops) ||
           (place.foreground && place.foreground->value > wish_.spill_stops);
  };
  std::vector<const CardPlace*> sorted;
  for (CardPlace& place : result_.places) {
    if (place.limits == 0 && spills(place)) place.limits = place.limits | PlaceLimit::spill;
    if (place.limits == 0 && place.target) sorted.push_back(&place);
  }
  std::stable_sort(sorted.begin(), sorted.end(),
                   [&](const CardPlace* a, const CardPlace* b) { return value(*a) > value(*b); });
  for (const CardPlace* place : sorted) {
    if (result_.offers.size() == request_.offers) break;
    if (std::all_of(result_.offers.begin(), result_.offers.end(), [&](const CardPlace& other) {
          return lie_apart(result_.target_m, place->position_m, other.position_m, offers_apart_deg);
        }))
      result_.offers.push_back(*place);
  }
}

// Turned about its level axis, either way: the worse of the two tells.
bool CardJob::try_turned(CardPlace& place, const Progress& progress) {
  const CardAxes axes = axes_for(place.normal);
  for (const double sign : {-1.0, 1.0}) {
    const glm::dvec3 turned =
        std::cos(turn_deg * degree) * place.normal + sign * std::sin(turn_deg * degree) * axes.v;
    const auto survey = survey_at(place.position_m, turned, progress);
    if (!survey) return false;
    const auto now = target_change(*survey);
    if (now) place.turned_stops = std::min(place.turned_stops.value_or(now->value), now->value);
  }
  if (place.target && place.turned_stops)
    place.aim_critical = std::exp2(*place.turned_stops) - 1 < (std::exp2(place.target->value) - 1) / 2;
  return true;
}

bool CardJob::render_offers() {
  const Development how = session_.exposure().development;
  const PictureRequest picture{.width = request_.width,
                               .height = request_.height,
                               .samples = picture_samples(request_.quality),
                               .filtered = request_.filtered};
  const double share = 0.3 / static_cast<double>(result_.offers.size() + 1);
  double from = 0.7;
  const PictureResult without = session_.picture(picture, part(from, from + share));
  if (!without.complete) return false;
  result_.without = without.picture;
  for (CardPlace& place : result_.offers) {
    from += share;
    if (result_.use == CardUse::silver && !try_turned(place, part(from, from + share / 3))) return false;
    Tracer& tracer = set_.put(place.position_m, place.normal);
    std::optional<DisplayFilter> filter;
    if (request_.filtered) filter.emplace(shaders_, tracer);
    const PictureResult with =
        render_picture(tracer, session_.developer(), set_.world(), picture, how,
                       part(from + share / 3, from + share), filter ? &*filter : nullptr);
    if (!with.complete) return false;
    result_.pictures.push_back(with.picture);
  }
  return true;
}

}  // namespace

Scene scene_without_card(const Scene& scene, const std::string& card) {
  (void)card_of(scene, card);
  Scene bare = scene;
  for (Prop& prop : bare.props)
    if (prop.name == card) prop.visible = false;
  return bare;
}

std::optional<CardResult> run_place_card(const ShaderLibrary& shaders, Session& session, const Scene& scene,
                                         const CardRequest& request, const Progress& progress) {
  UNDERCAP_CHECK(request.offers <= most_offers, "more places than a sheet holds");
  return CardJob(shaders, session, scene, request, progress).run();
}

}  // namespace undercap
