// Typed reading of a scene's tables: every value is held against its row of the key table, every fault is
// collected.
//
//   Faults faults(document);
//   TableReader camera(document.root.find("camera"), "camera", rows_of("camera"), faults);
//   camera.read("f_number", scene.camera.f_number);  // left as it is when absent or at fault
//
// Making a reader finds unknown keys, keys not served yet, missing ones and exclusive groups. A served key
// that stands in the file and is never read is our bug; the reader's end checks that.
#pragma once

#include <filesystem>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "engine/scene/document.h"
#include "engine/scene/keys.h"

namespace undercap {

struct KeyFault {
  TextSpot spot;
  std::vector<std::string> keys;  // written with names: "source.torch.power_pct"
  std::string message;
};

class Faults {
 public:
  explicit Faults(const Document& document) : document_(document) {}
  void add(TextSpot spot, std::vector<std::string> keys, std::string message);
  bool concern(std::string_view key) const;
  const std::vector<KeyFault>& all() const { return all_; }
  std::size_t left_out() const { return left_out_; }  // told by their number alone
  const Document& document() const { return document_; }

 private:
  const Document& document_;
  std::vector<KeyFault> all_;
  std::set<std::string, std::less<>> keys_;  // of all faults
  std::size_t left_out_ = 0;
};

// What is wrong with a value by its row alone, as the message that names 'key'; nothing when it may stand.
std::optional<std::string> fault_of_value(const Document& document, const KeyRow& row, const std::string& key,
                                          const FileNode& value);

// What a text that may not stand there most likely means, as ' (...)' behind a message: the word of a choice,
// or the number that it begins with. Empty when nothing is near.
std::string hint_of_text(const KeyRow& row, const std::string& text);

// Why a relative path in a scene file may not be used; nothing when it may. 'folder' is the scene file's.
std::optional<std::string> fault_of_path(std::string_view path, const std::filesystem::path& folder);

class TableReader {
 public:
  struct Options {
    std::vector<std::string_view> subtables = {};  // entries that others read
    std::string_view kind = {};  // of this block, for rows that only one kind has; empty = not known
  };
  // 'node' null: the file has no such table. 'path' opens the messages: "camera", "source.torch", "".
  TableReader(const FileNode* node, std::string path, std::vector<KeyRow> rows, Faults& faults,
              Options options);
  TableReader(const FileNode* node, std::string path, std::vector<KeyRow> rows, Faults& faults)
      : TableReader(node, std::move(path), std::move(rows), faults, Options{}) {}
  ~TableReader();
  TableReader(const TableReader&) = delete;
  TableReader& operator=(const TableReader&) = delete;

  // The value when it is there and may stand.
  const FileNode* value(std::string_view name);
  std::string key(std::string_view name) const;

  void read(std::string_view name, bool& out);
  void read(std::string_view name, int& out);
  void read(std::string_view name, double& out);
  void read(std::string_view name, std::optional<double>& out);  // a word of number_or_word leaves it empty
  void read(std::string_view name, std::string& out);
  void read(std::string_view name, std::optional<std::string>& out);
  void read(std::string_view name, std::array<double, 2>& out);
  void read(std::string_view name, glm::dvec3& out);  // a direction is made a unit vector
  void read(std::string_view name, glm::vec3& out);
  void read(std::string_view name, std::optional<glm::vec3>& out);
  void read(std::string_view name, Target& out);
  void read(std::string_view name, std::optional<Target>& out);
  void read(std::string_view name, std::optional<Address>& out);  // a word of address_or_word leaves it empty
  void read(std::string_view name, std::vector<Address>& out);
  void read(std::string_view name, UtcTime& out);
  void read(std::string_view name, Rows& out);
  // The enumerators stand in the order of the row's choices.
  template <class Enum>
  void read_choice(std::string_view name, Enum& out) {
    if (const FileNode* node = value(name)) out = static_cast<Enum>(choice_index(name, *node));
  }

 private:
  void find_stray_entries();
  void find_missing_and_exclusive();
  int choice_index(std::string_view name, const FileNode& node) const;
  bool used_here(const KeyRow& row) const { return for_kind(row, options_.kind); }

  const FileNode* node_;
  std::string path_;
  std::vector<KeyRow> rows_;
  Faults& faults_;
  Options options_;
  std::set<std::string, std::less<>> refused_, read_;
};

// A list that may stand where it stands.
Rows rows_of_list(const FileNode& node);

// A kind's own value as its builder takes it; a direction keeps its length.
KeyValue kind_value(const KeyRow& row, const FileNode& node);

}  // namespace undercap
