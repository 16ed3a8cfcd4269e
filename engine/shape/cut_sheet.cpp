#include "engine/shape/cut_sheet.h"

#include <algorithm>
#include <map>
#include <utility>

#include "engine/core/errors.h"

namespace undercap {
namespace {

class Cutter {
 public:
  Cutter(const Mesh& sheet, const std::vector<double>& kept) : sheet_(sheet), kept_(kept) {
    result_.parts = sheet.parts;
    taken_.assign(sheet.position.size(), none);
  }

  Mesh cut() {
    for (const MeshTriangle& one : sheet_.triangle) clip(one);
    return std::move(result_);
  }

 private:
  static constexpr std::uint32_t none = 0xffffffffu;

  // The corners that are kept and the crossings between, in the triangle's own order.
  void clip(const MeshTriangle& one) {
    const std::uint32_t corner[3] = {one.a, one.b, one.c};
    std::uint32_t polygon[4];
    int count = 0;
    for (int i = 0; i < 3; ++i) {
      const std::uint32_t here = corner[i], next = corner[(i + 1) % 3];
      if (in(here)) polygon[count++] = take(here);
      if (in(here) != in(next)) polygon[count++] = crossing(here, next);
    }
    for (int i = 2; i < count; ++i)
      result_.triangle.push_back({polygon[0], polygon[i - 1], polygon[i], one.part});
  }

  bool in(std::uint32_t i) const { return kept_[i] > 0; }

  std::uint32_t take(std::uint32_t i) {
    if (taken_[i] == none) taken_[i] = add(i, i, 0);
    return taken_[i];
  }

  std::uint32_t crossing(std::uint32_t from, std::uint32_t to) {
    if (from > to) std::swap(from, to);
    const auto [found, added] = crossings_.try_emplace({from, to}, none);
    // Not onto a corner, where triangles would have no area.
    if (added) found->second = add(from, to, std::clamp(kept_[from] / (kept_[from] - kept_[to]), 0.02, 0.98));
    return found->second;
  }

  std::uint32_t add(std::uint32_t from, std::uint32_t to, double share) {
    const auto at = static_cast<float>(share);
    result_.position.push_back(sheet_.position[from] * (1 - at) + sheet_.position[to] * at);
    if (!sheet_.tint.empty()) result_.tint.push_back(sheet_.tint[from] * (1 - at) + sheet_.tint[to] * at);
    if (!sheet_.uv.empty()) result_.uv.push_back(sheet_.uv[from] * (1 - at) + sheet_.uv[to] * at);
    return static_cast<std::uint32_t>(result_.position.size() - 1);
  }

  const Mesh& sheet_;
  const std::vector<double>& kept_;
  Mesh result_;
  std::vector<std::uint32_t> taken_;
  std::map<std::pair<std::uint32_t, std::uint32_t>, std::uint32_t> crossings_;
};

}  // namespace

Mesh cut_sheet(const Mesh& sheet, const std::vector<double>& kept) {
  UNDERCAP_CHECK(kept.size() == sheet.position.size(), "there is one number for each position");
  return Cutter(sheet, kept).cut();
}

}  // namespace undercap
