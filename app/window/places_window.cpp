#include "app/window/places_window.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "app/window/panes.h"
#include "app/window/widgets.h"
#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/image/png.h"
#include "engine/report/paint.h"
#include "engine/session/picture_file.h"

namespace undercap::window {
namespace fs = std::filesystem;
namespace {

bool escape() { return ImGui::IsKeyPressed(ImGui::GetKeyIndex(ImGuiKey_Escape), false); }

}  // namespace

void PlacesWindow::ask(const Desk& desk, const View& view) {
  if (!desk.in_step() || open_) return;
  asked_ = map_asked(desk, view);
  asking_ = !job_ && !found_;
  open_ = appearing_ = true;
}

void PlacesWindow::stop() { job_.reset(); }

std::vector<std::string> PlacesWindow::offers() const {
  std::vector<std::string> words;
  if (found_)
    for (const FoundPlace& offer : found_->offers)
      words.push_back(fmt::format("{}: {}; {}", offer.letter, offer.words, offer.rise));
  return words;
}

void PlacesWindow::start(const Desk& desk, const ShaderLibrary& shaders) {
  constexpr int longer_side = 480;
  const auto& format = desk.scene().camera.format_mm;
  const double longest = std::max(format[0], format[1]);
  const auto pixels = [&](double side) {
    return std::max(16, static_cast<int>(std::lround(longer_side * side / longest / 2)) * 2);
  };
  PlaceRequest request{.source = asked_.source, .target = asked_.target, .whole_subject = true};
  request.space = space_for(source_of(desk.scene(), asked_.source));
  request.wish.rise_stops = asked_.rise_stops;
  request.wish.spill_stops = asked_.spill_stops;
  request.wish.hand = asked_.hand;
  request.offers = static_cast<std::size_t>(offers_);
  request.quality = quick_.value_or(false) ? Quality::draft : Quality::good;
  request.width = pixels(format[0]);
  request.height = pixels(format[1]);
  request.filtered = true;
  found_.reset();
  job_ = std::make_unique<PlaceJob>(desk.scene(), desk.edited().text(), std::move(request), shaders);
  asking_ = false;
}

void PlacesWindow::draw(Desk& desk, View& view, FileDialog& files, const ShaderLibrary& shaders,
                        bool software) {
  if (job_ && job_->over()) {
    found_ = job_->take();
    asking_ = !found_;
    if (job_->cancelled()) desk.say("Cancelled; no places were looked for any further");
    job_.reset();
  }
  if (!open_ || files.is_open()) return;
  if (!desk.in_step()) return;
  if (std::exchange(appearing_, false)) {
    const ImVec2 size = ImGui::GetIO().DisplaySize;
    ImGui::SetNextWindowPos({size.x / 2, size.y / 2}, ImGuiCond_Always, {0.5f, 0.5f});
    ImGui::SetNextWindowFocus();
  }
  ImGui::SetNextWindowSize({em(33), 0});
  ImGui::PushStyleVar(ImGuiStyleVar_WindowBorderSize, scale());
  // No modal one: the window goes on beside it.
  if (ImGui::Begin("Find places", nullptr,
                   ImGuiWindowFlags_NoCollapse | ImGuiWindowFlags_AlwaysAutoResize |
                       ImGuiWindowFlags_NoSavedSettings)) {
    if (job_)
      draw_progress();
    else if (asking_)
      draw_question(desk, shaders, software);
    else if (found_)
      draw_found(desk, view, files);
    if (ImGui::IsWindowFocused() && escape() && !ImGui::GetIO().WantTextInput) open_ = false;
  }
  ImGui::End();
  ImGui::PopStyleVar();
}

void PlacesWindow::draw_question(Desk& desk, const ShaderLibrary& shaders, bool software) {
  if (!quick_) quick_ = software;
  heading(fmt::format("Where may {} be held?", asked_.source).c_str());
  target_choice(desk, asked_.target, "find target");
  slide("find.rise", "Rise", asked_.rise_stops,
        {0.1, 4, false, 1, "stops", 2, "What the lamp shall add to the target."});
  slide("find.spill", "Spill", asked_.spill_stops,
        {0.02, 2, true, 0.2, "stops", 2, "What it may add at most to what lies behind and before."});
  asked_.rise_stops = std::clamp(asked_.rise_stops, 0.01, 12.0);
  asked_.spill_stops = std::clamp(asked_.spill_stops, 0.001, 12.0);
  double offers = offers_;
  slide("find.offers", "Offers", offers,
        {1, most_offers, false, 3, "", 2, "How many places are rendered, far apart from each other."});
  offers_ = static_cast<int>(std::lround(std::clamp(offers, 1.0, static_cast<double>(most_offers))));
  ImGui::Checkbox("in a hand beside the camera", &asked_.hand);
  name_item("find hand");
  ImGui::Checkbox("quick: fewer samples, half the triangles", &*quick_);
  name_item("find quick");
  wrapped("Some 4,000 places are tried by direct light; those that are offered are rendered.", ink::soft);
  if (ImGui::Button("Find", {em(7), 0})) {
    try {
      start(desk, shaders);
    } catch (const std::exception& fault) {
      desk.say(fault.what(), true);
    }
  }
  name_item("find start");
  ImGui::SameLine();
  if (ImGui::Button("Close", {em(6), 0})) open_ = false;
  name_item("find close");
}

void PlacesWindow::draw_progress() {
  heading("Looking for places");
  ImGui::ProgressBar(static_cast<float>(job_->share_done()), {-1, 0});
  if (ImGui::Button(job_->cancelled() ? "Stopping ..." : "Cancel", {em(7), 0})) job_->cancel();
  name_item("find cancel");
}

void PlacesWindow::draw_offer(Desk& desk, View& view, const FoundPlace& offer) {
  ImGui::PushID(offer.letter.c_str());
  if (ImGui::Button(fmt::format("Put it at {}", offer.letter).c_str(), {em(7), 0})) {
    view.source = found_->source;
    put_lamp(desk, found_->source, offer.place_m, offer.aim_m, offer.power_pct);
  }
  name_item("take " + offer.letter);
  explain("Place, aim and power, in one step that can be undone.");
  ImGui::SameLine();
  wrapped(offer.words);
  ImGui::PushFont(fonts().small);
  wrapped(offer.rise, ink::soft);
  for (const std::string& words : offer.level) wrapped("- " + words, ink::soft);
  ImGui::PopFont();
  ImGui::PopID();
}

void PlacesWindow::draw_found(Desk& desk, View& view, FileDialog& files) {
  if (!found_->fault.empty()) {
    heading("No places");
    wrapped(found_->fault, ink::accent);
  } else {
    heading(fmt::format("Places for {}, to light {}", found_->source, found_->target).c_str());
    if (found_->offers.empty()) wrapped("No place does it. What keeps them out, and what to relax:");
    for (const std::string& words : found_->instead) wrapped("- " + words, ink::soft);
    for (const FoundPlace& offer : found_->offers) draw_offer(desk, view, offer);
    for (const std::string& note : found_->notes) wrapped("note: " + note, ink::soft);
    if (found_->scene_text != desk.edited().text() && !found_->offers.empty())
      wrapped("Of the scene as it was when it was searched.", ink::soft);
  }
  if (found_->page) {
    if (ImGui::Button("Save the sheet ...")) save_sheet(desk, files);
    name_item("find save");
    ImGui::SameLine();
  }
  if (ImGui::Button("Search again ...")) asking_ = true;
  name_item("find again");
  ImGui::SameLine();
  if (ImGui::Button("Close", {em(6), 0})) open_ = false;
  name_item("find close");
}

void PlacesWindow::save_sheet(Desk& desk, FileDialog& files) {
  const fs::path folder = desk.wants_place() ? fs::current_path() : desk.edited().path().parent_path();
  files.open("Save the sheet as", folder / (desk.edited().path().stem().string() + "-light.png"),
             {".png", ".pdf"}, true, [this, &desk](const fs::path& path, bool) {
               try {
                 const Typeface typeface;
                 const auto& [page, pictures] = *found_->page;
                 write_file(path,
                            path.extension() == ".pdf"
                                ? pages_pdf({&page, 1}, pictures, typeface)
                                : encode_png(page_picture(page, pictures, typeface),
                                             sheet_texts(UNDERCAP_VERSION, found_->scene_text)),
                            true);
                 desk.say("Wrote " + path.string());
               } catch (const std::exception& fault) {
                 desk.say(fault.what(), true);
               }
             });
}

}  // namespace undercap::window
