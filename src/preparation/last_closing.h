#pragma once

#include "geometry/mesh.h"

namespace lastroom {

/// A saw cut, a thimble hole, a thong's slot and the gap of a folding last are no place for a foot. They are what a
/// ball of this radius, rolled around the last from outside, does not get into: openings up to 16 mm wide. A last's own
/// hollows are wider by far. Our choice.
constexpr double kClosingRadius_mm = 8.0;

/// Area of the walls that lie deep behind where the ball gets, roughly. `mesh` in mm, any winding, open or closed.
double hidden_wall_area_mm2(const Mesh& mesh);

/// One closed skin over all bodies of `mesh` (mm, any winding), its vertices on the mesh's own surface and, over what
/// the ball does not get into, drawn straight across. Open where `mesh` has rims wider than the ball. Empty when the
/// ball gets inside through a hole.
Mesh closed_over(const Mesh& mesh);

/// The same over bare points, as a scanner gives them: no normals, spaced by a few mm at most. Open at a top that was
/// not scanned.
Mesh closed_over_points(const std::vector<Vec3>& points_mm);

/// Not a sheet, nor a thin shell.
bool has_body(const Mesh& mesh);

}  // namespace lastroom
