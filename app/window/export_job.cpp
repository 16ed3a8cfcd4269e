#include "app/window/export_job.h"

#include <fmt/format.h>

#include <chrono>

#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/image/png.h"
#include "engine/render/picture_job.h"
#include "engine/report/paint_drawing.h"
#include "engine/session/picture_file.h"

namespace undercap::window {
namespace {

double now_s() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

constexpr std::size_t film_limit_bytes = std::size_t{512} << 20;

}  // namespace

ExportJob::ExportJob(Desk& desk, ExportRequest request, const ShaderLibrary& shaders)
    : desk_(desk),
      request_(std::move(request)),
      shaders_(shaders),
      version_(desk.live().version()),
      start_s_(now_s()) {
  if (!desk.live().exposed())
    throw Refusal("the scene is still being built; export it when its picture is there");
  if (request_.drawing) return;
  check_picture_size(request_.width, request_.height);
  const View view{.width = request_.width, .height = request_.height};
  if (Film::bytes(view, desk.live().tracer().groups()) > film_limit_bytes)
    throw Refusal(
        fmt::format("{} x {} pixels are more than the window keeps in memory; choose a smaller picture, or "
                    "'undercap render', which works in bands",
                    request_.width, request_.height));
  film_ = std::make_unique<LiveFilm>(desk.live().tracer(), request_.width, request_.height,
                                     static_cast<std::uint32_t>(desk.scene().seed));
}

double ExportJob::share_done() const {
  return film_ ? static_cast<double>(film_->samples()) / request_.samples : 0;
}

double ExportJob::seconds_left() const {
  const double done = share_done();
  return done > 0.01 ? (now_s() - start_s_) * (1 - done) / done : 0;
}

bool ExportJob::work(double seconds) {
  if (desk_.live().version() != version_)
    throw Refusal("the scene was edited while it was exported; nothing was written, export it again");
  if (film_ && film_->samples() < request_.samples) {
    film_->advance(desk_.live().tracer(), pace_, seconds, request_.samples);
    if (film_->samples() < request_.samples) return false;
  }
  write();
  return true;
}

void ExportJob::write() {
  const Live& live = desk_.live();
  const World& world = live.world();
  if (request_.drawing) {
    write_drawing(set_sheet(world), request_.file, true);
    return;
  }
  const View& view = film_->view();
  const Development& how = live.development();
  const Mix mix = mix_over(world, how.shutter);
  const std::vector<float> sums = film_->film().read();
  const auto texts = picture_texts({"Undercap " UNDERCAP_VERSION, renderer_name(),
                                    fmt::format("{}", request_.samples), desk_.edited().text()},
                                   how);
  if (request_.file.extension() == ".exr") {
    const auto means =
        group_means(sums, view.pixels(), static_cast<int>(world.groups.size()), request_.samples);
    write_file(request_.file,
               picture_exr(world, {view.width, view.height, mixed(mix, means)}, means, how.shutter, texts),
               true);
    return;
  }
  const Developer developer(shaders_);
  Picture8 picture;
  if (request_.filtered) {
    const DisplayFilter filter(shaders_, desk_.live().tracer());
    const TexelBuffer features = filter.features(desk_.live().tracer(), world, view, request_.samples);
    picture = developer.develop_mixed(
        world, view, filter.run(world, view, film_->film(), features, request_.samples, how), how);
  } else {
    picture =
        developer.develop_mixed(world, view, film_without_strays(mix, view, sums, request_.samples), how);
  }
  write_file(request_.file, encode_png(picture, png_texts(texts, request_.filtered)), true);
}

}  // namespace undercap::window
