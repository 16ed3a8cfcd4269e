#include "engine/report/light_sheet.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <limits>

#include "engine/report/plan.h"
#include "engine/report/sketch.h"

namespace undercap {
namespace {

std::string percent_words(double pct) {
  if (pct < 0.095) return fmt::format("{:.2g} %", pct);
  return pct < 9.95 ? fmt::format("{:.1f} %", pct) : fmt::format("{:.0f} %", pct);
}

// "1/32" of full power, to the nearest third of a stop: what flashes are set to.
std::string fraction_words(double pct) {
  const int thirds = static_cast<int>(std::lround(-3 * std::log2(pct / 100)));
  if (thirds <= 0) return "full power";
  const int stops = (thirds + 2) / 3, above = 3 * stops - thirds;
  const std::string fraction = fmt::format("1/{}", 1 << std::min(stops, 20));
  return above == 0 ? fraction : fmt::format("{} + {:.1f} stop", fraction, above == 1 ? 0.3 : 0.7);
}

}  // namespace

std::string power_words(const LightQuestion& asked, double pct) {
  return asked.flash ? fraction_words(pct) : percent_words(pct);
}

namespace {

std::string seconds_words(double seconds) {
  return seconds < 9.95 ? fmt::format("{:.1f} s", seconds) : fmt::format("{:.0f} s", seconds);
}

// A lamp that is on for part of the exposure, and whether a hand can do it.
std::string switch_words(double on_s, double shutter_s, const std::string& at) {
  if (on_s < least_switch_s)
    return fmt::format("on for {:.2f} of {} {} is too short for a hand, which needs {:g} s", on_s,
                       seconds_words(shutter_s), at, least_switch_s);
  return fmt::format("on for {} of {} {}", seconds_words(on_s), seconds_words(shutter_s), at);
}

}  // namespace

std::string offer_letter(std::size_t number) { return std::string(1, static_cast<char>('A' + number)); }

std::string light_cautions() {
  return "Do not look into a bright lamp. Keep mains and flash out of the wet. Disturb as little as you can "
         "and put things "
         "back; local rules come first. A rendered picture is not a photograph.";
}

std::string holding_words(const World& world, const LightQuestion& asked, const PlaceFields& place) {
  return fmt::format("{}, lamp front {} from {}, {}, {:.0f}\xc2\xb0 from the lens axis{}",
                     clock_place_words(world, place.position_m, asked.target_m),
                     length_words(place.distance_m), asked.target, height_words(world, place.position_m),
                     place.angle_deg, place.hidden ? "; hidden from the camera" : "");
}

std::string wish_words(const LightQuestion& asked) {
  if (asked.wish.sides_stops)
    return fmt::format("lit side {:.1f} stop above the shadow side of {}", *asked.wish.sides_stops,
                       asked.target);
  return fmt::format("{} {:+.1f} stop", asked.target, asked.wish.rise_stops);
}

namespace {

// To three figures: "324 lx", "4510 lx".
std::string lux_words(double lux) {
  const double step = std::pow(10, std::max(0.0, std::floor(std::log10(std::max(lux, 1e-9))) - 2));
  return lux < 10 ? fmt::format("{:.2g} lx", lux) : fmt::format("{:.0f} lx", std::round(lux / step) * step);
}

// For a narrow column.
std::string short_sides(const Sides& sides) {
  const std::string apart =
      sides.stops ? fmt::format(", {:.1f} stop apart", sides.stops->estimate.value) : std::string();
  return fmt::format("{} against {}{}", lux_words(sides.lit_lx.estimate.value),
                     lux_words(sides.shadow_lx.estimate.value), apart);
}

}  // namespace

std::string sides_words(const Sides& sides) {
  const double lit = sides.lit_lx.estimate.value, shadow = sides.shadow_lx.estimate.value;
  return fmt::format("lit side {}, shadow side {}{}", lux_words(lit), lux_words(shadow),
                     sides.stops ? fmt::format(", {:.2f} \xc2\xb1 {:.2f} stop apart",
                                               sides.stops->estimate.value, sides.stops->estimate.se)
                                 : std::string());
}

std::vector<std::string> level_words(const LightQuestion& asked, const OfferedPlace& offer) {
  const LevelWays& ways = offer.ways;
  const double shutter = asked.shutter.value();
  std::vector<std::string> words;
  words.push_back(
      fmt::format("power {} (\xc2\xb1 {:.2g} %)", power_words(asked, ways.power_pct), offer.power_se_pct));
  const bool too_strong = ways.power_pct < asked.least_power_pct;
  if (too_strong) {
    words.push_back(fmt::format("a lamp that stops at {} is {:.1f} stops too strong there",
                                power_words(asked, asked.least_power_pct),
                                std::log2(asked.least_power_pct / ways.power_pct)));
    words.push_back(ways.least_distance_m
                        ? fmt::format("at {} move back to {}", power_words(asked, asked.least_power_pct),
                                      length_words(*ways.least_distance_m))
                        : "moving back on this line does not do it within 3 m");
  }
  if (ways.full_distance_m)
    words.push_back(fmt::format("at full power stand {} off", length_words(*ways.full_distance_m)));
  if (ways.diffused_pct && *ways.diffused_pct <= 100)
    words.push_back(fmt::format("through a diffuser {}", power_words(asked, *ways.diffused_pct)));
  if (ways.bounced_pct && *ways.bounced_pct <= 100)
    words.push_back(fmt::format("off a white A5 card held there, the whole beam on it, {}",
                                power_words(asked, *ways.bounced_pct)));
  if (offer.fields.nearest_m < least_hold_m)
    words.push_back(fmt::format("nearer than {:.0f} cm no hand holds it steady", least_hold_m * 100));
  // A switch is no use in a short exposure.
  if (shutter < 2 * least_switch_s) return words;
  if (ways.least_on_s)
    words.push_back(switch_words(*ways.least_on_s, shutter,
                                 fmt::format("at {}", power_words(asked, asked.least_power_pct))));
  if (ways.on_s) words.push_back(switch_words(*ways.on_s, shutter, "at full power"));
  return words;
}

std::string rendered_words(const LightQuestion& asked, const OfferedPlace& offer) {
  const std::string predicted =
      asked.wish.sides_stops ? std::string() : fmt::format("predicted {:+.2f}, ", asked.wish.rise_stops);
  return fmt::format(
      "rise {}rendered {:+.2f} \xc2\xb1 {:.2f} stop; spill {:+.2f} behind, {:+.2f} before; "
      "uneven by {:.1f} stop",
      predicted, offer.rise.value, offer.rise.se, offer.backdrop_stops, offer.foreground_stops,
      offer.fields.evenness_stops);
}

namespace {

std::string step_words(const Relaxing::Step& step) {
  switch (step.limit) {
    case PlaceLimit::spill:
      return fmt::format("allow {:.2f} stop of spill in place of {:.2f}", step.to, step.from);
    case PlaceLimit::power:
      return fmt::format("bring a lamp {:.1f} stops stronger", std::log2(step.to / step.from));
    case PlaceLimit::flat:
      return fmt::format("let the lamp come to {:.0f}\xc2\xb0 from the lens axis in place of {:.0f}\xc2\xb0",
                         step.to, step.from);
    case PlaceLimit::near_subject:
      return fmt::format("let the lamp come to {} from the subject in place of {}", length_words(step.to),
                         length_words(step.from));
    case PlaceLimit::near_axis:
      return "let the lamp come nearer to the lens axis";
    case PlaceLimit::out_of_reach:
      return fmt::format("put the lamp on a stand: it is {} from the camera, and a hand reaches {}",
                         length_words(step.to), length_words(step.from));
    case PlaceLimit::arm_in_picture:
      return "put the lamp on a stand: the arm would be in the picture";
    default:
      return std::string(limit_words(step.limit));
  }
}

}  // namespace

std::vector<std::string> relaxing_words(const World& world, const LightQuestion& asked,
                                        const Relaxing& relaxing) {
  std::vector<std::string> words;
  for (const Relaxing::Step& step : relaxing.steps) words.push_back(step_words(step));
  words.push_back("then this would do: " + holding_words(world, asked, relaxing.place));
  return words;
}

std::string limits_words(PlaceLimits limits) {
  std::string words;
  for (int bit = 0; bit < place_limits; ++bit)
    if (const auto limit = static_cast<PlaceLimit>(1 << bit); has(limits, limit))
      words += fmt::format("{}{}", words.empty() ? "" : "; ", limit_words(limit));
  return words;
}

std::vector<std::string> limit_counts(const std::vector<PlaceFields>& places) {
  std::vector<std::pair<std::size_t, PlaceLimit>> counts;
  for (int bit = 0; bit < place_limits; ++bit) {
    const auto limit = static_cast<PlaceLimit>(1 << bit);
    const auto count = std::count_if(places.begin(), places.end(),
                                     [&](const PlaceFields& place) { return has(place.limits, limit); });
    if (count > 0) counts.emplace_back(static_cast<std::size_t>(count), limit);
  }
  std::stable_sort(counts.begin(), counts.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<std::string> words;
  for (const auto& [count, limit] : counts)
    words.push_back(fmt::format("{} of {}: {}", count, places.size(), limit_words(limit)));
  return words;
}

namespace {

MapArea area_of(const PlaceFields& place) {
  constexpr PlaceLimits of_light =
      static_cast<PlaceLimits>(PlaceLimit::no_light) | PlaceLimit::spill | PlaceLimit::power;
  if ((place.limits & ~of_light) != 0) return MapArea::not_allowed;
  if (has(place.limits, PlaceLimit::no_light)) return MapArea::no_light;
  return has(place.limits, PlaceLimit::spill) ? MapArea::too_much_spill : MapArea::free;
}

MapSlice slice_of(const World& world, DrawingView::Kind kind, const std::vector<PlaceFields>& places,
                  int side) {
  const DrawingAxes axes = axes_of(world);
  MapSlice slice{.kind = kind};
  slice.field.low = drawing_place(axes, kind, places.front().position_m);
  slice.field.high = drawing_place(axes, kind, places.back().position_m);
  slice.field.across = slice.field.up = side;
  for (const PlaceFields& place : places) {
    const bool known = place.power_pct > 0 && std::isfinite(place.power_pct);
    slice.field.value.push_back(known ? place.power_pct : std::numeric_limits<double>::quiet_NaN());
    slice.limit.push_back(area_of(place));
  }
  const glm::dvec3& through = places.front().position_m;
  slice.at_m = kind == DrawingView::Kind::plan ? through.z : glm::dot(glm::dvec2(through), axes.right);
  return slice;
}

}  // namespace

PlaceMap light_map(const World& world, const LightQuestion& asked, const std::vector<PlaceFields>& plan,
                   const std::vector<PlaceFields>& elevation, int side,
                   const std::vector<OfferedPlace>& offers) {
  PlaceMap map{.plan = slice_of(world, DrawingView::Kind::plan, plan, side),
               .elevation = slice_of(world, DrawingView::Kind::elevation, elevation, side)};
  for (std::size_t i = 0; i < offers.size(); ++i)
    map.marks.push_back({offer_letter(i), offers[i].fields.position_m});
  map.unit_words = fmt::format("per cent of the {}'s power for {}", asked.source, wish_words(asked));
  return map;
}

ContactSheet light_sheet(const World& world, const LightQuestion& asked,
                         const std::vector<OfferedPlace>& offers, const LightSheetFacts& facts) {
  ContactSheet sheet;
  sheet.title = fmt::format("{}: where to hold the {}",
                            world.scene.title.empty() ? "A set" : world.scene.title, asked.source);
  sheet.under_title =
      fmt::format("Wished: {}, at most {:.2f} stop on backdrop and foreground. Same exposure everywhere.",
                  wish_words(asked), asked.wish.spill_stops);
  if (asked.relaxing) {
    std::vector<std::string> steps;
    for (const Relaxing::Step& step : asked.relaxing->steps) steps.push_back(step_words(step));
    sheet.under_title += fmt::format(" No place does it; relaxed: {}.", fmt::join(steps, "; "));
  }
  sheet.figure_aspect = facts.figure_aspect;
  sheet.upright = true;
  sheet.columns = 2;
  const auto cell = [&](const std::string& name, const std::vector<SheetRow>& rows) {
    sheet.cells.push_back({name, rows, facts.width, facts.height});
  };
  cell("Without", {{asked.target, "as the light is"}});
  for (std::size_t i = 0; i < offers.size(); ++i) {
    const OfferedPlace& offer = offers[i];
    const PlaceFields& place = offer.fields;
    const std::string edges =
        place.penumbra_mm ? fmt::format("shadow edges {:.1f} mm", *place.penumbra_mm) : "no shadow on it";
    cell(fmt::format("{}: {}, {}, {:.0f}\xc2\xb0", offer_letter(i),
                     clock_place_words(world, place.position_m, asked.target_m),
                     length_words(place.distance_m), place.angle_deg),
         {{"power", power_words(asked, offer.power_pct)},
          {"rise, rendered", fmt::format("{:+.2f} \xc2\xb1 {:.2f} stop", offer.rise.value, offer.rise.se)},
          {"spill",
           fmt::format("{:+.2f} behind, {:+.2f} before", offer.backdrop_stops, offer.foreground_stops)},
          {"form", fmt::format("uneven by {:.1f} stop, {}", place.evenness_stops, edges)},
          {"sides", offer.sides ? short_sides(*offer.sides) : std::string("too small to tell")}});
    sheet.small.push_back(fmt::format("{}: {}. {}.", offer_letter(i), holding_words(world, asked, place),
                                      fmt::join(level_words(asked, offer), "; ")));
  }
  double error = 0;
  for (const OfferedPlace& offer : offers) error = std::max(error, std::abs(offer.map_error_stops));
  sheet.small.push_back(fmt::format(
      "Clock seen from above, camera at six. The map is an estimate by direct light; its power was off by up "
      "to {:.2f} "
      "stop of rise. Powers and rises are of renders, bounced light included. {} samples a pixel.",
      error, facts.samples));
  sheet.small.push_back(facts.made_by + ".");
  sheet.caution = light_cautions();
  return sheet;
}

std::string card_words(const World& world, const LightQuestion& asked, const CardPlace& place) {
  return fmt::format("{}, edge {} from {}, its middle {}, {:.0f}\xc2\xb0 from the lens axis",
                     clock_place_words(world, place.position_m, asked.target_m), length_words(place.edge_m),
                     asked.target, height_words(world, place.position_m), place.angle_deg);
}

namespace {

std::string change_words(const std::optional<Estimate>& change) {
  return change ? fmt::format("{:+.2f} \xc2\xb1 {:.2f} stop", change->value, change->se)
                : std::string("not seen");
}
std::string short_change(const std::optional<Estimate>& change) {
  return change ? fmt::format("{:+.2f}", change->value) : std::string("-");
}

}  // namespace

std::vector<std::string> card_effects(CardUse use, const CardPlace& place) {
  std::vector<std::string> words{fmt::format("target {}", change_words(place.target)),
                                 fmt::format("backdrop {}, foreground {} stop", short_change(place.backdrop),
                                             short_change(place.foreground))};
  if (use == CardUse::silver && place.turned_stops)
    words.push_back(fmt::format("{}turned by 20\xc2\xb0 it gives {:+.2f} stop",
                                place.aim_critical ? "aim-critical: " : "", *place.turned_stops));
  return words;
}

ContactSheet card_sheet(const World& world, const LightQuestion& asked, CardUse use,
                        const std::vector<CardPlace>& offers, const LightSheetFacts& facts) {
  ContactSheet sheet;
  sheet.title = fmt::format("{}: where to hold the {}",
                            world.scene.title.empty() ? "A set" : world.scene.title, asked.source);
  sheet.under_title =
      use == CardUse::black
          ? fmt::format(
                "To take light off the backdrop, at most {:.2f} stop off {}. Same exposure everywhere.",
                asked.wish.spill_stops, asked.target)
          : fmt::format("To raise {}, at most {:.2f} stop on anything else. Same exposure everywhere.",
                        asked.target, asked.wish.spill_stops);
  sheet.upright = true;
  sheet.columns = 2;
  sheet.cells.push_back({"Without", {{asked.target, "as the light is"}}, facts.width, facts.height});
  for (std::size_t i = 0; i < offers.size(); ++i) {
    const CardPlace& place = offers[i];
    sheet.cells.push_back(
        {fmt::format("{}: {}, {}", offer_letter(i),
                     clock_place_words(world, place.position_m, asked.target_m), length_words(place.edge_m)),
         {{"target", change_words(place.target)},
          {"elsewhere",
           fmt::format("{} behind, {} before", short_change(place.backdrop), short_change(place.foreground))},
          {use == CardUse::silver ? "aim" : "", use != CardUse::silver ? ""
                                                : place.aim_critical   ? "critical"
                                                                       : "not critical"}},
         facts.width,
         facts.height});
    sheet.small.push_back(fmt::format("{}: {}. {}.", offer_letter(i), card_words(world, asked, place),
                                      fmt::join(card_effects(use, place), "; ")));
  }
  sheet.small.push_back(
      fmt::format("Clock seen from above, camera at six. Every number is of a render with the card against "
                  "one without. {} samples a pixel.",
                  facts.samples));
  sheet.small.push_back(facts.made_by + ".");
  sheet.caution = light_cautions();
  return sheet;
}

std::string places_csv(const World& world, const std::vector<PlaceFields>& places,
                       const glm::dvec3& target_m) {
  std::string csv =
      "x_m,y_m,z_m,clock,distance_cm,from_lens_axis_deg,size_deg,power_pct,backdrop_stops,foreground_stops,"
      "evenness_stops,"
      "shadow_edge_mm,lit_pct,hidden,limits\n";
  for (const PlaceFields& place : places) {
    csv += fmt::format(
        "{:.4f},{:.4f},{:.4f},{},{:.1f},{:.1f},{:.2f},{},{:.3f},{:.3f},{:.3f},{},{:.1f},{},{}\n",
        place.position_m.x, place.position_m.y, place.position_m.z,
        clock_place_words(world, place.position_m, target_m), place.distance_m * 100, place.angle_deg,
        place.size_deg, std::isfinite(place.power_pct) ? fmt::format("{:.4g}", place.power_pct) : "",
        place.backdrop_stops, place.foreground_stops, place.evenness_stops,
        place.penumbra_mm ? fmt::format("{:.2f}", *place.penumbra_mm) : "", 100 * place.lit_share,
        place.hidden ? "yes" : "no", limits_words(place.limits));
  }
  return csv;
}

}  // namespace undercap
