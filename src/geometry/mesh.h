#pragma once

#include <Eigen/Dense>
#include <Eigen/StdVector>
#include <array>
#include <cstdint>
#include <limits>
#include <vector>

namespace lastroom {

using Vec2 = Eigen::Vector2d;
using Vec3 = Eigen::Vector3d;
using Motion = Eigen::Isometry3d;  ///< rigid, no mirror; named `target_from_source`, so that inner words meet
using Triangle = std::array<std::uint32_t, 3>;

/// A triangle mesh, or a bare point cloud when `triangles` is empty. Lengths are millimetres wherever a Mesh is passed
/// between rooms (only `MeshFile` still carries the file's own unit). Triangles run counter-clockwise seen from
/// outside.
struct Mesh {
  std::vector<Vec3> vertices;
  std::vector<Triangle> triangles;
};

struct Box {
  Vec3 low = Vec3::Constant(std::numeric_limits<double>::infinity());
  Vec3 high = Vec3::Constant(-std::numeric_limits<double>::infinity());
  Vec3 size() const { return high - low; }
};

Box bounds(const Mesh& mesh);
double area_mm2(const Mesh& mesh);
/// Signed: positive when the triangles face outwards. For an open mesh it is the volume of the cone from the centroid.
double volume_mm3(const Mesh& mesh);
/// Unit normals, one per vertex, weighted by the angle of each triangle there; zero at a vertex without triangles.
std::vector<Vec3> vertex_normals(const Mesh& mesh);
/// A third of the area of every triangle at the vertex; sums to `area_mm2`.
std::vector<double> vertex_areas_mm2(const Mesh& mesh);
Mesh moved(Mesh mesh, const Motion& to_from_mesh);
/// Mirror at the plane y = 0, with the triangles turned so that they still face outwards.
Mesh mirrored_y(Mesh mesh);
/// The triangles for which `keep` is non-zero, with unused vertices dropped; order is kept.
Mesh submesh(const Mesh& mesh, const std::vector<std::uint8_t>& keep);

}  // namespace lastroom
