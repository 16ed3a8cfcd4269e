// Edits of a scene file that take keys out, and that add and remove whole blocks.
#include <fmt/format.h>

#include <algorithm>

#include "engine/scene/layout.h"
#include "engine/scene/load.h"
#include "engine/scene/loading.h"
#include "engine/scene/patch.h"
#include "engine/scene/resolve.h"

namespace undercap {
namespace {

bool is_list(std::string_view name) {
  const auto& tables = table_rows();
  return std::any_of(tables.begin(), tables.end(),
                     [&](const TableRow& table) { return table.list && table.name == name; });
}

// The list that a text adds one block to; nothing when it is something else, or more.
std::optional<std::string> list_of_block(std::string_view block) {
  const Document document = parse_document(block, "");
  const TextLayout layout = layout_of(block);
  if (layout.sections.size() < 2 || document.root.entries.size() != 1) return std::nullopt;
  const FileEntry& list = document.root.entries[0];
  const TextPath first{list.key, element_step(0)};
  if (!is_list(list.key) || layout.sections[1].path != first || list.value.items.size() != 1)
    return std::nullopt;
  return list.key;
}

}  // namespace

void SceneFile::splice(const Splice& splice) {
  lines_.splice(text_, splice);
  text_ = spliced(text_, splice);
}

void SceneFile::unset(std::string_view key, std::string_view origin) {
  const Document document = open_document(text_, file_.string());
  const auto refuse = [&](const std::string& message) {
    return Refusal(fmt::format("{} {}: {}", origin, key, message));
  };
  const auto found = resolve_key(document, key);
  if (const std::string* fault = std::get_if<std::string>(&found)) throw refuse(*fault);
  const ResolvedKey& to = std::get<ResolvedKey>(found);
  if (const auto fault = fault_of_edit(to)) throw refuse(*fault);
  if (!document.find(to.path)) return;
  const auto gone = removal(text_, to.path);
  if (!gone) throw refuse("the file writes it as a table of its own; take it out in the text");
  splice(*gone);
}

void SceneFile::add_block(std::string_view block, std::string_view origin) {
  std::optional<std::string> list;
  try {
    list = list_of_block(block);
  } catch (const Refusal& refusal) {
    throw Refusal(fmt::format("{}: {}", origin, refusal.faults()[0].message));
  }
  if (!list)
    throw Refusal(
        fmt::format("{}: allowed: one block that begins with [[prop]], [[source]], [[meter]] or "
                    "[[variant]]",
                    origin));
  const Document document = open_document(text_, file_.string());
  const FileNode* there = document.root.find(*list);
  if (there && !document.source(*there).starts_with("[["))
    throw Refusal(fmt::format("{}: the file writes '{}' as one value; write it as [[{}]] blocks first",
                              origin, *list, *list));
  splice(block_addition(text_, *list, block));
}

void SceneFile::remove_block(std::string_view list, std::string_view name, std::string_view origin) {
  const Document document = open_document(text_, file_.string());
  const FileNode* blocks = is_list(list) ? document.root.find(list) : nullptr;
  for (std::size_t i = 0; blocks && i < blocks->items.size(); ++i) {
    const FileNode* given = blocks->items[i].find("name");
    if (!given || given->text != name) continue;
    for (const Splice& one : block_removal(text_, list, i)) splice(one);
    return;
  }
  throw Refusal(fmt::format("{}: there is no {} named \"{}\"", origin, list, name));
}

}  // namespace undercap
