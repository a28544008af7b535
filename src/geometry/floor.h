#pragma once

#include <optional>
#include <vector>

#include "geometry/section.h"

namespace lastroom {

/// The floor that a foot was scanned with, its normal towards the foot: a big plane with the rest of the scan on one
/// side only, that reaches out beyond what stands on it. A sole never does that, and neither does a capped leg.
/// The scan as points that are spread evenly, with their unit normals (either way) and the area that each stands for;
/// what lies within `tolerance` of a plane lies on it.
std::optional<Plane> find_floor(const std::vector<Vec3>& points, const std::vector<Vec3>& normals,
                                const std::vector<double>& areas, double tolerance);

}  // namespace lastroom
