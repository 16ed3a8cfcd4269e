#include "engine/core/errors.h"

#include <fmt/format.h>

#include <cstdio>
#include <cstdlib>
#include <utility>

#include "engine/core/text.h"

namespace undercap {
namespace {

std::vector<Fault> printable(std::vector<Fault> faults) {
  for (Fault& fault : faults) {
    fault.place.file = undercap::printable(fault.place.file);
    fault.message = undercap::printable(fault.message);
  }
  return faults;
}

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
  if (place.line > 0) where += fmt::format(":{}", place.line);
  if (place.line > 0 && place.column > 0) where += fmt::format(":{}", place.column);
  return where.empty() ? message : fmt::format("{}: {}", where, message);
}

Refusal::Refusal(std::vector<Fault> faults)
    : std::runtime_error(joined(printable(faults))), faults_(printable(std::move(faults))) {}

Refusal::Refusal(SourcePlace place, std::string message)
    : Refusal(std::vector<Fault>(1, Fault{std::move(place), std::move(message)})) {}

void check_failed(const char* file, int line, const std::string& rule) {
  std::fprintf(stderr, "%s:%d: this must hold but does not: %s\n", file, line, rule.c_str());
  std::abort();
}

}  // namespace undercap
