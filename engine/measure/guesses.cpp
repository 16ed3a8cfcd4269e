#include "engine/measure/guesses.h"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>

#include "engine/world/guesses.h"

namespace undercap {
namespace {

using Parts = std::vector<std::uint32_t>;

constexpr std::size_t most_named = 3;  // a note is one line

Parts subject_named(const World& world, std::string_view a, std::string_view b) {
  Parts parts;
  for (const std::uint32_t part : world.subject)
    if (world.parts[part].part == a || world.parts[part].part == b) parts.push_back(part);
  return parts;
}

// What lies in the subject and the backdrop; where the scene names no backdrop, all that is seen may be of
// it.
Parts subject_and_backdrop(const World& world) {
  if (!world.backdrop) {
    Parts all(world.parts.size());
    std::iota(all.begin(), all.end(), 0u);
    return all;
  }
  Parts parts = world.subject;
  for (const std::uint32_t part : *world.backdrop) parts.push_back(part);
  return parts;
}

// The parts that a reading looks at; empty when it is none of those that get a note.
Parts parts_read(const World& world, const std::string& name) {
  if (name == "contrast.subject_backdrop_stops") return subject_and_backdrop(world);
  if (name == "contrast.cap_gills_stops") return subject_named(world, "cap", "gills");
  if (name == "contrast.cap_stem_stops") return subject_named(world, "cap", "stem");
  Parts parts;
  if (!name.starts_with("part.")) return parts;
  for (std::uint32_t i = 0; i < world.parts.size(); ++i) {
    const WorldPart& part = world.parts[i];
    const Address address{Address::Of::prop, part.prop, 0, part.part};
    if (!part.row.empty() && name.starts_with(fmt::format("part.{}.", address.text()))) parts.push_back(i);
  }
  return parts;
}

std::string phrase(const std::vector<std::string>& rows) {
  std::string text = "rests on guessed reflectances: ";
  for (std::size_t i = 0; i < std::min(rows.size(), most_named); ++i) text += (i ? ", " : "") + rows[i];
  if (rows.size() > most_named) text += fmt::format(" and {} more", rows.size() - most_named);
  return text;
}

}  // namespace

void note_guesses(const Evidence& evidence, std::vector<Reading>& readings) {
  const auto seen = [&](std::uint32_t part) { return evidence.survey.part[part].samples(); };
  for (Reading& reading : readings) {
    if (std::holds_alternative<std::monostate>(reading.value)) continue;
    Parts parts = parts_read(evidence.world, reading.name);
    std::erase_if(parts, [&](std::uint32_t part) { return seen(part) <= 0; });
    std::stable_sort(parts.begin(), parts.end(),
                     [&](std::uint32_t a, std::uint32_t b) { return seen(a) > seen(b); });
    const std::vector<std::string> rows = guessed_rows(evidence.world, parts);
    if (rows.empty()) continue;
    if (!reading.note.empty()) reading.note += "; ";
    reading.note += phrase(rows);
  }
}

}  // namespace undercap
