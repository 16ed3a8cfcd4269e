#include "engine/session/variant_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <glm/geometric.hpp>
#include <optional>

#include "engine/measure/reading_text.h"
#include "engine/scene/resolve.h"

namespace undercap {
namespace {

// Three digits, without zeros at the end.
std::string number_words(double number) {
  std::string text = reading_number(number);
  if (text.find('.') == std::string::npos || text.find('e') != std::string::npos) return text;
  text.erase(text.find_last_not_of('0') + 1);
  if (text.ends_with('.')) text.pop_back();
  return text;
}

std::string value_words(const Document& document, const FileNode& node, std::string_view unit) {
  const std::string behind = unit.empty() ? std::string() : fmt::format(" {}", unit);
  const auto all_numbers = std::all_of(node.items.begin(), node.items.end(),
                                       [](const FileNode& item) { return item.is_number(); });
  if (node.is_number()) return fmt::format("{}{}", number_words(node.number), behind);
  if (node.type == FileNode::Type::boolean) return node.boolean ? "yes" : "no";
  if (node.type == FileNode::Type::text) return node.text;
  if (node.type != FileNode::Type::array || !all_numbers) return document.shown(node);
  std::vector<std::string> numbers;
  for (const FileNode& item : node.items) numbers.push_back(number_words(item.number));
  return fmt::format("({}){}", fmt::join(numbers, ", "), behind);
}

// What a scene says at a key, or its default; empty when it has neither.
std::string value_at(const Document& document, const std::string& key) {
  const auto resolved = resolve_key(document, key);
  const auto* found = std::get_if<ResolvedKey>(&resolved);
  if (!found) return {};
  if (const FileNode* node = document.find(found->path)) return value_words(document, *node, found->row.unit);
  if (found->row.fallback.empty()) return {};
  const Document usual = parse_document(fmt::format("v = {}\n", found->row.fallback), "");
  return value_words(usual, *usual.root.find("v"), found->row.unit);
}

// How far a point is from where it was, m; nothing when one of the two is none.
std::optional<double> distance_moved(const Document& here, const Document& there, const std::string& key) {
  const auto point_at = [&](const Document& document) -> std::optional<glm::dvec3> {
    const auto resolved = resolve_key(document, key);
    const auto* found = std::get_if<ResolvedKey>(&resolved);
    const FileNode* node = found && found->row.unit == "m" ? document.find(found->path) : nullptr;
    if (!node || node->items.size() != 3) return std::nullopt;
    return glm::dvec3(node->items[0].number, node->items[1].number, node->items[2].number);
  };
  const auto was = point_at(here), is = point_at(there);
  return was && is ? std::optional(glm::distance(*was, *is)) : std::nullopt;
}

// "source.torch.power_pct" is "torch power", "camera.f_number" is "f-number", "sky.horizontal_lx" is
// "sky horizontal".
std::string key_words(const Document& document, const std::string& key) {
  std::vector<std::string> words;
  for (std::size_t at = 0; at != std::string::npos;) {
    const std::size_t dot = key.find('.', at);
    words.push_back(key.substr(at, dot == std::string::npos ? dot : dot - at));
    at = dot == std::string::npos ? dot : dot + 1;
  }
  if (words.size() > 1 && words[0] != "sky" && words[0] != "sun" && words[0] != "ground")
    words.erase(words.begin());
  std::erase(words, "material");
  const auto resolved = resolve_key(document, key);
  const auto* found = std::get_if<ResolvedKey>(&resolved);
  // The unit stands behind the value; "look_at" has one, but not in its name.
  std::string& last = words.back();
  if (found && !found->row.unit.empty() && found->row.name != "look_at")
    if (const std::size_t cut = last.rfind('_'); cut != std::string::npos) last.resize(cut);
  if (last == "f_number") last = "f-number";
  if (last == "iso") last = "ISO";
  std::string all = fmt::format("{}", fmt::join(words, " "));
  std::replace(all.begin(), all.end(), '_', ' ');
  return all;
}

}  // namespace

std::vector<std::string> differing_words(const Document& here, const Document& there,
                                         const Variant& variant) {
  std::vector<std::string> lines;
  for (const auto& [key, value] : variant.change) {
    const std::string was = value_at(here, key), is = value_at(there, key);
    if (was == is) continue;
    const std::string words = key_words(there, key);
    if (const auto moved = distance_moved(here, there, key))
      lines.push_back(fmt::format("{} moved by {} cm", words, number_words(100 * *moved)));
    else if (is == "yes" || is == "no")
      lines.push_back(fmt::format("{}: {}", words, is));
    else if (was.empty())
      lines.push_back(fmt::format("{} {}", words, is));
    else
      lines.push_back(fmt::format("{} {}, not {}", words, is, was));
  }
  return lines;
}

}  // namespace undercap
