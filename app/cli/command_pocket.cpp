#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/cli/common.h"
#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/image/png.h"
#include "engine/report/paint_drawing.h"
#include "engine/session/pocket.h"
#include "engine/session/taken.h"

namespace undercap {
namespace {

std::vector<std::string> cards_of(const SharedOptions& options) {
  if (options.noise_pct || options.seconds)
    throw Refusal("pocket takes its samples by --quality: leave --noise and --seconds out");
  std::vector<std::string> cards = options.outputs;
  if (cards.empty()) cards.push_back(std::filesystem::path(options.scene).stem().string() + "-card.pdf");
  for (const std::string& card : cards) format_of("-o", card, {".pdf", ".png"});
  std::vector<std::string> all = cards;
  if (!options.corrected.empty()) {
    format_of("--corrected", options.corrected, {".toml"});
    all.push_back(options.corrected);
  }
  check_outputs(options, all);
  return cards;
}

nlohmann::ordered_json rows_json(const std::vector<TakenRow>& rows) {
  nlohmann::ordered_json all = nlohmann::ordered_json::array();
  for (const TakenRow& row : rows)
    all.push_back(
        {{"what", row.what}, {"plan", row.planned}, {"taken", row.taken}, {"difference", row.difference}});
  return all;
}

void print_json(const World& world, const PocketFacts& facts, const std::vector<TakenRow>& taken) {
  nlohmann::ordered_json targets = nlohmann::ordered_json::array(), light = targets;
  for (const SpotTarget& target : facts.targets)
    targets.push_back({{"words", target.words}, {"stops", target.stops}, {"band_stops", target.band_stops}});
  for (const LightRow& row : light_table(world, facts).rows)
    light.push_back(
        {{"seen", row.seen}, {"time", row.time}, {"lamp", row.lamp}, {"rehearsed", row.rehearsed}});
  const nlohmann::ordered_json root{{"undercap", UNDERCAP_VERSION},
                                    {"shutter_s", facts.shutter.value()},
                                    {"iso", facts.iso},
                                    {"light", light},
                                    {"more_stops", light_table(world, facts).more_stops},
                                    {"targets", targets},
                                    {"rules", rule_words(world)},
                                    {"plan_against_taken", rows_json(taken)}};
  fmt::print("{}\n", root.dump(2));
}

void print_rows(const std::vector<TakenRow>& rows) {
  fmt::print("{:<28} {:<24} {:<24} {}\n", "", "plan", "taken", "taken against plan");
  for (const TakenRow& row : rows) {
    const std::string line =
        fmt::format("{:<28} {:<24} {:<24} {}", row.what, row.planned, row.taken, row.difference);
    fmt::print("{}\n", line.substr(0, line.find_last_not_of(' ') + 1));
  }
  print_hanging("", "If the picture came out as bright as planned, with all lamps as said.");
}

// The scene's session, surveyed. Nothing when stopped.
bool look(const SharedOptions& options, Session& session) {
  ProgressBar bar(options, "looking at the set");
  return session.survey(options.quality, {}, bar.callback(), Session::For::picture);
}

bool write_card(const SharedOptions& options, const ShaderLibrary& shaders, Session& session,
                const Size& size, const std::vector<TakenRow>& taken, const std::string& text,
                const std::vector<std::string>& cards) {
  const Typeface typeface;
  PocketFacts facts = pocket_facts(session);
  if (!taken.empty()) facts.corrected = corrected_words(session.world().scene.taken);
  std::optional<PocketPictures> pictures;
  {
    ProgressBar bar(options, "pictures");
    pictures = pocket_pictures(shaders, session,
                               {.width = size.width,
                                .height = size.height,
                                .quality = options.quality,
                                .filtered = options.filtered},
                               bar.callback());
  }
  if (!pictures) return false;
  if (options.json) print_json(session.world(), facts, taken);
  const auto sides = pocket_card(session.world(), facts, *pictures, typeface);
  constexpr double dots_per_mm = 200 / 25.4;
  for (const std::string& card : cards)
    write_file(
        card,
        format_of("-o", card, {".pdf", ".png"}) == ".pdf"
            ? drawings_pdf(sides, typeface)
            : encode_png(drawing_picture(pocket_sheet(sides), dots_per_mm, typeface), sheet_texts(text)),
        options.force);
  return true;
}

}  // namespace

int run_pocket(const SharedOptions& options) {
  const std::vector<std::string> cards = cards_of(options);
  const SceneFile file = open_scene(options);
  const Scene scene = file.scene();
  const Size size = picture_size(options, scene, 360);
  const HeadlessContext context(options.device);
  const ShaderLibrary shaders = shader_library(options);
  tell(options, fmt::format("{}: a pocket card on {}", scene.file, context.renderer()));
  const auto stopped = [&] {
    tell(options, "stopped before the card was there; nothing is written");
    return exit_interrupted;
  };
  std::optional<Session> session(std::in_place, shaders, scene, options.quality);
  if (!look(options, *session)) return stopped();
  std::vector<TakenRow> rows;
  std::string text = file.text();
  if (!options.corrected.empty()) {
    ProgressBar bar(options, "what was taken");
    const auto corrected = corrected_by_taken(*session, file, options.quality, bar.callback());
    if (!corrected) return stopped();
    rows = corrected->rows;
    text = corrected->file.text();
    session.reset();
    session.emplace(shaders, corrected->file.scene(), options.quality);
    if (!look(options, *session)) return stopped();
  } else if (scene.taken.complete()) {
    tell(options, "note: the scene says what was taken; --corrected FILE.toml makes scene and card by it");
  }
  if (!write_card(options, shaders, *session, size, rows, text, cards)) return stopped();
  if (!rows.empty() && !options.json) print_rows(rows);
  if (!options.corrected.empty()) {
    write_file(options.corrected, text, options.force);
    tell(options, "wrote " + options.corrected);
  }
  for (const std::string& note : session->notes()) tell(options, "note: " + note);
  for (const std::string& card : cards) tell(options, "wrote " + card);
  return exit_done;
}

}  // namespace undercap
