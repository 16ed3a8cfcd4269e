// What the pieces of the loader share while a document becomes a scene.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "engine/scene/read.h"
#include "engine/scene/scene.h"

namespace undercap {

// A document that may be read or edited: it parses, says something, and is not of a newer format.
Document open_document(const std::string& text, const std::string& file);

struct Loading {
  const Document& document;
  Faults& faults;
  Scene scene;
  // The block of each source, prop and meter, in the scene's order, and how messages call it.
  struct Block {
    const FileNode* node;
    std::string path;
  };
  std::vector<Block> sources, props, meters;
};

// load_lists.cpp: [[source]], [[prop]], [[meter]], [[variant]].
void load_sources(Loading& loading);
void load_props(Loading& loading);
void load_meters(Loading& loading);
void load_variants(Loading& loading);

// check.cpp: what no single value shows. Skips a check when a value that it needs is at fault already.
void check_scene(Loading& loading);

}  // namespace undercap
