// A TOML text as a tree of typed values that know where they stand.
//
// The only door to the TOML library. Entries keep the file's order. Lines and columns count from 1 in Unicode
// code points; byte offsets count from the start of the text.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "engine/scene/scene.h"

namespace undercap {

struct TextSpot {
  int line = 0, column = 0;
};

struct FileEntry;

struct FileNode {
  enum class Type { table, array, text, integer, number, boolean, moment, local_time };
  Type type = Type::table;
  TextSpot spot;
  std::size_t begin = 0, end = 0;  // bytes of the value; of a table written as [header]: of the header
  bool boolean = false;
  double number = 0;  // integers too
  std::string text;
  UtcTime moment;                  // a date and time with an offset, turned to UTC
  std::vector<FileEntry> entries;  // of a table
  std::vector<FileNode> items;     // of an array

  const FileNode* find(std::string_view key) const;  // null when there is none
  const FileEntry* entry(std::string_view key) const;
  bool is_number() const { return type == Type::integer || type == Type::number; }
};

struct FileEntry {
  std::string key;
  TextSpot spot;
  FileNode value;
};

// A path from the root of a document: keys, and for an element of an array its number as element_step()
// writes it, so that no key of a sane file looks like one.
using TextPath = std::vector<std::string>;
std::string element_step(std::size_t index);
bool is_element_step(std::string_view step);

struct Document {
  std::string file, text;
  FileNode root;

  const FileNode* find(const TextPath& path) const;
  // A value as the file writes it, on one line and cut when it is long.
  std::string shown(const FileNode& node) const;
  std::string_view source(const FileNode& node) const;
};

// Throws a Refusal with one fault at the place of the first syntax error.
Document parse_document(std::string_view text, const std::string& file);

// A refusal with one fault; a spot of line 0 is not told.
Refusal refusal_at(const std::string& file, TextSpot spot, std::string message);

// A text as a TOML basic string with its quotes, and a key as it must be written: bare where TOML allows it.
std::string toml_quoted(std::string_view text);
std::string written_key(std::string_view key);

}  // namespace undercap
