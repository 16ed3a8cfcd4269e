#include "app/window/place_job.h"

#include <fmt/format.h>

#include <utility>

#include "engine/core/errors.h"
#include "engine/gl/objects.h"

namespace undercap::window {
namespace {

FoundPlace found_place(const World& world, const LightQuestion& asked, const OfferedPlace& offer,
                       std::size_t number) {
  const PlaceFields& fields = offer.fields;
  return {.letter = offer_letter(number),
          .words = holding_words(world, asked, fields),
          .rise = rendered_words(asked, offer),
          .level = level_words(asked, offer),
          .place_m = fields.position_m,
          .aim_m = fields.position_m + fields.direction * fields.distance_m,
          .power_pct = offer.power_pct};
}

}  // namespace

PlaceJob::PlaceJob(Scene scene, std::string text, PlaceRequest request, ShaderLibrary shaders)
    : scene_(std::move(scene)),
      text_(std::move(text)),
      request_(std::move(request)),
      shaders_(std::move(shaders)),
      thread_([this] { run(); }) {}

PlaceJob::~PlaceJob() {
  cancel();
  thread_.join();
}

std::optional<FoundPlaces> PlaceJob::take() {
  const std::lock_guard lock(mutex_);
  return std::exchange(found_, std::nullopt);
}

void PlaceJob::run() {
  context_.take();
  FoundPlaces found{.source = request_.source, .target = {}, .fault = {}};
  try {
    found = search();
  } catch (const std::exception& fault) {
    found.fault = fault.what();
  }
  context_.leave();
  if (!cancelled_) {
    const std::lock_guard lock(mutex_);
    found_ = std::move(found);
  }
  over_ = true;
}

FoundPlaces PlaceJob::search() {
  Session session(shaders_, scene_to_place_in(scene_, request_.source), request_.quality);
  const auto result = run_place(shaders_, session, scene_, request_, [this](double share) {
    share_ = share;
    return !cancelled_;
  });
  FoundPlaces found{.source = request_.source, .target = {}, .fault = {}};
  if (!result) return found;
  const World& world = session.world();
  const LightQuestion asked = light_question(request_, *result);
  found.target = asked.target;
  found.notes = result->notes;
  found.scene_text = text_;
  for (std::size_t i = 0; i < result->offers.size(); ++i)
    found.offers.push_back(found_place(world, asked, result->offers[i], i));
  if (result->offers.empty()) found.instead = limit_counts(result->places);
  if (result->relaxing)
    for (const std::string& words : relaxing_words(world, asked, *result->relaxing))
      found.instead.push_back(words);
  if (result->offers.empty()) return found;
  const Typeface typeface;
  found.page = place_page(world, request_, *result,
                          fmt::format("Undercap {}, {}", UNDERCAP_VERSION, renderer_name()), typeface);
  return found;
}

}  // namespace undercap::window
