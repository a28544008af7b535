#include "report/colour_scale.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lastroom {
namespace {

/// Eleven even stops of vik, from its blue end to its red end.
constexpr std::array<std::array<double, 3>, 11> kVik = {{{0, 18, 97},
                                                         {2, 58, 122},
                                                         {17, 100, 150},
                                                         {86, 151, 184},
                                                         {167, 201, 218},
                                                         {236, 229, 225},
                                                         {225, 184, 160},
                                                         {205, 136, 96},
                                                         {183, 90, 38},
                                                         {134, 35, 6},
                                                         {89, 0, 8}}};
constexpr double kScaleEnd_mm = 10.0;  // beyond it more room or more pressure is no news

}  // namespace

VertexColour clearance_colour(double clearance_mm) {
  const double size = std::sqrt(std::min(std::abs(clearance_mm), kScaleEnd_mm) / kScaleEnd_mm);
  const double position = 5.0 - 5.0 * std::copysign(size, clearance_mm);
  const std::size_t stop = std::min<std::size_t>(static_cast<std::size_t>(position), kVik.size() - 2);
  const double part = position - static_cast<double>(stop);
  const auto channel = [&](std::size_t c) {
    return static_cast<std::uint8_t>(std::lround(kVik[stop][c] + part * (kVik[stop + 1][c] - kVik[stop][c])));
  };
  return {channel(0), channel(1), channel(2)};
}

std::string hex(VertexColour colour) {
  return fmt::format("#{:02x}{:02x}{:02x}", colour.red, colour.green, colour.blue);
}

VertexColour band_colour(std::size_t band) { return band_colour(kBandBorders_mm, band); }

VertexColour band_colour(std::span<const double> borders_mm, std::size_t band) {
  if (band == 0) return clearance_colour(1.5 * borders_mm.front());
  if (band == borders_mm.size()) return clearance_colour(kScaleEnd_mm);
  return clearance_colour(0.5 * (borders_mm[band - 1] + borders_mm[band]));
}

}  // namespace lastroom
