// How the backdrop is drawn, and how the subject stands off from it.
#include <fmt/format.h>

#include <cmath>

#include "engine/measure/backdrop_area.h"
#include "engine/measure/reading_rows.h"
#include "engine/measure/rim.h"
#include "engine/measure/texture.h"
#include "engine/optics/depth.h"

namespace undercap {
namespace {

const std::string not_yet = "not measured yet", not_seen = "no backdrop is seen",
                  open_sky = "open sky alone is behind";
const Use all_samples = [] {
  Use all;
  all.fill(true);
  return all;
}();

// Where the backdrop is, by the first hits on its parts, and what the lens makes of that.
class Distances {
 public:
  Distances(const Evidence& evidence, Readings& into)
      : film_(evidence.separation), rig_(evidence.world.camera), into_(into) {
    if (film_)
      for (const auto& eighth : film_->backdrop_m) hits_ += eighth.size();
  }
  void add() const;

 private:
  Length at(const Use& use, double per_cent) const {
    std::vector<double> distances;
    for (std::size_t i = 0; i < eighths; ++i)
      if (use[i]) distances.insert(distances.end(), film_->backdrop_m[i].begin(), film_->backdrop_m[i].end());
    return Length(percentile_in(distances, per_cent));
  }
  // A closed form of the median distance.
  void figure(const std::string& name, const std::string& unit, const std::string& note,
              const std::function<double(Length)>& value_of) const {
    const auto value = figure_of([&](const Use& use) -> std::optional<double> {
      for (std::size_t i = 0; i < eighths; ++i)
        if (use[i] && film_->backdrop_m[i].empty()) return std::nullopt;
      return value_of(at(use, 50));
    });
    into_.push_back(measured(
        Under::backdrop, name, value, unit,
        fmt::format("the backdrop is seen by {} samples, too few to tell: {}", hits_, take_more), note));
  }
  std::string where() const;
  void add_without_hits() const;

  const SeparationFilm* film_;
  const CameraRig& rig_;
  Readings& into_;
  std::size_t hits_ = 0;
};

std::string Distances::where() const {
  const Length middle = at(all_samples, 50), behind = middle - rig_.pupil_distance;
  const auto metres = [](Length distance) { return fmt::format("{:.3g}", distance.value()); };
  std::string text = fmt::format(
      "its median lies {} m from the entrance pupil, {} m {} the plane in focus; 10 "
      "to 90 % of it at {} to {} m",
      metres(middle), metres(Length(std::abs(behind.value()))), behind < 0_m ? "before" : "behind",
      metres(at(all_samples, 10)), metres(at(all_samples, 90)));
  const double open_pct =
      100.0 * static_cast<double>(film_->open_hits) / static_cast<double>(film_->open_hits + hits_);
  if (open_pct >= 0.5)
    text += fmt::format("; {:.0f} % of the backdrop is open sky and not counted", open_pct);
  return text;
}

void Distances::add_without_hits() const {
  const std::string why = !film_ ? not_yet : film_->open_hits > 0 ? "infinite: " + open_sky : not_seen;
  if (film_ && film_->open_hits > 0)
    into_.push_back(exact(Under::backdrop, "backdrop.blur_pct",
                          100 * (blur_disc_at_infinity(rig_.lens, rig_.magnification) / rig_.height), "%",
                          "blur disc, of the frame's height: " + open_sky));
  else
    into_.push_back(nothing(Under::backdrop, "backdrop.blur_pct", "%", why));
  into_.push_back(nothing(Under::backdrop, "backdrop.disc_mm", "mm", why));
  into_.push_back(nothing(Under::backdrop, "backdrop.width_m", "m", why));
}

void Distances::add() const {
  const GaussianLens& lens = rig_.lens;
  const double m = rig_.magnification;
  into_.push_back(exact(Under::backdrop, "backdrop.blur_infinity_mm", blur_disc_at_infinity(lens, m) / 1_mm,
                        "mm", "blur disc on the sensor of a point at infinity"));
  if (hits_ == 0) {
    add_without_hits();
    return;
  }
  const Length middle = at(all_samples, 50), disc = object_field_disc(lens, m, middle);
  figure("backdrop.blur_pct", "%", "blur disc, of the frame's height; " + where(),
         [&](Length distance) { return 100 * (blur_disc(lens, m, distance) / rig_.height); });
  figure("backdrop.disc_mm", "mm",
         fmt::format(
             "what one point of the picture gathers there; of the contrast of detail of 5, 20, 100 mm "
             "{:.2f}, {:.2f}, {:.2f} stay; no focal length changes that at equal framing and f-number",
             retained_contrast(disc, 5_mm), retained_contrast(disc, 20_mm), retained_contrast(disc, 100_mm)),
         [&](Length distance) { return object_field_disc(lens, m, distance) / 1_mm; });
  const Length blur = blur_disc(lens, m, middle);
  figure("backdrop.width_m", "m",
         fmt::format(
             "that the frame's width shows there{}",
             blur > 0_m ? fmt::format(": {:.1f} blur discs side by side", rig_.width / blur) : std::string()),
         [&](Length distance) { return backdrop_width(lens, m, distance, rig_.width).value(); });
}

// What is read from the picture.
class Sampled {
 public:
  Sampled(const Evidence& evidence, Readings& into)
      : picture_(mixed_separation(*evidence.separation,
                                  mix_over(evidence.world, evidence.exposure.development.shutter))),
        display_(display_of(evidence.world, evidence.exposure.development, picture_.width, picture_.height)),
        into_(into) {}
  void rim() const;
  void texture() const;
  void area() const;

 private:
  SeparationPicture picture_;
  Display display_;
  Readings& into_;
};

void Sampled::rim() const {
  const Rim rim(picture_);
  const std::string none = rim.points() == 0 ? "the subject has no outline against the backdrop"
                                             : "along half of the outline one side is black";
  const auto stops = [&](const char* name, const std::optional<Figure>& step, const std::string& note) {
    const bool drowns = step && drowns_in_noise(*step);
    into_.push_back(measured(Under::backdrop, name, drowns ? std::nullopt : step, "stops",
                             drowns ? fmt::format("too dark to tell along the outline: {}", take_more) : none,
                             note));
  };
  std::string lighter;
  if (rim.points() > 0) {
    const std::vector<double> steps = rim.steps_stops(all_samples);
    const auto count = std::count_if(steps.begin(), steps.end(), [](double step) { return step > 0; });
    lighter = fmt::format("; the subject is the lighter along {:.0f} % of it",
                          100.0 * static_cast<double>(count) / static_cast<double>(steps.size()));
  }
  stops(
      "backdrop.rim_step_stops", rim_step(rim),
      "subject over backdrop within 2 % of the frame's height of the outline, the median along it" + lighter);
  stops("backdrop.rim_step_low_stops", rim_step_low(rim),
        "a tenth of the outline stands off by no more than this, lighter or darker");
  const auto colour = rim_colour(rim, display_);
  into_.push_back(measured(
      Under::backdrop, "backdrop.rim_delta_e", colour ? std::optional(colour->delta_e) : std::nullopt, "",
      none,
      colour ? fmt::format("CIEDE2000 of the same sides as displayed, white at 1, without noise, the median; "
                           "lightness differs by {:.1f}, colour (a*, b*) by {:.1f}; above 10 it only ranks",
                           colour->lightness, colour->chroma)
             : std::string()));
}

void Sampled::texture() const {
  const auto bands = backdrop_texture(picture_);
  for (std::size_t i = 0; i < bands.size(); ++i) {
    const TextureBand& band = texture_bands[i];
    const std::string name = fmt::format("backdrop.texture_{:g}_{:g}_pct", band.from, band.to);
    if (!bands[i]) {
      into_.push_back(nothing(Under::backdrop, name, "%",
                              2 * band.to > picture_.height
                                  ? "the frame is too wide for so fine a texture to be measured"
                                  : "too little backdrop is seen, or it is black"));
      continue;
    }
    std::string note = fmt::format("RMS contrast of the backdrop, {:g} to {:g} cycles in the frame's height",
                                   band.from, band.to);
    if (!bands[i]->estimate.above_noise()) note += "; not told from none, within its noise";
    into_.push_back(
        measured(Under::backdrop, name, std::optional(rms_contrast_pct(*bands[i])), "%", {}, note));
  }
}

void Sampled::area() const {
  const auto hot = hot_spots_pct(picture_);
  into_.push_back(measured(
      Under::backdrop, "backdrop.hot_spots_pct", hot, "%", "the subject is not seen, or black in the median",
      hot ? fmt::format(
                "of the frame is backdrop over 1 stop above the subject's median; {:.2g} % is backdrop "
                "clipped on the display; by cells of 1/64 frame height",
                clipped_pct(picture_, display_).estimate.value)
          : std::string()));
  const GradientEnergy energy = gradient_energy(picture_);
  const std::string none = !energy.subject    ? "the subject is too small, or too dark to tell"
                           : !energy.backdrop ? "the backdrop is too small, or too dark to tell"
                                              : "the backdrop's gradients are not told from none (under 5 "
                                                "standard errors): " +
                                                    take_more;
  std::string note;
  if (energy.ratio)
    note = fmt::format(
        "mean squared gradient of log2 luminance, subject over backdrop, outlines left out: {:.3g} "
        "and {:.3g} (stops / frame height)^2",
        energy.subject->estimate.value, energy.backdrop->estimate.value);
  into_.push_back(measured(Under::backdrop, "backdrop.gradient_ratio", energy.ratio, "", none, note));
}

constexpr std::pair<const char*, const char*> sampled_names[] = {
    {"backdrop.rim_step_stops", "stops"}, {"backdrop.rim_step_low_stops", "stops"},
    {"backdrop.rim_delta_e", ""},         {"backdrop.texture_2_8_pct", "%"},
    {"backdrop.texture_8_32_pct", "%"},   {"backdrop.texture_32_128_pct", "%"},
    {"backdrop.hot_spots_pct", "%"},      {"backdrop.gradient_ratio", ""}};

}  // namespace

void add_backdrop(const Evidence& e, Readings& into) {
  Distances(e, into).add();
  if (!e.separation) {
    for (const auto& [name, unit] : sampled_names)
      into.push_back(nothing(Under::backdrop, name, unit, not_yet));
    return;
  }
  const Sampled sampled(e, into);
  sampled.rim();
  sampled.texture();
  sampled.area();
}

}  // namespace undercap
