// The table of scene keys: one row a key. Reading, `--set`, variants and a window all go by it.
//
// A key belongs to a table of the file: "" (the top), "camera", "source" (each [[source]]), "prop.material"
// (each [prop.material.PART]) and so on. The keys that only one kind of prop has are rows too: of_kind()
// makes them from the registry. Adding a key: a row here, a field in scene.h, a line in load.cpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/shape/kinds.h"

namespace undercap {

enum class ValueType {
  boolean,
  integer,
  number,
  pair,          // two numbers
  point,         // three numbers
  direction,     // three numbers, not all 0
  ground_point,  // two or three numbers
  colour,        // a number or linear RGB
  list,          // of numbers, or of rows of numbers; the shape is in 'list'
  text,
  name,
  choice,
  address,
  target,           // an address or three numbers
  addresses,        // a list, not empty
  number_or_word,   // the word stands in 'choices'
  address_or_word,  // likewise
  moment,           // a date and time with an offset
  table
};

struct KeyRow {
  std::string_view table = {}, name = {};
  ValueType type = ValueType::number;
  std::string_view unit = {};       // as the name's ending has it; empty = a plain number
  double low = 0, high = 0;         // of each number, inclusive
  bool above_low = false;           // 'low' itself is not allowed
  std::string_view fallback = {};   // the default as TOML text; empty = none
  std::string_view choices = {};    // words separated by blanks, in the order of their enumerators
  std::string_view group = {};      // keys of one table with the same group exclude each other
  std::string_view only_kind = {};  // used with these kinds of its table only, separated by blanks
  bool required = false;            // in a group: exactly one of it
  bool served = true;
  std::string_view allowed = {};  // replaces the wording made from type and range
  std::string_view meaning = {};
  const ListShape* list = nullptr;  // of a list; lives as long as the program
};

struct TableRow {
  std::string_view name = {};
  bool list = false;  // written [[name]], one block for each
  std::string_view meaning = {};
};

const std::vector<KeyRow>& key_rows();
const std::vector<TableRow>& table_rows();  // of the top; the order is that of the format

std::vector<KeyRow> rows_of(std::string_view table);
std::vector<KeyRow> of_kind(const Kind& kind);  // keys of [[prop]] that only this kind has
bool for_kind(const KeyRow& row, std::string_view kind);
std::string kinds_text(const KeyRow& row);  // of only_kind: "\"panel\" or \"flash\""
const KeyRow* find_row(const std::vector<KeyRow>& rows, std::string_view name);

std::vector<std::string_view> words(std::string_view separated_by_blanks);

// What may stand there: "a number from 0.7 to 64", "\"overcast\", \"uniform\" or \"off\"".
std::string allowed_text(const KeyRow& row);

// The candidate that a misspelt word most likely means; empty when none is near.
std::string nearest_word(std::string_view word, const std::vector<std::string_view>& candidates);

inline constexpr std::string_view not_yet = "not yet served by this version";

}  // namespace undercap
