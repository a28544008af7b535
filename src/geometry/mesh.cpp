#include "geometry/mesh.h"

#include <algorithm>
#include <cmath>

namespace lastroom {
namespace {

Vec3 area_vector(const Mesh& mesh, const Triangle& t) {  // twice the area, along the outward normal
  const Vec3& a = mesh.vertices[t[0]];
  return (mesh.vertices[t[1]] - a).cross(mesh.vertices[t[2]] - a);
}

}  // namespace

Box bounds(const Mesh& mesh) {
  Box box;
  for (const Vec3& v : mesh.vertices) {
    box.low = box.low.cwiseMin(v);
    box.high = box.high.cwiseMax(v);
  }
  return box;
}

double area_mm2(const Mesh& mesh) {
  double twice = 0.0;
  for (const Triangle& t : mesh.triangles) twice += area_vector(mesh, t).norm();
  return twice / 2.0;
}

double volume_mm3(const Mesh& mesh) {
  Vec3 middle = Vec3::Zero();
  for (const Vec3& v : mesh.vertices) middle += v;
  if (!mesh.vertices.empty()) middle /= static_cast<double>(mesh.vertices.size());
  double six_times = 0.0;
  for (const Triangle& t : mesh.triangles) six_times += (mesh.vertices[t[0]] - middle).dot(area_vector(mesh, t));
  return six_times / 6.0;
}

std::vector<Vec3> vertex_normals(const Mesh& mesh) {
  std::vector<Vec3> normals(mesh.vertices.size(), Vec3::Zero());
  for (const Triangle& t : mesh.triangles) {
    const Vec3 normal = area_vector(mesh, t).normalized();
    for (int k = 0; k < 3; ++k) {
      const auto corner = [&](int i) -> const Vec3& { return mesh.vertices[t[static_cast<std::size_t>(i % 3)]]; };
      const Vec3 to_next = corner(k + 1) - corner(k);
      const Vec3 to_previous = corner(k + 2) - corner(k);
      const double angle = std::atan2(to_next.cross(to_previous).norm(), to_next.dot(to_previous));
      normals[t[static_cast<std::size_t>(k)]] += angle * normal;
    }
  }
  for (Vec3& n : normals) n.normalize();
  return normals;
}

std::vector<double> vertex_areas_mm2(const Mesh& mesh) {
  std::vector<double> areas(mesh.vertices.size(), 0.0);
  for (const Triangle& t : mesh.triangles) {
    const double third = area_vector(mesh, t).norm() / 6.0;
    for (std::uint32_t corner : t) areas[corner] += third;
  }
  return areas;
}

Mesh moved(const Mesh& mesh, const Motion& to_from_mesh) {
  Mesh result = mesh;
  for (Vec3& v : result.vertices) v = to_from_mesh * v;
  return result;
}

Mesh mirrored_y(const Mesh& mesh) {
  Mesh result = mesh;
  for (Vec3& v : result.vertices) v.y() = -v.y();
  for (Triangle& t : result.triangles) std::swap(t[1], t[2]);
  return result;
}

Mesh submesh(const Mesh& mesh, const std::vector<std::uint8_t>& keep) {
  constexpr auto kUnused = std::numeric_limits<std::uint32_t>::max();
  std::vector<std::uint32_t> renamed(mesh.vertices.size(), kUnused);
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i)
    if (keep[i])
      for (std::uint32_t corner : mesh.triangles[i]) renamed[corner] = 0;
  Mesh result;
  for (std::size_t v = 0; v < mesh.vertices.size(); ++v)
    if (renamed[v] != kUnused) {
      renamed[v] = static_cast<std::uint32_t>(result.vertices.size());
      result.vertices.push_back(mesh.vertices[v]);
    }
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i)
    if (keep[i]) {
      const Triangle& t = mesh.triangles[i];
      result.triangles.push_back({renamed[t[0]], renamed[t[1]], renamed[t[2]]});
    }
  return result;
}

}  // namespace lastroom
