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

/// Mean edge of equal triangles of this area. A round of averaging over the six around widens by about 0.9 edges (root
/// mean square), and rounds add in squares.
int rounds_over(const Mesh& mesh, double radius_mm) {
  const double edge_mm = std::sqrt(area_mm2(mesh) / static_cast<double>(mesh.triangles.size()) * 4.0 / std::sqrt(3.0));
  return std::clamp(static_cast<int>(std::ceil(std::pow(radius_mm / std::max(edge_mm, 0.1), 2))), 1, kMostRounds);
}

/// `rounds` times: every value becomes `settle(sum of its own and its neighbours', how many, itself)`.
template <typename Value, typename Settle>
void average(const Mesh& mesh, int rounds, std::vector<Value>& values, const Settle& settle) {
  const Neighbours around = neighbours(mesh);
  std::vector<Value> next(values.size());
  for (int round = 0; round < rounds; ++round) {
    for_blocks(values.size(), kBlock, [&](std::size_t begin, std::size_t end) {
      for (std::size_t i = begin; i < end; ++i) {
        Value sum = values[i];
        for (std::uint32_t k = around.first[i]; k < around.first[i + 1]; ++k) sum += values[around.vertex[k]];
        next[i] = settle(sum, 1u + around.first[i + 1] - around.first[i], values[i]);
      }
    });
    values.swap(next);
  }
}

}  // namespace

std::vector<Vec3> skin_normals(const Mesh& mesh) {
  std::vector<Vec3> normals = vertex_normals(mesh);
  if (mesh.triangles.empty()) return normals;
  using Soft = Eigen::Vector4f;  // a direction wants no more, and four floats are one instruction
  std::vector<Soft> soft(normals.size());
  for (std::size_t i = 0; i < soft.size(); ++i) soft[i] << normals[i].cast<float>(), 0.0F;
  average(mesh, rounds_over(mesh, kRadiusMm), soft, [](const Soft& sum, std::uint32_t, const Soft& before) {
    const float squared = sum.squaredNorm();
    return squared > 0.0F ? Soft(sum / std::sqrt(squared)) : before;
  });
  for (std::size_t i = 0; i < soft.size(); ++i) normals[i] = soft[i].head<3>().cast<double>().normalized();
  return normals;
}

std::vector<double> evened(const Mesh& mesh, std::vector<double> values, double radius_mm) {
  if (mesh.triangles.empty()) return values;
  average(mesh, rounds_over(mesh, radius_mm), values,
          [](double sum, std::uint32_t count, double) { return sum / count; });
  return values;
}

}  // namespace lastroom
