#pragma once

#include <span>

#include "geometry/mesh.h"

namespace lastroom {

/// Looks at a mesh, or at vertices and triangles from two places, without a copy. They must stay where they are.
struct MeshView {
  std::span<const Vec3> vertices;
  std::span<const Triangle> triangles;
  MeshView(const Mesh& mesh) : vertices(mesh.vertices), triangles(mesh.triangles) {}
  MeshView(std::span<const Vec3> of, std::span<const Triangle> with) : vertices(of), triangles(with) {}
  Mesh copy() const { return {{vertices.begin(), vertices.end()}, {triangles.begin(), triangles.end()}}; }
};

}  // namespace lastroom
