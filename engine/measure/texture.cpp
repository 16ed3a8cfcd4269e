#include "engine/measure/texture.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <glm/mat3x3.hpp>
#include <glm/matrix.hpp>
#include <glm/vec3.hpp>
#include <map>
#include <numbers>

#include "engine/colour/spaces.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double feather = 0.05;        // of the frame's height
constexpr double least_weights = 0.01;  // of the frame

// Cosines and sines of 2 pi k n / count for n = 0 .. count - 1, and k = first .. first + ways - 1 at each n.
struct Waves {
  std::vector<double> cosine, sine;
  Waves(int count, int first, int ways) {
    for (int n = 0; n < count; ++n)
      for (int k = first; k < first + ways; ++k) {
        const double angle = 2 * pi * (static_cast<double>(k) * n / count);
        cosine.push_back(std::cos(angle));
        sine.push_back(std::sin(angle));
      }
  }
};

// The discrete Fourier transform of real pictures of one size, up to so many cycles per frame height: by rows
// and then by columns, straight from its definition.
class Transform {
 public:
  Transform(int width, int height, double most_cycles)
      : width_(width),
        height_(height),
        most_across_(static_cast<int>(most_cycles * width / height)),
        most_down_(static_cast<int>(most_cycles)),
        across_(width, 0, columns()),
        down_(height, -most_down_, rows()) {}

  // Frequencies by rows: 0 .. most across the width, -most .. most down the height. The rest of the plane
  // is their mirror image, so that all but those with 0 across count twice.
  int columns() const { return most_across_ + 1; }
  int rows() const { return 2 * most_down_ + 1; }
  double cycles(int row, int column) const {  // per frame height
    return std::hypot(row - most_down_, static_cast<double>(column) * height_ / width_);
  }

  std::vector<std::complex<double>> of(const std::vector<double>& picture) const {
    const auto ways = static_cast<std::size_t>(columns());
    std::vector<double> real(ways * static_cast<std::size_t>(rows())), imaginary(real.size()), c(ways),
        s(ways);
    for (int y = 0; y < height_; ++y) {
      transform_row(&picture[static_cast<std::size_t>(y * width_)], c, s);
      for (std::size_t k = 0; k < static_cast<std::size_t>(rows()); ++k) {
        const std::size_t wave = static_cast<std::size_t>(y * rows()) + k;
        const double cosine = down_.cosine[wave], sine = down_.sine[wave];
        double *re = &real[k * ways], *im = &imaginary[k * ways];
        for (std::size_t i = 0; i < ways; ++i) {
          re[i] += c[i] * cosine - s[i] * sine;
          im[i] -= s[i] * cosine + c[i] * sine;
        }
      }
    }
    std::vector<std::complex<double>> spectrum(real.size());
    for (std::size_t i = 0; i < real.size(); ++i) spectrum[i] = {real[i], imaginary[i]};
    return spectrum;
  }

 private:
  // Sums of a row with cosines and with sines.
  void transform_row(const double* row, std::vector<double>& c, std::vector<double>& s) const {
    std::fill(c.begin(), c.end(), 0.0);
    std::fill(s.begin(), s.end(), 0.0);
    for (int x = 0; x < width_; ++x) {
      if (row[x] == 0) continue;
      const std::size_t first = static_cast<std::size_t>(x) * c.size();
      for (std::size_t i = 0; i < c.size(); ++i) {
        c[i] += row[x] * across_.cosine[first + i];
        s[i] += row[x] * across_.sine[first + i];
      }
    }
  }

  int width_, height_, most_across_, most_down_;
  Waves across_, down_;
};

// 1, x and y of a pixel, from the middle, in frame heights.
glm::dvec3 place(const SeparationPicture& picture, std::size_t pixel) {
  const auto x = static_cast<double>(pixel % static_cast<std::size_t>(picture.width)),
             y = static_cast<double>(pixel / static_cast<std::size_t>(picture.width));
  return {1, (x + 0.5 - picture.width / 2.0) / picture.height, (y + 0.5) / picture.height - 0.5};
}

using Spectrum = std::vector<std::complex<double>>;

// The weighted picture of each eighth in frequencies, and what takes the plane off any mean of them.
class Spectra {
 public:
  Spectra(const SeparationPicture& picture, const Transform& transform) {
    const std::vector<double> weights = texture_weights(picture);
    glm::dmat3 moments(0);
    std::array<std::vector<double>, 3> plane;
    for (std::size_t pixel = 0; pixel < weights.size(); ++pixel) {
      const glm::dvec3 at = place(picture, pixel);
      moments += weights[pixel] * glm::outerProduct(at, at);
      weight_ += weights[pixel];
      energy_ += weights[pixel] * weights[pixel];
      for (int i = 0; i < 3; ++i) plane[static_cast<std::size_t>(i)].push_back(weights[pixel] * at[i]);
    }
    pixels_ = static_cast<double>(weights.size());
    if (!enough()) return;
    from_sums_ = glm::inverse(moments);
    for (std::size_t i = 0; i < 3; ++i) plane_[i] = transform.of(plane[i]);
    for (std::size_t eighth = 0; eighth < eighths; ++eighth) {
      std::vector<double> weighted(weights.size());
      for (std::size_t pixel = 0; pixel < weights.size(); ++pixel) {
        weighted[pixel] = weights[pixel] * luminance_y(picture.colour[eighth][pixel]);
        sum_[eighth] += weighted[pixel] * place(picture, pixel);
      }
      eighth_[eighth] = transform.of(weighted);
    }
  }
  bool enough() const { return weight_ >= least_weights * pixels_; }

  double mean(const Use& use) const { return mean_sum(use).x / weight_; }  // cd/m2

  // What a half is without its plane.
  Spectrum residual(const Use& use) const {
    const auto used = static_cast<double>(std::count(use.begin(), use.end(), true));
    const glm::dvec3 fit = from_sums_ * mean_sum(use);
    Spectrum left(plane_[0].size());
    for (std::size_t i = 0; i < left.size(); ++i) {
      for (std::size_t eighth = 0; eighth < eighths; ++eighth)
        if (use[eighth]) left[i] += eighth_[eighth][i] / used;
      left[i] -= fit.x * plane_[0][i] + fit.y * plane_[1][i] + fit.z * plane_[2][i];
    }
    return left;
  }

  // Variance in a band, (cd/m2)^2.
  double variance(const Spectrum& a, const Spectrum& b, const Transform& transform,
                  const TextureBand& band) const {
    double power = 0;
    for (int row = 0; row < transform.rows(); ++row)
      for (int column = 0; column < transform.columns(); ++column) {
        const double cycles = transform.cycles(row, column);
        if (cycles < band.from || cycles >= band.to) continue;
        const auto at = static_cast<std::size_t>(row * transform.columns() + column);
        power += (column == 0 ? 1 : 2) * (a[at] * std::conj(b[at])).real();
      }
    return power / (pixels_ * energy_);
  }

 private:
  glm::dvec3 mean_sum(const Use& use) const {
    glm::dvec3 sum(0);
    for (std::size_t eighth = 0; eighth < eighths; ++eighth)
      if (use[eighth]) sum += sum_[eighth];
    return sum / static_cast<double>(std::count(use.begin(), use.end(), true));
  }
  double weight_ = 0, energy_ = 0, pixels_ = 0;
  glm::dmat3 from_sums_{1};
  std::array<Spectrum, 3> plane_;
  std::array<Spectrum, eighths> eighth_;
  std::array<glm::dvec3, eighths> sum_{};
};

}  // namespace

std::vector<double> texture_weights(const SeparationPicture& picture) {
  const int reach = std::max(1, static_cast<int>(std::lround(feather * picture.height)));
  const auto is_backdrop = [&](int x, int y) {
    return x >= 0 && y >= 0 && x < picture.width && y < picture.height &&
           picture.backdrop[static_cast<std::size_t>(y * picture.width + x)] != 0;
  };
  std::vector<double> weights;
  weights.reserve(picture.pixels());
  for (int y = 0; y < picture.height; ++y)
    for (int x = 0; x < picture.width; ++x) {
      int nearest = is_backdrop(x, y) ? reach * reach : 0;  // squared, to what is no backdrop
      for (int v = -reach; v <= reach && nearest > 0; ++v)
        for (int u = -reach; u <= reach; ++u)
          if (u * u + v * v < nearest && !is_backdrop(x + u, y + v)) nearest = u * u + v * v;
      const double rise = std::sin(pi / 2 * std::sqrt(nearest) / reach);
      weights.push_back(rise * rise);
    }
  return weights;
}

std::array<std::optional<Figure>, texture_bands.size()> backdrop_texture(const SeparationPicture& picture) {
  std::array<std::optional<Figure>, texture_bands.size()> figures;
  const Transform transform(picture.width, picture.height,
                            std::min(texture_bands.back().to, picture.height / 2.0));
  const Spectra spectra(picture, transform);
  if (!spectra.enough()) return figures;
  // Halves of halves: each choice of samples is worked out once for all bands.
  std::map<Use, std::array<double, texture_bands.size()>> known;
  const auto relative = [&](const Use& use, std::size_t band) -> std::optional<double> {
    const double mean = spectra.mean(use);
    if (mean <= 0) return std::nullopt;
    const auto [at, is_new] = known.try_emplace(use);
    if (is_new) {
      const auto [half, rest] = halves_of(use);
      const Spectrum a = spectra.residual(half), b = spectra.residual(rest);
      for (std::size_t i = 0; i < texture_bands.size(); ++i)
        at->second[i] = spectra.variance(a, b, transform, texture_bands[i]) / (mean * mean);
    }
    return at->second[band];
  };
  for (std::size_t band = 0; band < texture_bands.size(); ++band)
    if (2 * texture_bands[band].to <= picture.height)
      figures[band] = figure_of([&](const Use& use) { return relative(use, band); });
  return figures;
}

Figure rms_contrast_pct(const Figure& variance) {
  const double from = std::max(0.0, variance.estimate.value);
  Figure rms = variance;
  rms.estimate.value = 100 * std::sqrt(from);
  rms.estimate.se = 100 * std::sqrt(from + variance.estimate.se) - rms.estimate.value;
  rms.noise_bias = 0;  // a variance from halves has none
  return rms;
}

}  // namespace undercap
