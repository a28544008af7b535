#pragma once

#include "geometry/section.h"

namespace lastroom::open3d_adapter {

/// Up to this height a point belongs to the floor: four times the floor's own roughness, between half a step and two.
double floor_thickness_mm(const std::vector<Vec3>& points_mm, const Plane& floor, double step_mm);

/// A flat sheet of squares, facing along the plane's normal, over all that these points cover.
Mesh sheet_over(const std::vector<Vec3>& points_mm, const Plane& plane, double square_mm);

}  // namespace lastroom::open3d_adapter
