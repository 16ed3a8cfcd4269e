#include "app/window/side_by_side.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/common.hpp>
#include <map>
#include <utility>

#include "app/window/native_window.h"
#include "app/window/picture_pane.h"
#include "app/window/widgets.h"
#include "engine/core/errors.h"
#include "engine/session/variant_words.h"

namespace undercap::window {
namespace {

constexpr double most_zoom = 16;
constexpr const char* as_it_is = "as it is";

// Those that are chosen and still there, in the order of the scene.
std::vector<std::string> chosen_variants(const Scene& scene, const View& view) {
  std::vector<std::string> names;
  const auto& chosen = view.side_by_side.chosen;
  for (const Variant& variant : scene.variants)
    if (std::find(chosen.begin(), chosen.end(), variant.name) != chosen.end()) names.push_back(variant.name);
  return names;
}

// A share of the frame that keeps what is seen within the frame.
glm::dvec2 within_frame(const glm::dvec2& middle, double zoom) {
  return glm::clamp(middle, glm::dvec2(0.5 / zoom), glm::dvec2(1 - 0.5 / zoom));
}

void zoom_about(SideBySide& side, const glm::dvec2& place, double factor) {
  const double before = side.zoom;
  side.zoom = std::clamp(before * factor, 1.0, most_zoom);
  // 'place' is a share of what is seen, and stays where it is.
  side.middle = within_frame(side.middle + (place - 0.5) * (1 / before - 1 / side.zoom), side.zoom);
}

void pan(SideBySide& side, const glm::dvec2& by) {
  side.middle = within_frame(side.middle + by / side.zoom, side.zoom);
}

// So that little is traced anew while a hand zooms: only twofold steps make the picture another size.
float rendered_zoom(double zoom) { return static_cast<float>(std::exp2(std::floor(std::log2(zoom) + 0.5))); }

std::string state_of(const Live& live, const std::string& fault) {
  if (!fault.empty()) return "cannot be built";
  if (live.building()) return "building the set ...";
  const ShownPicture& shown = live.picture().shown();
  const std::string samples =
      shown.texture ? fmt::format("{} x {}, {} samples", shown.width, shown.height, shown.samples)
                    : std::string("first samples ...");
  const LiveReadings& readings = live.readings();
  return readings.done() ? samples : fmt::format("{}; {:.0f} % read", samples, 100 * readings.share_done());
}

}  // namespace

void toggle_side_by_side(Desk& desk, View& view) {
  if (!desk.open()) return;
  SideBySide& side = view.side_by_side;
  if (side.on) {
    side.on = false;
    return;
  }
  const auto& variants = desk.scene().variants;
  if (variants.empty()) {
    desk.say("The scene has no variant yet. Change the light or the camera and keep it with Ctrl+K first.");
    return;
  }
  if (chosen_variants(desk.scene(), view).empty())
    for (std::size_t i = 0; i < std::min(variants.size(), SideBySide::most_variants); ++i)
      side.chosen.push_back(variants[i].name);
  side.on = true;
  view.beside.clear();  // the split gives way
}

void choose_side(Desk& desk, View& view, const std::string& variant, bool chosen) {
  std::vector<std::string> names = chosen_variants(desk.scene(), view);
  std::erase(names, variant);
  if (chosen && names.size() >= SideBySide::most_variants) {
    desk.say("Three variants stand beside the scene as it is at most: take the tick from another first.");
    return;
  }
  if (chosen) names.push_back(variant);
  view.side_by_side.chosen = names;
}

void side_by_side_keys(View& view) {
  SideBySide& side = view.side_by_side;
  const auto hit = [](int key) { return ImGui::IsKeyPressed(key); };
  const glm::dvec2 middle(0.5);
  if (hit(GLFW_KEY_EQUAL) || hit(GLFW_KEY_KP_ADD)) zoom_about(side, middle, std::sqrt(2.0));
  if (hit(GLFW_KEY_MINUS) || hit(GLFW_KEY_KP_SUBTRACT)) zoom_about(side, middle, std::sqrt(0.5));
  glm::dvec2 by(0);
  if (hit(GLFW_KEY_LEFT)) by.x -= 0.1;
  if (hit(GLFW_KEY_RIGHT)) by.x += 0.1;
  if (hit(GLFW_KEY_UP)) by.y -= 0.1;
  if (hit(GLFW_KEY_DOWN)) by.y += 0.1;
  pan(side, by);
  if (hit(GLFW_KEY_HOME)) zoom_about(side, middle, 1 / side.zoom);
}

void SideBySidePane::drop_device() {
  others_.clear();
  followed_.clear();
  sides_.clear();
}

// One that is shown already gets the edit alone, so that a lamp's power loses no sample.
void SideBySidePane::follow_one(Desk& desk, const std::string& name, const ShaderLibrary& shaders,
                                std::vector<Other>& before) {
  const auto& variants = desk.scene().variants;
  const auto variant =
      std::find_if(variants.begin(), variants.end(), [&](const Variant& v) { return v.name == name; });
  Other other{.name = name, .live = nullptr, .differs = {}, .fault = {}};
  try {
    SceneFile file = SceneFile::from_text(desk.edited().text(), desk.edited().path());
    file.use_variant(name);
    const Scene scene = file.scene();
    other.document = parse_document(file.text(), desk.edited().path().string());
    other.differs = differing_words(desk.edited().document(), other.document, *variant);
    const auto old =
        std::find_if(before.begin(), before.end(), [&](const Other& one) { return one.name == name; });
    if (old != before.end() && old->live) {
      other.live = std::move(old->live);
      const SceneChange change = change_between(old->document, other.document);
      if (!change.nothing() || !change.keys.empty()) other.live->edit(scene, change, false);
    } else {
      other.live = std::make_unique<Live>(shaders);
      other.live->open(scene);
    }
  } catch (const Refusal& refusal) {
    desk.say(fmt::format("Variant '{}': {}", name, refusal.what()), true);
    other.live.reset();
    other.fault = refusal.what();
  }
  others_.push_back(std::move(other));
}

void SideBySidePane::follow(Desk& desk, View& view, const ShaderLibrary& shaders) {
  std::vector<std::string> now = chosen_variants(desk.scene(), view);
  if (now.empty()) {
    view.side_by_side.on = false;
    return;
  }
  const std::vector<std::string> names = now;
  now.push_back(desk.edited().text());
  now.push_back(desk.edited().path().string());
  if (now == followed_ || desk.dragging()) return;
  // Of another file nothing can be kept: relative paths mean something else there.
  if (!followed_.empty() && followed_.back() != now.back()) others_.clear();
  followed_ = std::move(now);
  std::vector<Other> before = std::exchange(others_, {});
  for (const std::string& name : names) follow_one(desk, name, shaders, before);
}

bool SideBySidePane::work(Desk& desk, double seconds) {
  std::vector<Live*> all{&desk.live()};
  for (Other& other : others_) {
    if (!other.live) continue;
    if (const auto fault = other.live->take_fault()) {
      desk.say(fmt::format("Variant '{}': {}", other.name, *fault), true);
      other.fault = *fault;
    }
    all.push_back(other.live.get());
  }
  bool news = false;
  for (std::size_t tried = 0; tried < all.size(); ++tried) {
    turn_ = (turn_ + 1) % all.size();
    Live& one = *all[turn_];
    if (one.idle()) continue;
    // One that is being built costs no time here, so that the next has its turn.
    const bool works = one.ready();
    news = one.work(seconds) || news;
    if (works) break;
  }
  return news;
}

bool SideBySidePane::idle() const {
  return std::all_of(others_.begin(), others_.end(), [](const Other& other) {
    return !other.live || !other.fault.empty() || other.live->idle();
  });
}

// What is drawn and watched; the rows of all go by one contrast within the subject. While readings are taken
// anew the old rows stay: survey and exposure need not be of one world then.
void SideBySidePane::tell(const Desk& desk) {
  std::map<std::string, Headline> before;
  for (Headline& headline : headlines_) before[headline.name] = std::move(headline);
  sides_.clear();
  headlines_.clear();
  std::vector<const Live*> lives{&desk.live()};
  sides_.push_back({.name = as_it_is, .differs = {}, .state = state_of(desk.live(), {}), .rows = {}});
  for (const Other& other : others_) {
    lives.push_back(other.live.get());
    const std::string state = other.live ? state_of(*other.live, other.fault) : "cannot be built";
    sides_.push_back({.name = other.name, .differs = other.differs, .state = state, .rows = {}});
  }
  for (std::size_t i = 0; i < lives.size(); ++i) {
    const Live* live = lives[i];
    sides_[i].current = live && live->exposed() && live->readings().current();
    if (live) sides_[i].shown = live->picture().shown();
    headlines_.push_back(sides_[i].current ? headline_of(sides_[i].name, *live) : before[sides_[i].name]);
  }
  const std::string shade = shade_contrast(headlines_);
  for (std::size_t i = 0; i < lives.size(); ++i) {
    if (headlines_[i].name.empty()) continue;
    sides_[i].rows = headline_rows(headlines_[i], shade);
    for (const SheetRow& row : camera_rows(headlines_[i]))
      if (row.label != "exposure") sides_[i].rows.push_back(row);
  }
}

void SideBySidePane::draw(Desk& desk, View& view, const ShaderLibrary& shaders, bool software) {
  if (!desk.open()) return;
  follow(desk, view, shaders);
  tell(desk);
  const ImVec2 low = ImGui::GetCursorScreenPos(), size = ImGui::GetContentRegionAvail();
  if (size.x < em(8) || size.y < em(8)) return;
  // Two pictures are widest above the table, four beside it; a narrow window has no place beside.
  const bool beside = sides_.size() > 2 && size.x > em(58);
  const float table_w = beside ? std::floor(size.x * 0.40f) : size.x;
  const float table_h =
      beside ? size.y : std::min(std::floor(size.y * 0.46f), side_by_side_table_height(sides_) + em(0.5f));
  const ImVec2 end{low.x + (beside ? size.x - table_w : size.x),
                   low.y + (beside ? size.y : size.y - table_h)};
  draw_pictures(desk, view, low, end, software);
  ImGui::SetCursorScreenPos(beside ? ImVec2{end.x, low.y} : ImVec2{low.x, end.y});
  if (ImGui::BeginChild("side by side table", {table_w, table_h}, false,
                        ImGuiWindowFlags_AlwaysUseWindowPadding)) {
    name_place("side by side table", ImGui::GetWindowPos(),
               {ImGui::GetWindowPos().x + table_w, ImGui::GetWindowPos().y + table_h});
    side_by_side_table(sides_);
  }
  ImGui::EndChild();
}

void SideBySidePane::draw_pictures(Desk& desk, View& view, ImVec2 low, ImVec2 high, bool software) {
  ImGui::GetWindowDrawList()->AddRectFilled(low, high, ink::ground);
  const std::size_t columns = sides_.size() > 1 ? 2 : 1, rows = sides_.size() > 2 ? 2 : 1;
  const float gap = em(0.3f);
  const float width = std::floor((high.x - low.x - gap * static_cast<float>(columns + 1)) /
                                 static_cast<float>(columns)),
              height = std::floor((high.y - low.y - gap * static_cast<float>(rows + 1)) /
                                  static_cast<float>(rows));
  for (std::size_t i = 0; i < sides_.size(); ++i) {
    const ImVec2 at{low.x + gap + (width + gap) * static_cast<float>(i % columns),
                    low.y + gap + (height + gap) * static_cast<float>(i / columns)};
    const ImVec2 end{at.x + width, at.y + height};
    if (i == 0)
      draw_picture(i, desk.live(), desk.scene(), view, at, end, software);
    else if (Other& other = others_[i - 1]; other.live)
      draw_picture(i, *other.live, other.live->ready() ? other.live->world().scene : desk.scene(), view, at,
                   end, software);
    else
      picture_label({at.x + em(1), at.y + em(1)}, fmt::format("{} cannot be built", other.name), ink::accent);
  }
}

void SideBySidePane::draw_picture(std::size_t index, Live& live, const Scene& scene, View& view, ImVec2 low,
                                  ImVec2 high, bool software) {
  const Side& told = sides_[index];
  SideBySide& side = view.side_by_side;
  ImDrawList* list = ImGui::GetWindowDrawList();
  const auto& format = scene.camera.format_mm;
  const float aspect = static_cast<float>(format[0] / format[1]);
  const float words_h = em(1.25f), room_h = high.y - low.y - words_h;
  const float width = std::floor(std::min(high.x - low.x, room_h * aspect)),
              height = std::floor(width / aspect);
  const ImVec2 at{std::floor((low.x + high.x - width) / 2), std::floor(low.y + words_h)},
      end{at.x + width, at.y + height};
  const float zoomed = rendered_zoom(side.zoom);
  const RenderedSize rendered = rendered_size(width * zoomed, height * zoomed, software);
  live.set_size(rendered.width, rendered.height);
  live.set_filtered(!view.raw);
  live.set_overlay(view.overlay);
  list->AddText(fonts().bold, text_px * scale(), {at.x, low.y}, index == 0 ? ink::strong : ink::accent,
                told.name.c_str());
  const float name_w = fonts().bold->CalcTextSizeA(text_px * scale(), FLT_MAX, 0, told.name.c_str()).x;
  const std::string words = fmt::format("{}", fmt::join(told.differs, "; "));
  list->PushClipRect({at.x + name_w + em(0.6f), low.y}, {end.x, at.y}, true);
  list->AddText(fonts().small, small_px * scale(), {at.x + name_w + em(0.6f), low.y + em(0.2f)}, ink::plain,
                words.c_str());
  list->PopClipRect();
  const ImVec2 seen_low{static_cast<float>(side.middle.x - 0.5 / side.zoom),
                        static_cast<float>(side.middle.y - 0.5 / side.zoom)},
      seen_high{static_cast<float>(side.middle.x + 0.5 / side.zoom),
                static_cast<float>(side.middle.y + 0.5 / side.zoom)};
  if (told.shown.texture)
    list->AddImage(texture_of(live.picture().shown()), at, end, seen_low, seen_high);
  else
    picture_label({at.x + em(0.6f), at.y + em(0.5f)}, told.state, ink::accent);
  if (side.zoom > 1 && index == 0)
    picture_label({at.x + em(0.6f), end.y - em(1.4f)}, fmt::format("{:.1f} times; Home: whole", side.zoom));
  const std::string name = fmt::format("side by side {}", index + 1);
  ImGui::SetCursorScreenPos(at);
  ImGui::InvisibleButton(name.c_str(), {width, height});
  name_item(name);
  const ImGuiIO& io = ImGui::GetIO();
  if (ImGui::IsItemHovered() && io.MouseWheel != 0)
    zoom_about(side,
               {static_cast<double>((io.MousePos.x - at.x) / width),
                static_cast<double>((io.MousePos.y - at.y) / height)},
               std::exp2(static_cast<double>(io.MouseWheel) / 2));
  if (ImGui::IsItemActive())
    pan(side,
        {-static_cast<double>(io.MouseDelta.x / width), -static_cast<double>(io.MouseDelta.y / height)});
}

}  // namespace undercap::window
