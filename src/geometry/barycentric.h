#pragma once

#include "geometry/mesh.h"

namespace lastroom {

/// The shares of a triangle's corners in a point of it; they sum to 1. Of a triangle without area its first corner.
Vec3 shares_in(const Mesh& mesh, std::uint32_t triangle, const Vec3& point_mm);

/// A value of the vertices at a point of a triangle, linear in between: the same from either side of an edge.
template <class Value>
Value at_point(const Mesh& mesh, const std::vector<Value>& vertex_value, std::uint32_t triangle, const Vec3& point_mm) {
  const Vec3 share = shares_in(mesh, triangle, point_mm);
  const Triangle& t = mesh.triangles[triangle];
  return Value(share[0] * vertex_value[t[0]] + share[1] * vertex_value[t[1]] + share[2] * vertex_value[t[2]]);
}

}  // namespace lastroom
