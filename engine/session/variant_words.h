// What a variant makes different, in words for people.
#pragma once

#include <string>
#include <vector>

#include "engine/scene/document.h"

namespace undercap {

// One line for each value of 'variant' that the scene 'here' has not got: "f-number 16, not 8",
// "torch power 50 %, not 100 %", "position moved by 41 cm". 'there' is that scene
// with the variant applied. Values are compared as they are told: numbers in three digits, a key that is not
// written by its default. Units are those of the keys; both documents must be of valid scenes.
std::vector<std::string> differing_words(const Document& here, const Document& there, const Variant& variant);

}  // namespace undercap
