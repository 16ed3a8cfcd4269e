// Variants beside each other: the scene as it is and up to three of its variants, each a picture that
// refines, at one zoom and one place of the frame, and a table of what differs and of their readings.
#pragma once

#include <imgui/imgui.h>

#include <memory>
#include <string>
#include <vector>

#include "app/window/desk.h"
#include "app/window/view.h"
#include "engine/session/headline.h"

namespace undercap::window {

// One of the pictures, as it is told.
struct Side {
  std::string name;                  // of the variant
  std::vector<std::string> differs;  // from the scene as it is, a line a value
  std::string state;                 // of picture and readings
  bool current = false;              // the readings are of the scene as it stands
  ShownPicture shown{};
  std::vector<SheetRow> rows;  // its readings; none while they are being taken
};

class SideBySidePane {
 public:
  // Into the window that is open. What a scene has no variants for is said, and ends it.
  void draw(Desk& desk, View& view, const ShaderLibrary& shaders, bool software);
  // Works for about so long, on one picture after the other. True when there is something new to be seen.
  bool work(Desk& desk, double seconds);
  bool idle() const;
  void drop_device();  // and all pictures but that of the desk

  const std::vector<Side>& sides() const { return sides_; }  // the scene as it is first

 private:
  struct Other {
    std::string name;
    std::unique_ptr<Live> live;
    Document document{};
    std::vector<std::string> differs;
    std::string fault;  // why it could not be built
  };
  void follow(Desk& desk, View& view, const ShaderLibrary& shaders);
  void follow_one(Desk& desk, const std::string& name, const ShaderLibrary& shaders,
                  std::vector<Other>& before);
  void tell(const Desk& desk);
  void draw_pictures(Desk& desk, View& view, ImVec2 low, ImVec2 high, bool software);
  void draw_picture(std::size_t index, Live& live, const Scene& scene, View& view, ImVec2 low, ImVec2 high,
                    bool software);

  std::vector<Other> others_;
  std::vector<std::string> followed_;  // the variants, and the text and the file that they are of
  std::vector<Side> sides_;
  std::vector<Headline> headlines_;  // of the sides; the newest that there are
  std::size_t turn_ = 0;
};

// Opens it on the chosen variants, or on the first of the scene; closes it when it is open.
void toggle_side_by_side(Desk& desk, View& view);
void choose_side(Desk& desk, View& view, const std::string& variant, bool chosen);
// Its own keys: larger and smaller, to and fro, the whole pictures.
void side_by_side_keys(View& view);

// Rows are what differs and the readings, columns the pictures; fills what is left of the window.
void side_by_side_table(const std::vector<Side>& sides);
float side_by_side_table_height(const std::vector<Side>& sides);  // that shows all of it, pixels

}  // namespace undercap::window
