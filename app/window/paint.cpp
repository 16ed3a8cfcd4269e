#include "app/window/paint.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "app/window/look.h"
#include "engine/gl/objects.h"

namespace undercap::window {
namespace {

ImU32 colour_of(Tone tone) {
  switch (tone) {
    case Tone::strong:
      return ink::strong;
    case Tone::plain:
      return ink::plain;
    case Tone::soft:
      return ink::soft;
    case Tone::faint:
      return ink::faint;
    case Tone::accent:
      return ink::accent;
  }
  return ink::plain;
}

struct Kept {
  std::vector<std::uint8_t> bytes;
  Texture texture;
};
std::optional<Kept> kept;

ImU32 with_alpha(ImU32 colour, unsigned alpha) { return (colour & 0x00ffffffu) | alpha << 24; }

// The last picture that a drawing had, on the device: there is one drawing with a picture.
unsigned texture_of(const Image& image) {
  if (!kept) kept.emplace();
  if (kept->bytes == image.bytes && kept->texture.width() == image.width) return kept->texture.id();
  kept->bytes = image.bytes;
  kept->texture = Texture(image.width, image.height);
  std::vector<std::uint32_t> words;
  for (std::size_t i = 0; i < image.bytes.size(); i += static_cast<std::size_t>(image.channels)) {
    const auto value = [&](std::size_t c) -> std::uint32_t {
      return image.bytes[i + (image.channels == 3 ? c : 0)];
    };
    words.push_back(0xff000000u | value(2) << 16 | value(1) << 8 | value(0));
  }
  kept->texture.fill(std::as_bytes(std::span(words)));
  return kept->texture.id();
}

class Painter {
 public:
  Painter(ImVec2 corner, double paper_mm, const std::string& lit)
      : list_(ImGui::GetWindowDrawList()),
        corner_(corner),
        paper_mm_(paper_mm),
        lit_(lit),
        px_(pixels_per_mm()) {}

  void operator()(const Mark& mark) {
    const PenStyle& style = style_of(mark.pen);
    const bool lit = !mark.handle.empty() && mark.handle == lit_;
    colour_ = lit ? ink::accent : colour_of(style.tone);
    width_ = std::max(1.f, static_cast<float>(style.width_mm) * px_) + (lit ? 1 : 0);
    dash_ = &style.dash_mm;
    std::visit([&](const auto& shape) { draw(shape); }, mark.shape);
  }

 private:
  ImVec2 at(const glm::dvec2& mm) const {
    return {corner_.x + static_cast<float>(mm.x) * px_, corner_.y + static_cast<float>(mm.y) * px_};
  }

  ImU32 fill_of(Fill fill) const {
    return fill == Fill::solid ? colour_ : fill == Fill::paper ? ink::ground : with_alpha(colour_, 34);
  }

  void dashed(const std::vector<ImVec2>& points) {
    // Where the stroke is in the pattern, and how much of that piece is left.
    std::size_t piece = 0;
    float left = static_cast<float>((*dash_)[0]) * px_;
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
      ImVec2 from = points[i];
      const ImVec2 to = points[i + 1];
      float length = std::hypot(to.x - from.x, to.y - from.y);
      while (length > 0) {
        const float part = std::min(left, length), share = part / length;
        const ImVec2 end(from.x + (to.x - from.x) * share, from.y + (to.y - from.y) * share);
        if (piece % 2 == 0) list_->AddLine(from, end, colour_, width_);
        from = end;
        length -= part;
        left -= part;
        if (left > 1e-3f) break;
        piece = (piece + 1) % dash_->size();
        left = std::max(0.5f, static_cast<float>((*dash_)[piece]) * px_);
      }
    }
  }

  void draw(const Polyline& line) {
    std::vector<ImVec2> points;
    points.reserve(line.points_mm.size() + 1);
    for (const glm::dvec2& p : line.points_mm) points.push_back(at(p));
    if (points.size() < 2) return;
    if (line.fill != Fill::none) fill(points, fill_of(line.fill));
    if (!line.outlined) return;
    if (line.closed) points.push_back(points.front());
    if (dash_->empty())
      list_->AddPolyline(points.data(), static_cast<int>(points.size()), colour_, 0, width_);
    else
      dashed(points);
  }

  // Silhouettes are not convex: scan lines, even and odd.
  void fill(const std::vector<ImVec2>& points, ImU32 colour) {
    if (points.size() <= 4) {
      list_->AddConvexPolyFilled(points.data(), static_cast<int>(points.size()), colour);
      return;
    }
    float top = points[0].y, bottom = points[0].y;
    for (const ImVec2& p : points) {
      top = std::min(top, p.y);
      bottom = std::max(bottom, p.y);
    }
    const ImVec2 low = list_->GetClipRectMin(), high = list_->GetClipRectMax();
    top = std::max(top, low.y);
    bottom = std::min(bottom, high.y);
    std::vector<float> cuts;
    constexpr float step = 2;
    for (float y = std::floor(top) + 0.5f; y < bottom; y += step) {
      cuts.clear();
      for (std::size_t i = 0; i < points.size(); ++i) {
        const ImVec2 &a = points[i], &b = points[(i + 1) % points.size()];
        if ((a.y <= y) != (b.y <= y)) cuts.push_back(a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x));
      }
      std::sort(cuts.begin(), cuts.end());
      for (std::size_t i = 0; i + 1 < cuts.size(); i += 2)
        list_->AddRectFilled({cuts[i], y - step / 2}, {cuts[i + 1], y + step / 2}, colour);
    }
  }

  void draw(const Circle& circle) {
    const float radius = static_cast<float>(circle.radius_mm) * px_;
    if (circle.fill != Fill::none) list_->AddCircleFilled(at(circle.centre_mm), radius, fill_of(circle.fill));
    if (dash_->empty()) {
      list_->AddCircle(at(circle.centre_mm), radius, colour_, 0, width_);
      return;
    }
    std::vector<ImVec2> points;
    for (int i = 0; i <= 96; ++i) {
      const double angle = i * 2 * 3.14159265358979 / 96;
      points.push_back(
          at(circle.centre_mm + circle.radius_mm * glm::dvec2(std::cos(angle), std::sin(angle))));
    }
    dashed(points);
  }

  void draw(const Text& text) {
    ImFont* font = text.bold ? fonts().bold : fonts().text;
    const float size = std::max(static_cast<float>(text.size_mm) * px_, 11 * scale());
    const ImVec2 extent = font->CalcTextSizeA(size, FLT_MAX, 0, text.words.c_str());
    ImVec2 place = at(text.at_mm);
    if (text.across == Across::middle) place.x -= extent.x / 2;
    if (text.across == Across::right) place.x -= extent.x;
    place.y -= size * 0.82f;  // the baseline
    // Type has a least size here, so that words may come out wider than on paper.
    place.x =
        std::max(corner_.x, std::min(place.x, corner_.x + static_cast<float>(paper_mm_) * px_ - extent.x));
    if (text.clears)
      list_->AddRectFilled({place.x - 1, place.y + size * 0.12f}, {place.x + extent.x + 1, place.y + size},
                           with_alpha(ink::ground, 200));
    list_->AddText(font, size, place, colour_, text.words.c_str());
  }

  void draw(const Image& image) {
    const ImVec2 from = at(image.at_mm), to = at(image.at_mm + image.size_mm);
    list_->AddImage(reinterpret_cast<ImTextureID>(static_cast<std::uintptr_t>(texture_of(image))), from, to);
  }

  ImDrawList* list_;
  ImVec2 corner_;
  double paper_mm_;
  const std::string& lit_;
  float px_;
  ImU32 colour_ = 0;
  float width_ = 1;
  const std::vector<double>* dash_ = nullptr;
};

}  // namespace

float pixels_per_mm() { return 5.2f * scale(); }

void drop_painted() { kept.reset(); }

void paint(const Drawing& drawing, ImVec2 corner, const std::string& lit) {
  Painter painter(corner, drawing.width_mm, lit);
  for (const Mark& mark : drawing.marks) painter(mark);
}

}  // namespace undercap::window
