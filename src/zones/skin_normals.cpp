#include "zones/skin_normals.h"

#include <algorithm>
#include <cmath>

#include "geometry/parallel.h"

namespace lastroom {
namespace {

constexpr double kRadiusMm = 4.0;  // wide against a triangle, narrow against a small toe's breadth of 12 mm
constexpr int kMostRounds = 24;
constexpr std::size_t kBlock = 8192;

/// Neighbours of every vertex, in one array (compressed rows).
struct Neighbours {
  std::vector<std::uint32_t> first, vertex;
};

Neighbours neighbours(const Mesh& mesh) {
  // Each triangle gives its corner the next one; on a closed surface that is every neighbour once.
  Neighbours n;
  n.first.assign(mesh.vertices.size() + 1, 0);
  for (const Triangle& t : mesh.triangles)
    for (const std::uint32_t corner : t) ++n.first[corner + 1];
  for (std::size_t i = 1; i < n.first.size(); ++i) n.first[i] += n.first[i - 1];
  n.vertex.resize(mesh.triangles.size() * 3);
  std::vector<std::uint32_t> next(n.first.begin(), n.first.end() - 1);
  for (const Triangle& t : mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k) n.vertex[next[t[k]]++] = t[(k + 1) % 3];
  return n;
}

}  // namespace

std::vector<Vec3> skin_normals(const Mesh& mesh) {
  std::vector<Vec3> normals = vertex_normals(mesh);
  if (mesh.triangles.empty()) return normals;
  // Mean edge of equal triangles of this area; a round of averaging over the six around widens by about 0.9 edges
  // (root mean square), and rounds add in squares.
  const double edge_mm = std::sqrt(area_mm2(mesh) / static_cast<double>(mesh.triangles.size()) * 4.0 / std::sqrt(3.0));
  const int rounds =
      std::clamp(static_cast<int>(std::ceil(std::pow(kRadiusMm / std::max(edge_mm, 0.1), 2))), 1, kMostRounds);
  const Neighbours around = neighbours(mesh);
  std::vector<Vec3> next(normals.size());
  for (int round = 0; round < rounds; ++round) {
    for_blocks(normals.size(), kBlock, [&](std::size_t first, std::size_t last) {
      for (std::size_t i = first; i < last; ++i) {
        Vec3 sum = normals[i];
        for (std::uint32_t k = around.first[i]; k < around.first[i + 1]; ++k) sum += normals[around.vertex[k]];
        next[i] = sum.squaredNorm() > 0.0 ? Vec3(sum.normalized()) : normals[i];
      }
    });
    normals.swap(next);
  }
  return normals;
}

}  // namespace lastroom
