#include "engine/core/errors.h"

#include <cstdio>
#include <cstdlib>

namespace undercap {
namespace {

std::string joined(const std::vector<Fault>& faults) {
  std::string all;
  for (const Fault& fault : faults) {
    if (!all.empty()) all += '\n';
    all += fault.text();
  }
  return all;
}

}  // namespace

std::string Fault::text() const {
  std::string where = place.file;
  if (place.line > 0) where += ":" + std::to_string(place.line);
  if (place.line > 0 && place.column > 0) where += ":" + std::to_string(place.column);
  return where.empty() ? message : where + ": " + message;
}

Refusal::Refusal(std::vector<Fault> faults) : std::runtime_error(joined(faults)), faults_(std::move(faults)) {}

void check_failed(const char* file, int line, const std::string& rule) {
  std::fprintf(stderr, "%s:%d: this must hold but does not: %s\n", file, line, rule.c_str());
  std::abort();
}

}  // namespace undercap
