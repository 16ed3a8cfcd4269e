// A picture, an EXR or a drawing written to a file, in slices, with the window alive beside it.
#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "app/window/desk.h"

namespace undercap::window {

struct ExportRequest {
  std::filesystem::path file{};  // .png, .exr, .pdf, .svg
  int width = 960, height = 640;
  unsigned samples = 64;
  bool filtered = false, drawing = false;
};

class ExportJob {
 public:
  // Takes what the desk shows now. Throws Refusal when the file cannot be written.
  ExportJob(Desk& desk, ExportRequest request, const ShaderLibrary& shaders);
  // Works for about so long; true when it is over and the file is written.
  bool work(double seconds);
  double share_done() const;
  double seconds_left() const;
  const ExportRequest& request() const { return request_; }

 private:
  void write();
  Desk& desk_;
  ExportRequest request_;
  const ShaderLibrary& shaders_;
  std::uint64_t version_;
  std::unique_ptr<LiveFilm> film_;
  SlicePace pace_;
  double start_s_ = 0;
};

}  // namespace undercap::window
