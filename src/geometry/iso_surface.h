#pragma once

#include <functional>

#include "geometry/mesh.h"

namespace lastroom {

/// A solid as a function of place: negative inside, about the distance in mm near its surface (slope at most
/// `kSteepestField`), so that far blocks of space can be skipped.
using Field = std::function<double(const Vec3&)>;
constexpr double kSteepestField = 1.3;

/// The surface of a solid inside `box` as well-shaped triangles, their corners on the surface. Surface nets (Gibson
/// 1998, "Constrained elastic surface nets") on a grid of `edge_mm`. Closed and manifold, except that it is open where
/// the plane z = box.high.z() cuts the solid: there the rim lies exactly in the plane.
Mesh iso_surface(const Field& field, const Box& box, double edge_mm);

}  // namespace lastroom
