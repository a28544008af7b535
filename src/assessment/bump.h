#pragma once

#include "geometry/signed_distance.h"

namespace lastroom {

/// A smooth change of a surface around a point of it: full height in the core, fading to nothing at the edge.
struct Bump {
  Vec3 centre_mm = Vec3::Zero();
  Vec3 along = Vec3::UnitX(), across = Vec3::UnitY(), normal = Vec3::UnitZ();  ///< right-handed, unit; normal outwards
  double half_length_mm = 0.0, half_width_mm = 0.0;  ///< of the whole bump, fading edge included
  double core_share = 0.7;                           ///< of the half sizes that is at full height
  double height_mm = 0.0;                            ///< positive: outwards
};

/// Directions at a surface point: along the last where the surface allows it, else across (toe end, heel back).
Bump bump_at(const SurfacePoint& place);

/// 0 outside .. 1 in the core.
double share_at(const Bump& bump, const Vec3& point_mm);

/// How far the surface moves at a point of it, all bumps together.
double height_at(const std::vector<Bump>& bumps, const Vec3& point_mm);

}  // namespace lastroom
