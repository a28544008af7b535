#pragma once

#include <utility>
#include <vector>

#include "geometry/mesh_view.h"

namespace lastroom {

struct Plane {
  Vec3 point_mm = Vec3::Zero();
  Vec3 normal = Vec3::UnitX();  ///< unit
};

/// One connected curve of a plane cut, in 3D. A closed one does not repeat its first point.
struct SectionCurve {
  std::vector<Vec3> points_mm;
  bool closed = false;
};
double length_mm(const SectionCurve& curve);

/// All curves where `mesh` crosses `plane`, longest first; direction: counter-clockwise seen against the normal.
std::vector<SectionCurve> section(const MeshView& mesh, const Plane& plane);

/// Corners of the convex hull of planar points, counter-clockwise, no repeated first point, collinear points dropped.
std::vector<Vec2> convex_hull(std::vector<Vec2> points);

/// Area inside a closed polygon without crossings, its corners counter-clockwise (the shoelace formula).
double polygon_area(const std::vector<Vec2>& corners);

/// Length of the shortest closed loop around all points of the curves, as a tape reads it: hollows are bridged.
/// `plane` gives the tape's plane; zero when there are fewer than three points.
double girth_mm(const std::vector<SectionCurve>& curves, const Plane& plane);

/// Corners of the hull that `girth_mm` measures, back in 3D, for drawing.
std::vector<Vec3> tape_loop(const std::vector<SectionCurve>& curves, const Plane& plane);

/// Two unit vectors u, v with u x v = normal; deterministic.
std::pair<Vec3, Vec3> plane_axes(const Vec3& normal);

}  // namespace lastroom
