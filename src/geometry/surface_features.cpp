#include "geometry/surface_features.h"

#include <algorithm>

namespace lastroom {
namespace {

/// Corners k of triangles i as 3 i + k, grouped by the lower vertex of the edge from corner k to corner k + 1.
struct EdgesByLowerVertex {
  std::vector<std::uint32_t> first;  ///< vertices + 1
  std::vector<std::uint32_t> corner, upper;
};

EdgesByLowerVertex edges_by_lower_vertex(const Mesh& mesh) {
  EdgesByLowerVertex edges;
  edges.first.assign(mesh.vertices.size() + 2, 0);
  for (const Triangle& t : mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k) ++edges.first[std::min(t[k], t[(k + 1) % 3]) + 2];
  for (std::size_t v = 2; v < edges.first.size(); ++v) edges.first[v] += edges.first[v - 1];
  edges.corner.resize(3 * mesh.triangles.size());
  edges.upper.resize(3 * mesh.triangles.size());
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i) {
    const Triangle& t = mesh.triangles[i];
    for (std::size_t k = 0; k < 3; ++k) {
      const std::uint32_t a = t[k], b = t[(k + 1) % 3];
      const std::uint32_t place = edges.first[std::min(a, b) + 1]++;
      edges.corner[place] = static_cast<std::uint32_t>(3 * i + k);
      edges.upper[place] = std::max(a, b);
    }
  }
  edges.first.pop_back();
  return edges;
}

}  // namespace

Vec3 face_normal(const Mesh& mesh, std::uint32_t triangle) {
  const Triangle& t = mesh.triangles[triangle];
  const Vec3& a = mesh.vertices[t[0]];
  return (mesh.vertices[t[1]] - a).cross(mesh.vertices[t[2]] - a).normalized();
}

SurfaceFeatures surface_features(const Mesh& mesh) {
  SurfaceFeatures features;
  features.vertex_normals = vertex_normals(mesh);
  features.on_rim.assign(mesh.vertices.size(), 0);
  features.across.resize(mesh.triangles.size());
  const EdgesByLowerVertex edges = edges_by_lower_vertex(mesh);

  std::vector<std::uint32_t> ring;  // the corners of one edge
  for (std::uint32_t lower = 0; lower < mesh.vertices.size(); ++lower)
    for (std::uint32_t i = edges.first[lower]; i < edges.first[lower + 1]; ++i) {
      const std::uint32_t upper = edges.upper[i];
      ring.clear();
      for (std::uint32_t j = edges.first[lower]; j < edges.first[lower + 1]; ++j)
        if (edges.upper[j] == upper) ring.push_back(edges.corner[j]);
      std::uint32_t& mine = features.across[edges.corner[i] / 3][edges.corner[i] % 3];
      if (ring.size() == 1) {
        mine = SurfaceFeatures::kNone;
        features.on_rim[lower] = features.on_rim[upper] = 1;
      } else if (ring.size() == 2) {
        mine = (ring[0] == edges.corner[i] ? ring[1] : ring[0]) / 3;
      } else if (ring[0] == edges.corner[i]) {
        Vec3 sum = Vec3::Zero();
        for (std::uint32_t corner : ring) sum += face_normal(mesh, corner / 3);
        for (std::uint32_t corner : ring)
          features.across[corner / 3][corner % 3] =
              SurfaceFeatures::kCrowded | static_cast<std::uint32_t>(features.crowded_normals.size());
        features.crowded_normals.push_back(sum);
      }
    }
  return features;
}

TrianglePoint nearest_on_triangle(const Mesh& mesh, std::uint32_t triangle, const Vec3& p_mm) {
  const Triangle& t = mesh.triangles[triangle];
  const Vec3* const v[3] = {&mesh.vertices[t[0]], &mesh.vertices[t[1]], &mesh.vertices[t[2]]};
  const Vec3 edge[3] = {*v[1] - *v[0], *v[2] - *v[1], *v[0] - *v[2]};
  const Vec3 to_p[3] = {p_mm - *v[0], p_mm - *v[1], p_mm - *v[2]};
  const Vec3 normal = edge[0].cross(edge[1]);
  const double normal2 = normal.squaredNorm();
  bool beyond[3];
  for (int k = 0; k < 3; ++k) beyond[k] = !(edge[k].cross(to_p[k]).dot(normal) > 0.0);  // also when there is no area

  if (!beyond[0] && !beyond[1] && !beyond[2]) {
    const double height = normal.dot(to_p[0]);  // times |normal|
    return {height * height / normal2, p_mm - height / normal2 * normal, 6};
  }
  // The nearest point is on an edge that p lies beyond.
  TrianglePoint best{std::numeric_limits<double>::infinity(), Vec3::Zero(), 6};
  for (int k = 0; k < 3; ++k) {
    if (!beyond[k]) continue;
    const int next = (k + 1) % 3;
    const bool up = t[static_cast<std::size_t>(k)] < t[static_cast<std::size_t>(next)];
    const int low = up ? k : next, high = up ? next : k;  // each edge is walked one way by all its triangles
    const Vec3 along = up ? edge[k] : Vec3(-edge[k]);
    const double share = along.dot(to_p[low]) / along.squaredNorm();
    TrianglePoint found;
    if (!(share > 0.0))
      found = {to_p[low].squaredNorm(), *v[low], low};
    else if (share >= 1.0)
      found = {to_p[high].squaredNorm(), *v[high], high};
    else {
      const Vec3 point = *v[low] + share * along;
      found = {(p_mm - point).squaredNorm(), point, 3 + k};
    }
    if (found.squared_mm2 < best.squared_mm2) best = found;
  }
  return best;
}

}  // namespace lastroom
