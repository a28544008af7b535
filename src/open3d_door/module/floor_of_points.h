#pragma once

#include <optional>

#include "geometry/section.h"

namespace lastroom::open3d_door {

/// The floor that was scanned along with a body: a plane that all the rest stands on one side of, and that reaches out
/// beyond it. `normals` are unit, either way round; `step_mm` is how far apart the points are. The plane's normal
/// points to the rest. Nothing where there is no such plane.
std::optional<Plane> floor_of_points(const std::vector<Vec3>& points_mm, const std::vector<Vec3>& normals,
                                     double step_mm);

/// Up to this height a point belongs to the floor: four times the floor's own roughness, between half a step and two.
double floor_thickness_mm(const std::vector<Vec3>& points_mm, const Plane& floor, double step_mm);

/// A flat sheet of squares, facing along the plane's normal, over all that these points cover.
Mesh sheet_over(const std::vector<Vec3>& points_mm, const Plane& plane, double square_mm);

}  // namespace lastroom::open3d_door
