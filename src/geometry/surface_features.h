#pragma once

#include "geometry/mesh.h"

namespace lastroom {

/// What the sign of a distance is read from: the neighbours of every triangle and the angle-weighted pseudonormals of
/// faces, edges and vertices (Baerentzen and Aanaes 2005, "Signed distance computation using the angle weighted
/// pseudonormal", IEEE TVCG 11).
struct SurfaceFeatures {
  static constexpr std::uint32_t kNone = 0xffffffff;     ///< no neighbour: the edge is on the rim
  static constexpr std::uint32_t kCrowded = 0x80000000;  ///< bit set: index into `crowded_normals`

  /// For the edge from corner k to corner k + 1: the triangle across it.
  std::vector<std::array<std::uint32_t, 3>> across;
  std::vector<Vec3> crowded_normals;            ///< sum of the face normals at an edge with more than two triangles
  std::vector<Eigen::Vector3f> vertex_normals;  ///< unit to float rounding, far below what a sign hangs on
  std::vector<std::uint8_t> on_rim;             ///< one per vertex
};
SurfaceFeatures surface_features(const Mesh& mesh);
/// The same but for `vertex_normals`, which stay empty: they cost more than the rest.
SurfaceFeatures edge_features(const Mesh& mesh);

/// Unit normal; zero for a triangle without area.
Vec3 face_normal(const Mesh& mesh, std::uint32_t triangle);

/// Nearest point of one triangle, and of which feature: 0..2 the corner, 3..5 the edge from corner k - 3, 6 the face.
struct TrianglePoint {
  double squared_mm2 = 0.0;
  Vec3 point_mm = Vec3::Zero();
  int feature = 6;
};
/// Bytes at a shared corner or edge are the same from every triangle around it.
TrianglePoint nearest_on_triangle(const Mesh& mesh, std::uint32_t triangle, const Vec3& p_mm);

}  // namespace lastroom
