// The pocket card as a job: what it has from a surveyed session, and its two pictures.
#pragma once

#include <optional>

#include "engine/report/pocket_card.h"
#include "engine/session/session.h"

namespace undercap {

struct PocketRequest {
  int width = 360, height = 240;  // of each picture
  Quality quality = Quality::good;
  bool filtered = false;
};

// Three places to hold a spot meter on: within the subject, subject against backdrop, subject against
// mid-grey. Fewer where the samples do not tell.
std::vector<SpotTarget> spot_targets(const Session& session);

PocketFacts pocket_facts(const Session& session);

// One film, mixed with and without its lamps. Nothing when stopped.
std::optional<PocketPictures> pocket_pictures(const ShaderLibrary& shaders, Session& session,
                                              const PocketRequest& request, const Progress& progress);

}  // namespace undercap
