#include "geometry/surface_features.h"

#include <algorithm>
#include <utility>

#include "geometry/parallel.h"

namespace lastroom {
namespace {

/// Corners k of triangles i as 3 i + k, grouped by the lower vertex of the edge from corner k to corner k + 1.
struct EdgesByLowerVertex {
  const Mesh& mesh;
  std::vector<std::uint32_t> first;  ///< vertices + 1
  std::vector<std::uint32_t> corner;
  std::uint32_t upper(std::uint32_t i) const { return upper_of(corner[i]); }
  std::uint32_t upper_of(std::uint32_t at) const {
    const Triangle& t = mesh.triangles[at / 3];
    return std::max(t[at % 3], t[(at % 3 + 1) % 3]);
  }
};

EdgesByLowerVertex edges_by_lower_vertex(const Mesh& mesh) {
  EdgesByLowerVertex edges{mesh, {}, {}};
  edges.first.assign(mesh.vertices.size() + 2, 0);
  for (const Triangle& t : mesh.triangles)
    for (std::size_t k = 0; k < 3; ++k) ++edges.first[std::min(t[k], t[(k + 1) % 3]) + 2];
  for (std::size_t v = 2; v < edges.first.size(); ++v) edges.first[v] += edges.first[v - 1];
  edges.corner.resize(3 * mesh.triangles.size());
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i) {
    const Triangle& t = mesh.triangles[i];
    for (std::size_t k = 0; k < 3; ++k) {
      const std::uint32_t a = t[k], b = t[(k + 1) % 3];
      const std::uint32_t place = edges.first[std::min(a, b) + 1]++;
      edges.corner[place] = static_cast<std::uint32_t>(3 * i + k);
    }
  }
  edges.first.pop_back();
  return edges;
}

/// A vertex in so many edges is sorted first: a fan of a million triangles would else take a million times a million
/// steps.
constexpr std::uint32_t kMany = 64;

void sort_edges(EdgesByLowerVertex& edges, std::uint32_t from, std::uint32_t to) {
  std::sort(edges.corner.begin() + from, edges.corner.begin() + to, [&](std::uint32_t a, std::uint32_t b) {
    return std::pair(edges.upper_of(a), a) < std::pair(edges.upper_of(b), b);
  });
}

/// What blocks of vertices can't write side by side, and is put in afterwards, in order.
struct Seen {
  std::vector<std::uint32_t> rim;                   ///< vertices
  std::vector<std::vector<std::uint32_t>> crowded;  ///< the corners of one edge of more than two triangles
};

/// Every edge from `lower` to a higher vertex: what lies across it.
void look_across(EdgesByLowerVertex& edges, std::uint32_t lower, SurfaceFeatures& features, Seen& seen) {
  std::uint32_t from = edges.first[lower], to = edges.first[lower + 1];
  const std::uint32_t end = to;
  const bool many = to - from > kMany;
  if (many) sort_edges(edges, from, to);
  for (std::uint32_t i = edges.first[lower]; i < end; ++i) {
    const std::uint32_t upper = edges.upper(i);
    if (many) {  // only those of the same edge
      const auto begin = edges.corner.begin();
      const auto upper_of = [&](std::uint32_t corner) { return edges.upper_of(corner); };
      from = static_cast<std::uint32_t>(
          std::ranges::lower_bound(begin + edges.first[lower], begin + end, upper, {}, upper_of) - begin);
      to = static_cast<std::uint32_t>(std::ranges::upper_bound(begin + from, begin + end, upper, {}, upper_of) - begin);
    }
    std::uint32_t others = 0, other = 0, before = 0;
    for (std::uint32_t j = from; j < to && others < 2; ++j) {  // two tell all: the first is before i if any is
      if (edges.upper(j) != upper || j == i) continue;
      ++others;
      other = j;
      before += j < i;
    }
    std::uint32_t& mine = features.across[edges.corner[i] / 3][edges.corner[i] % 3];
    if (others == 1) {
      mine = edges.corner[other] / 3;
    } else if (others == 0) {
      mine = SurfaceFeatures::kNone;
      seen.rim.insert(seen.rim.end(), {lower, upper});
    } else if (before == 0) {
      std::vector<std::uint32_t>& ring = seen.crowded.emplace_back();
      for (std::uint32_t j = i; j < to; ++j)
        if (edges.upper(j) == upper) ring.push_back(edges.corner[j]);
    }
  }
}

void put_in(const Mesh& mesh, const Seen& seen, SurfaceFeatures& features) {
  for (const std::uint32_t vertex : seen.rim) features.on_rim[vertex] = 1;
  for (const std::vector<std::uint32_t>& ring : seen.crowded) {
    Vec3 sum = Vec3::Zero();
    for (const std::uint32_t corner : ring) sum += face_normal(mesh, corner / 3);
    for (const std::uint32_t corner : ring)
      features.across[corner / 3][corner % 3] =
          SurfaceFeatures::kCrowded | static_cast<std::uint32_t>(features.crowded_normals.size());
    features.crowded_normals.push_back(sum);
  }
}

}  // namespace

Vec3 face_normal(const Mesh& mesh, std::uint32_t triangle) {
  const Triangle& t = mesh.triangles[triangle];
  const Vec3& a = mesh.vertices[t[0]];
  return (mesh.vertices[t[1]] - a).cross(mesh.vertices[t[2]] - a).normalized();
}

SurfaceFeatures edge_features(const Mesh& mesh) {
  SurfaceFeatures features;
  features.on_rim.assign(mesh.vertices.size(), 0);
  features.across.resize(mesh.triangles.size());
  EdgesByLowerVertex edges = edges_by_lower_vertex(mesh);

  // Each edge belongs to one lower vertex, so blocks of vertices write to different edges.
  constexpr std::size_t kBlock = 4096;
  std::vector<Seen> seen(mesh.vertices.size() / kBlock + 1);
  for_blocks(mesh.vertices.size(), kBlock, [&](std::size_t begin, std::size_t end) {
    for (std::size_t lower = begin; lower < end; ++lower)
      look_across(edges, static_cast<std::uint32_t>(lower), features, seen[begin / kBlock]);
  });
  for (const Seen& here : seen) put_in(mesh, here, features);
  return features;
}

SurfaceFeatures surface_features(const Mesh& mesh) {
  SurfaceFeatures features;
  std::vector<Vec3> normals;
  side_by_side([&] { features = edge_features(mesh); }, [&] { normals = vertex_normals(mesh); });
  features.vertex_normals.reserve(normals.size());
  for (const Vec3& normal : normals) features.vertex_normals.push_back(normal.cast<float>());
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
