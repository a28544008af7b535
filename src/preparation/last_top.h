#pragma once

#include "geometry/surface_features.h"

namespace lastroom {

/// Where a standing last ends above: the rim of an open one, or the edge of the flat cut that closes it. Empty for a
/// last that is rounded off above, whose whole skin is leather's. Last frame.
struct LastTop {
  static constexpr double kStep_mm = 4.0;
  double from_x_mm = 0.0;                        ///< first station
  std::vector<std::array<double, 2>> height_mm;  ///< of the edge at stations kStep_mm apart: right (-y), left (+y)
  std::vector<std::uint8_t> cut;                 ///< one per triangle: 1 on the flat cut; empty when there is none
};
/// `features` are the mesh's.
LastTop find_top(const Mesh& standing, const SurfaceFeatures& features, double length_mm);
LastTop mirrored_y(LastTop top);

/// Beside or over nothing of the last: behind and along its top edge what is higher than that, and in front of it what
/// is nearer to the edge than to a surface that falls by 45 degrees from there.
bool above_the_top(const LastTop& top, const Vec3& point_mm);

/// The same for a point of which the last's nearest triangle is known: one nearest to the cut is not judged either.
inline bool past_the_top(const LastTop& top, const Vec3& point_mm, std::uint32_t nearest_triangle) {
  return (!top.cut.empty() && top.cut[nearest_triangle] != 0) || above_the_top(top, point_mm);
}

}  // namespace lastroom
