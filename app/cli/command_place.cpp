#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/cli/common.h"
#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/report/light_sheet.h"
#include "engine/report/paint.h"
#include "engine/report/paint_drawing.h"
#include "engine/session/place.h"
#include "engine/session/place_card.h"
#include "engine/session/place_page.h"

namespace undercap {
namespace {

// What a scene without a lamp is searched with: a pocket torch, generic (common practice, no source).
constexpr const char* pocket_torch = R"(name = "torch"
kind = "torch"
on = false
position_m = {}
aim = {}
flux_lm = 400
beam_deg = 60
diameter_mm = 25
)";

PlaceColumn column_of(const std::string& word) {
  for (const PlaceColumn column : place_columns)
    if (word == column_name(column)) return column;
  return PlaceColumn::evenness;
}

Address target_of(const std::string& text) {
  const auto address = Address::parse(text);
  if (!address || address->of != Address::Of::prop)
    throw Refusal(fmt::format("--target '{}'; allowed: prop, prop/part or prop.2/part", text));
  return *address;
}

std::vector<std::string> sheets_of(const SharedOptions& options) {
  if (options.noise_pct || options.seconds)
    throw Refusal("place takes its samples by --quality: leave --noise and --seconds out");
  std::vector<std::string> sheets = options.outputs;
  if (sheets.empty()) sheets.push_back(std::filesystem::path(options.scene).stem().string() + "-light.png");
  for (const std::string& sheet : sheets) format_of("-o", sheet, {".png", ".pdf"});
  std::vector<std::string> all = sheets;
  if (!options.csv.empty()) {
    format_of("--csv", options.csv, {".csv"});
    all.push_back(options.csv);
  }
  if (!options.place.map.empty()) {
    format_of("--map", options.place.map, {".pdf", ".svg", ".png"});
    all.push_back(options.place.map);
  }
  check_outputs(options, all);
  return sheets;
}

PlaceRequest request_of(const SharedOptions& options, const Scene& scene, const Size& size) {
  const PlaceOptions& asked = options.place;
  PlaceRequest request{.source = asked.source};
  if (asked.source.empty() && !scene.sources.empty()) request.source = scene.sources.front().name;
  if (!asked.target.empty()) request.target = target_of(asked.target);
  request.wish.rise_stops = asked.rise_stops;
  request.wish.sides_stops = asked.sides_stops;
  if (asked.sides_stops && !asked.target.empty())
    throw Refusal("--sides is about the whole subject: leave --target out");
  request.wish.spill_stops = asked.spill_stops;
  request.wish.hand = asked.hand;
  if (asked.least_angle_deg) request.wish.least_angle_deg = *asked.least_angle_deg;
  if (asked.nearest_cm) request.wish.nearest_m = *asked.nearest_cm / 100;
  if (asked.off_axis_cm) request.wish.off_axis_m = *asked.off_axis_cm / 100;
  request.aim_as_set = asked.aim == "scene";
  for (const Source& source : scene.sources)
    if (source.name == request.source) request.space = space_for(source);
  request.space.over = asked.over == "plane" ? CandidateSpace::Over::plane
                       : asked.over == "box" ? CandidateSpace::Over::box
                                             : CandidateSpace::Over::shell;
  request.space.near_m = asked.near_m.value_or(request.space.near_m);
  request.space.far_m = asked.far_m.value_or(request.space.far_m);
  request.space.height_m = asked.height_m.value_or(request.space.height_m);
  if (request.space.near_m >= request.space.far_m)
    throw Refusal(
        fmt::format("--near {:g} is not below --far {:g}", request.space.near_m, request.space.far_m));
  request.sort = column_of(asked.sort);
  request.offers = static_cast<std::size_t>(asked.offers);
  if (asked.least_power_pct) request.least_power_pct = *asked.least_power_pct;
  request.quality = options.quality;
  request.width = size.width;
  request.height = size.height;
  request.filtered = options.filtered;
  return request;
}

nlohmann::ordered_json number_or_null(const std::optional<double>& value) {
  return value && std::isfinite(*value) ? nlohmann::ordered_json(*value) : nlohmann::ordered_json(nullptr);
}

nlohmann::ordered_json fields_json(const PlaceFields& place) {
  return {{"position_m", {place.position_m.x, place.position_m.y, place.position_m.z}},
          {"direction", {place.direction.x, place.direction.y, place.direction.z}},
          {"distance_m", place.distance_m},
          {"from_lens_axis_deg", place.angle_deg},
          {"size_deg", place.size_deg},
          {"power_pct", number_or_null(place.power_pct)},
          {"backdrop_stops", place.backdrop_stops},
          {"foreground_stops", place.foreground_stops},
          {"evenness_stops", place.evenness_stops},
          {"shadow_edge_mm", number_or_null(place.penumbra_mm)},
          {"lit_pct", 100 * place.lit_share},
          {"hidden", place.hidden}};
}

nlohmann::ordered_json offer_json(const World& world, const LightQuestion& asked, const OfferedPlace& offer) {
  const LevelWays& ways = offer.ways;
  return {{"words", holding_words(world, asked, offer.fields)},
          {"how", level_words(asked, offer)},
          {"map", fields_json(offer.fields)},
          {"power_pct", offer.power_pct},
          {"power_se_pct", offer.power_se_pct},
          {"predicted_rise_stops",
           number_or_null(asked.wish.sides_stops ? std::nullopt : std::optional(asked.wish.rise_stops))},
          {"rendered_rise_stops", offer.rise.value},
          {"rendered_rise_se_stops", offer.rise.se},
          {"map_error_stops", offer.map_error_stops},
          {"lit_side_lx",
           number_or_null(offer.sides ? std::optional(offer.sides->lit_lx.estimate.value) : std::nullopt)},
          {"shadow_side_lx",
           number_or_null(offer.sides ? std::optional(offer.sides->shadow_lx.estimate.value) : std::nullopt)},
          {"sides_stops", number_or_null(offer.sides && offer.sides->stops
                                             ? std::optional(offer.sides->stops->estimate.value)
                                             : std::nullopt)},
          {"backdrop_stops", offer.backdrop_stops},
          {"foreground_stops", offer.foreground_stops},
          {"distance_at_least_power_m", number_or_null(ways.least_distance_m)},
          {"distance_at_full_power_m", number_or_null(ways.full_distance_m)},
          {"diffused_power_pct", number_or_null(ways.diffused_pct)},
          {"bounced_power_pct", number_or_null(ways.bounced_pct)},
          {"on_s", number_or_null(ways.on_s)},
          {"on_at_least_power_s", number_or_null(ways.least_on_s)}};
}

void print_json(const World& world, const LightQuestion& asked, const PlaceResult& result) {
  nlohmann::ordered_json offers = nlohmann::ordered_json::array(), best = nlohmann::ordered_json::array();
  for (const OfferedPlace& offer : result.offers) offers.push_back(offer_json(world, asked, offer));
  for (const PlaceFields& place : result.unbeaten) best.push_back(fields_json(place));
  nlohmann::ordered_json root{
      {"undercap", UNDERCAP_VERSION},
      {"source", asked.source},
      {"target", asked.target},
      {"target_m", {asked.target_m.x, asked.target_m.y, asked.target_m.z}},
      {"places_tried", result.places.size()},
      {"offers", offers},
      {"unbeaten", best},
      {"kept_out", limit_counts(result.places)},
      {"relax_first", result.relaxing ? nlohmann::ordered_json(relaxing_words(world, asked, *result.relaxing))
                                      : nlohmann::ordered_json(nullptr)},
      {"notes", result.notes}};
  fmt::print("{}\n", root.dump(2));
}

void print_answer(const SharedOptions& options, const World& world, const LightQuestion& asked,
                  const PlaceResult& result) {
  for (std::size_t i = 0; i < result.offers.size(); ++i) {
    const OfferedPlace& offer = result.offers[i];
    print_hanging(offer_letter(i) + "  ", holding_words(world, asked, offer.fields));
    print_hanging(
        "   ",
        fmt::format("{}; shadow edges {}; map off by {:+.2f} stop", rendered_words(asked, offer),
                    offer.fields.penumbra_mm ? fmt::format("{:.1f} mm", *offer.fields.penumbra_mm) : "none",
                    offer.map_error_stops));
    if (offer.sides) print_hanging("   ", sides_words(*offer.sides));
    for (const std::string& words : level_words(asked, offer)) print_hanging("   - ", words);
  }
  if (options.place.all_unbeaten) {
    fmt::print(
        "\nnothing beats these in power, spill and evenness together\n   power %   spill stops   uneven "
        "stops   axis deg   place\n");
    for (const PlaceFields& place : result.unbeaten)
      fmt::print("{:10.3g} {:13.2f} {:14.2f} {:10.0f}   {}\n", place.power_pct,
                 std::max(place.backdrop_stops, place.foreground_stops), place.evenness_stops,
                 place.angle_deg, holding_words(world, asked, place));
  }
  if (result.offers.empty() || result.relaxing)
    print_hanging("", fmt::format("No place does it{}: {}.", result.offers.empty() ? "" : " as wished",
                                  fmt::join(limit_counts(result.places), "; ")));
  if (result.relaxing) {
    fmt::print("Relax first{}:\n", result.offers.empty() ? "" : ", as those above do");
    for (const std::string& words : relaxing_words(world, asked, *result.relaxing))
      print_hanging("  - ", words);
  }
}

nlohmann::ordered_json card_json(const World& world, const LightQuestion& asked, CardUse use,
                                 const CardPlace& place) {
  const auto stops = [](const std::optional<Estimate>& change) {
    return number_or_null(change ? std::optional(change->value) : std::nullopt);
  };
  return {{"words", card_words(world, asked, place)},
          {"effects", card_effects(use, place)},
          {"position_m", {place.position_m.x, place.position_m.y, place.position_m.z}},
          {"normal", {place.normal.x, place.normal.y, place.normal.z}},
          {"edge_m", place.edge_m},
          {"from_lens_axis_deg", place.angle_deg},
          {"target_stops", stops(place.target)},
          {"backdrop_stops", stops(place.backdrop)},
          {"foreground_stops", stops(place.foreground)},
          {"turned_by_20_deg_stops", number_or_null(place.turned_stops)},
          {"aim_critical", place.aim_critical}};
}

std::vector<std::string> card_limits(const CardResult& result) {
  std::vector<PlaceFields> places;
  for (const CardPlace& place : result.places) places.emplace_back().limits = place.limits;
  return limit_counts(places);
}

void print_cards_json(const World& world, const LightQuestion& asked, const CardResult& result) {
  nlohmann::ordered_json offers = nlohmann::ordered_json::array();
  for (const CardPlace& place : result.offers) offers.push_back(card_json(world, asked, result.use, place));
  const nlohmann::ordered_json root{
      {"undercap", UNDERCAP_VERSION},         {"card", asked.source}, {"target", asked.target},
      {"places_tried", result.places.size()}, {"offers", offers},     {"kept_out", card_limits(result)}};
  fmt::print("{}\n", root.dump(2));
}

void print_cards(const World& world, const LightQuestion& asked, const CardResult& result) {
  for (std::size_t i = 0; i < result.offers.size(); ++i) {
    print_hanging(offer_letter(i) + "  ", card_words(world, asked, result.offers[i]));
    for (const std::string& words : card_effects(result.use, result.offers[i])) print_hanging("   - ", words);
  }
  const std::string kept_out = fmt::format("{}", fmt::join(card_limits(result), "; "));
  if (result.offers.empty()) print_hanging("", fmt::format("No place does it: {}.", kept_out));
  const bool raises = result.use != CardUse::black;
  if (!result.offers.empty() && raises && result.offers[0].target &&
      result.offers[0].target->value < asked.wish.rise_stops)
    print_hanging("", fmt::format("The most that this card gives is {:+.2f} of {:+.2f} stop: relax the rise, "
                                  "hold a larger card, or bring a lamp.",
                                  result.offers[0].target->value, asked.wish.rise_stops));
}

// Below the map: where each letter stands, or what to relax.
std::vector<std::string> answer_words(const World& world, const LightQuestion& asked,
                                      const PlaceResult& result) {
  std::vector<std::string> words;
  for (std::size_t i = 0; i < result.offers.size(); ++i)
    words.push_back(fmt::format("{}: {}; {}", offer_letter(i),
                                holding_words(world, asked, result.offers[i].fields),
                                level_words(asked, result.offers[i]).front()));
  if (result.relaxing)
    for (const std::string& step : relaxing_words(world, asked, *result.relaxing))
      words.push_back("Relaxed: " + step);
  words.push_back(light_cautions());
  return words;
}

// A4's half, as one carries; what a scene without one is searched with by the words white, silver and black.
std::optional<std::string> card_block(const std::string& word) {
  constexpr std::pair<const char*, const char*> known[] = {
      {"white", "white_card"}, {"silver", "silver_foil"}, {"black", "black_card"}};
  for (const auto& [name, row] : known)
    if (word == name)
      return fmt::format(
          "[[prop]]\nname = \"{}\"\nkind = \"card\"\nat_m = [0, 0, 1]\nsize_mm = [210, 148]\nvisible = "
          "false\n[prop.material.surface]\nof = \"{}\"\n",
          name, row);
  return std::nullopt;
}

int run_place_a_card(const SharedOptions& options, SceneFile file, const std::vector<std::string>& sheets) {
  if (!options.place.map.empty() || !options.csv.empty())
    throw Refusal("a card has no map, since each place is rendered: leave --map and --csv out");
  Scene scene = file.scene();
  const std::string& card = options.place.card;
  const bool there = std::any_of(scene.props.begin(), scene.props.end(),
                                 [&](const Prop& prop) { return prop.name == card; });
  if (const auto block = card_block(card); block && !there) {
    file.add_block(*block, "place");
    scene = file.scene();
    tell(options, fmt::format("note: the scene has no card '{}'; one of A5 is tried", card));
  }
  const Size size = picture_size(options, scene, 480);
  const PlaceRequest asked_for = request_of(options, scene, size);
  CardRequest request{.card = card,
                      .target = asked_for.target,
                      .wish = asked_for.wish,
                      .offers = asked_for.offers,
                      .quality = options.quality,
                      .width = size.width,
                      .height = size.height,
                      .filtered = options.filtered};
  const HeadlessContext context(options.device);
  const ShaderLibrary shaders = shader_library(options);
  tell(options, fmt::format("{}: placing the card '{}' on {}", scene.file, card, context.renderer()));
  const Typeface typeface;
  Session session(shaders, scene_without_card(scene, card), options.quality);
  std::optional<CardResult> result;
  {
    ProgressBar bar(options, "places of the card");
    result = run_place_card(shaders, session, scene, request, bar.callback());
  }
  if (!result) {
    tell(options, "stopped before every place was there; nothing is written");
    return exit_interrupted;
  }
  const World& world = session.world();
  const LightQuestion asked{
      .source = card, .target = result->target_words, .wish = request.wish, .target_m = result->target_m};
  if (options.json)
    print_cards_json(world, asked, *result);
  else
    print_cards(world, asked, *result);
  if (!result->offers.empty()) {
    std::vector<Picture8> pictures{result->without};
    pictures.insert(pictures.end(), result->pictures.begin(), result->pictures.end());
    const Page page =
        lay_out(card_sheet(world, asked, result->use, result->offers,
                           {.samples = picture_samples(options.quality),
                            .made_by = fmt::format("Undercap {}, {}", UNDERCAP_VERSION, context.renderer()),
                            .width = size.width,
                            .height = size.height}),
                typeface);
    for (const std::string& sheet : sheets) {
      write_page(options, sheet, page, pictures, typeface, file.text());
      tell(options, "wrote " + sheet);
    }
  }
  return exit_done;
}

}  // namespace

int run_place_search(const SharedOptions& options) {
  SceneFile file = open_scene(options);
  Scene scene = file.scene();
  if (!options.place.card.empty()) return run_place_a_card(options, file, sheets_of(options));
  if (scene.sources.empty() && options.place.source.empty()) {
    const glm::dvec3& eye = scene.camera.position_m;
    const std::string where = fmt::format("[{}, {}, {}]", eye.x - 0.3, eye.y, eye.z + 0.1);
    file.add_block("[[source]]\n" + fmt::format(fmt::runtime(pocket_torch), where,
                                                fmt::format("[{}, {}, {}]", eye.x, eye.y + 1, eye.z)),
                   "place");
    scene = file.scene();
    tell(options, "note: the scene has no lamp; a pocket torch is tried: 400 lm, 60 degrees, 25 mm");
  }
  const std::vector<std::string> sheets = sheets_of(options);
  const Size size = picture_size(options, scene, 480);
  const PlaceRequest request = request_of(options, scene, size);
  const HeadlessContext context(options.device);
  const ShaderLibrary shaders = shader_library(options);
  tell(options, fmt::format("{}: placing '{}' on {}", scene.file, request.source, context.renderer()));
  const Typeface typeface;
  Session session(shaders, scene_to_place_in(scene, request.source), options.quality);
  std::optional<PlaceResult> result;
  {
    ProgressBar bar(options, "places and pictures");
    result = run_place(shaders, session, scene, request, bar.callback());
  }
  if (!result) {
    tell(options, "stopped before every place was there; nothing is written");
    return exit_interrupted;
  }
  const World& world = session.world();
  const LightQuestion asked = light_question(request, *result);
  if (options.json)
    print_json(world, asked, *result);
  else
    print_answer(options, world, asked, *result);
  std::vector<std::string> written;
  const PlaceMap map = light_map(world, asked, result->plan, result->elevation, slice_side, result->offers);
  if (!options.place.map.empty()) {
    const std::string title =
        fmt::format("{}: where to hold the {}", scene.title.empty() ? "A set" : scene.title, asked.source);
    write_drawing(place_sheet(world, map, title, answer_words(world, asked, *result)), options.place.map,
                  options.force);
    written.push_back(options.place.map);
  }
  if (!options.csv.empty()) {
    write_file(options.csv, places_csv(world, result->places, result->target_m), options.force);
    written.push_back(options.csv);
  }
  if (!result->offers.empty()) {
    const auto [page, pictures] =
        place_page(world, request, *result,
                   fmt::format("Undercap {}, {}", UNDERCAP_VERSION, context.renderer()), typeface);
    for (const std::string& sheet : sheets) {
      write_page(options, sheet, page, pictures, typeface, file.text());
      written.push_back(sheet);
    }
  }
  for (const std::string& note : result->notes) tell(options, "note: " + note);
  tell(options, fmt::format("{} places in {:.2f} s", result->places.size(), result->map_s));
  for (const std::string& name : written) tell(options, "wrote " + name);
  return exit_done;
}

}  // namespace undercap
