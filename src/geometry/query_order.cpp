#include "geometry/query_order.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "geometry/sort_pairs.h"

namespace lastroom {
namespace {

/// Ten bits with two zeros after each.
std::uint32_t spread_out(std::uint32_t bits) {
  bits = (bits | bits << 16) & 0x030000ff;
  bits = (bits | bits << 8) & 0x0300f00f;
  bits = (bits | bits << 4) & 0x030c30c3;
  return (bits | bits << 2) & 0x09249249;
}

}  // namespace

std::vector<std::uint32_t> nearby_order(std::span<const Vec3> points_mm) {
  constexpr std::size_t kWorthSorting = 1000;
  if (points_mm.size() < kWorthSorting) return {};
  Box box;
  double way_mm = 0.0;
  for (std::size_t i = 0; i < points_mm.size(); ++i) {
    box.low = box.low.cwiseMin(points_mm[i]);
    box.high = box.high.cwiseMax(points_mm[i]);
    if (i > 0) way_mm += (points_mm[i] - points_mm[i - 1]).norm();
  }
  const double mean_step_mm = way_mm / static_cast<double>(points_mm.size());
  constexpr double kFarStepRatio =
      0.05;  // of the diagonal: the way between two points at random is a third of it or so
  const double diagonal_mm = box.size().norm();
  if (!(mean_step_mm > kFarStepRatio * diagonal_mm) || !std::isfinite(diagonal_mm)) return {};

  const double cells_per_mm = 1023.0 / box.size().maxCoeff();
  std::vector<std::pair<std::uint32_t, std::uint32_t>> coded(points_mm.size());
  for (std::uint32_t i = 0; i < coded.size(); ++i) {
    const Eigen::Array3i cell = ((points_mm[i] - box.low) * cells_per_mm).cast<int>();
    std::uint32_t code = 0;
    for (int k = 0; k < 3; ++k) code |= spread_out(static_cast<std::uint32_t>(cell[k])) << k;
    coded[i] = {code, i};
  }
  sort_pairs(coded);
  std::vector<std::uint32_t> order(coded.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = coded[i].second;
  return order;
}

}  // namespace lastroom
