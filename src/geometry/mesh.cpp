#include "geometry/mesh.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "geometry/parallel.h"

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
  // What each triangle gives is computed in parallel, a batch at a time, and added in the triangles' order: the sums
  // are the same with any number of threads.
  struct Given {
    Vec3 normal, angle;
  };
  constexpr std::size_t kBatch = 1 << 14, kBlock = 1 << 11;
  std::vector<Given> given(std::min(kBatch, mesh.triangles.size()));
  std::vector<Vec3> normals(mesh.vertices.size(), Vec3::Zero());
  for (std::size_t start = 0; start < mesh.triangles.size(); start += kBatch) {
    const std::size_t count = std::min(kBatch, mesh.triangles.size() - start);
    for_blocks(count, kBlock, [&](std::size_t begin, std::size_t end) {
      for (std::size_t i = begin; i < end; ++i) {
        const Triangle& t = mesh.triangles[start + i];
        const Vec3 &a = mesh.vertices[t[0]], &b = mesh.vertices[t[1]], &c = mesh.vertices[t[2]];
        const Vec3 ab = b - a, ac = c - a, bc = c - b;
        const Vec3 twice_area = ab.cross(ac);
        const double size = twice_area.norm();
        const double at_a = std::atan2(size, ab.dot(ac)), at_b = std::atan2(size, -ab.dot(bc));
        given[i] = {twice_area.normalized(), {at_a, at_b, std::max(0.0, std::numbers::pi - at_a - at_b)}};
      }
    });
    for (std::size_t i = 0; i < count; ++i)
      for (std::size_t k = 0; k < 3; ++k)
        normals[mesh.triangles[start + i][k]] += given[i].angle[static_cast<Eigen::Index>(k)] * given[i].normal;
  }
  for_blocks(normals.size(), kBatch, [&](std::size_t begin, std::size_t end) {
    for (std::size_t v = begin; v < end; ++v) normals[v].normalize();
  });
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

Mesh moved(Mesh mesh, const Motion& to_from_mesh) {
  for (Vec3& v : mesh.vertices) v = to_from_mesh * v;
  return mesh;
}

Mesh mirrored_y(Mesh mesh) {
  for (Vec3& v : mesh.vertices) v.y() = -v.y();
  for (Triangle& t : mesh.triangles) std::swap(t[1], t[2]);
  return mesh;
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
