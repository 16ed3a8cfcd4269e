// Variants: the same scene with a few values changed, as small pictures with what differs in words.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "app/window/desk.h"
#include "app/window/view.h"

namespace undercap::window {

class VariantsPane {
 public:
  void draw(Desk& desk, View& view);
  // Renders the next small picture that is missing, while nothing else is to be done. True while it works.
  bool work(Desk& desk, const ShaderLibrary& shaders, double seconds);
  void drop_device();

 private:
  struct Small {
    std::string text;  // the scene that it shows
    Texture texture;
  };
  struct With {
    std::string text, differs;  // the scene's text with a variant applied; what that changes, in words
  };
  const With& with(const Desk& desk, const Variant& variant) const;
  std::map<std::string, Small> small_;
  std::unique_ptr<Live> live_;  // of the picture that is being made
  std::string making_, making_text_;
  std::string new_name_;
  // By the variant's name, while the scene's text is this one.
  mutable std::string with_of_;
  mutable std::map<std::string, With> with_;
};

}  // namespace undercap::window
