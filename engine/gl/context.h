// An OpenGL 4.5 core context without a window, through EGL.
//
// Devices are listed hardware first, then software; each is named as its driver names it. The context is
// current on the thread that made it and goes with the object. One thread owns OpenGL.
#pragma once

#include <string>
#include <vector>

namespace undercap {

struct Device {
  int number = 0;  // what --device takes
  bool software = false;
  std::string name;  // of the EGL device: vendor or driver file
};

std::vector<Device> list_devices();

class HeadlessContext {
 public:
  // Tries the devices in order; 'device' is empty, a number of list_devices(), "software", or a part of the
  // renderer's name. Throws Trouble when none offers OpenGL 4.5, Refusal when 'device' names none.
  explicit HeadlessContext(const std::string& device = {});
  ~HeadlessContext();
  HeadlessContext(const HeadlessContext&) = delete;
  HeadlessContext& operator=(const HeadlessContext&) = delete;

  const std::string& renderer() const { return renderer_; }  // GL_RENDERER
  bool software() const { return software_; }

 private:
  bool try_display(void* display);
  void* display_ = nullptr;
  void* context_ = nullptr;
  std::string renderer_;
  bool software_ = false;
};

}  // namespace undercap
