// A scene as text, every field, so that two can be compared and a difference read; and the texts that tests
// begin with.
#pragma once

#include <string>

#include "engine/scene/load.h"

namespace undercap {

std::string scene_text(const Scene& scene);

// The scene of a text, or the whole of the refusal's words.
Scene scene_of(const std::string& text);
std::string refusal_of(const std::string& text);
std::string refusal_of(const SceneFile& file);

// What set() says when it refuses; empty when it does not.
std::string refusal_of_set(SceneFile& file, const std::string& key, const std::string& value);

// Three props of different kinds, two sources, two meters. Begins with 'undercap = 1'.
extern const std::string small_scene;

}  // namespace undercap
