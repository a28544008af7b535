#include <open3d/geometry/KDTreeFlann.h>
#include <open3d/geometry/PointCloud.h>
#include <open3d/geometry/TriangleMesh.h>
#include <open3d/utility/Logging.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <queue>
#include <tuple>

#include "geometry/floor.h"
#include "open3d_adapter/module/entry_points.h"
#include "open3d_adapter/module/floor_of_points.h"

// It is a library of its own, loaded by open3d_adapter.cpp when an input needs it.

namespace {

using lastroom::Mesh;
using lastroom::Triangle;
using lastroom::Vec3;
namespace geometry = open3d::geometry;

// Open3D throws, and prints on standard output when it fails: neither may leave this file.
template <typename Work>
std::string guarded(const Work& work) noexcept {
  try {
    open3d::utility::SetVerbosityLevel(open3d::utility::VerbosityLevel::Error);
    return work();
  } catch (const std::bad_alloc&) {
    return "too large for this computer's memory";
  } catch (const std::exception&) {
    return "Open3D can't work with it";
  } catch (...) {
    return "Open3D can't work with it";
  }
}

Mesh ours(const geometry::TriangleMesh& theirs) {
  Mesh mesh;
  mesh.vertices = theirs.vertices_;
  mesh.triangles.reserve(theirs.triangles_.size());
  for (const Eigen::Vector3i& t : theirs.triangles_)
    mesh.triangles.push_back(
        {static_cast<std::uint32_t>(t[0]), static_cast<std::uint32_t>(t[1]), static_cast<std::uint32_t>(t[2])});
  return mesh;
}

// Normals agree along every edge of the tree that turns least (H. Hoppe et al., Surface reconstruction from unorganized
// points, SIGGRAPH 1992, section 3.3), and point outwards at each piece's highest point. A normal is carried along an
// edge by mirroring it across the edge's middle, as on a circle through both points (S. Koenig and S. Gumhold,
// Consistent propagation of normal orientations in point clouds, VMV 2009): so it faces about over the gap between two
// toes, too. Open3D's own orienting builds a Delaunay tetrahedration first and takes a hundred times as long.
void orient_outwards(geometry::PointCloud& cloud) {
  constexpr int kNeighbours = 12;
  const std::size_t count = cloud.points_.size();
  const geometry::KDTreeFlann tree(cloud);
  std::vector<std::vector<int>> near(count);  // both ways, so that nobody is left out
  std::vector<double> squared;
  for (std::size_t i = 0; i < count; ++i) {
    std::vector<int> found;
    tree.SearchKNN(cloud.points_[i], kNeighbours, found, squared);
    for (int j : found) {
      near[i].push_back(j);
      near[static_cast<std::size_t>(j)].push_back(static_cast<int>(i));
    }
  }
  std::vector<int> from_top(count);
  std::iota(from_top.begin(), from_top.end(), 0);
  std::stable_sort(from_top.begin(), from_top.end(), [&](int a, int b) {
    return cloud.points_[static_cast<std::size_t>(a)].z() > cloud.points_[static_cast<std::size_t>(b)].z();
  });
  struct Edge {
    double turn;
    int from, to;
    bool operator<(const Edge& other) const {  // the least turn is taken first; the numbers make it unique
      return std::tie(other.turn, other.from, other.to) < std::tie(turn, from, to);
    }
  };
  std::vector<std::uint8_t> done(count, 0);
  std::priority_queue<Edge> open;  // Prim's algorithm
  const auto normal = [&](int i) -> Vec3& { return cloud.normals_[static_cast<std::size_t>(i)]; };
  const auto carried = [&](int from, int to) {
    const Vec3 along =
        (cloud.points_[static_cast<std::size_t>(to)] - cloud.points_[static_cast<std::size_t>(from)]).normalized();
    return Vec3(normal(from) - 2.0 * normal(from).dot(along) * along);
  };
  const auto take = [&](int i) {
    done[static_cast<std::size_t>(i)] = 1;
    for (int j : near[static_cast<std::size_t>(i)])
      if (!done[static_cast<std::size_t>(j)]) open.push({1.0 - std::abs(carried(i, j).dot(normal(j))), i, j});
  };
  for (int top : from_top) {
    if (done[static_cast<std::size_t>(top)]) continue;
    if (normal(top).z() < 0.0) normal(top) = -normal(top);
    for (take(top); !open.empty();) {
      const Edge edge = open.top();
      open.pop();
      if (done[static_cast<std::size_t>(edge.to)]) continue;
      if (carried(edge.from, edge.to).dot(normal(edge.to)) < 0.0) normal(edge.to) = -normal(edge.to);
      take(edge.to);
    }
  }
}

// Drops what Poisson's method stretched over places without points.
Mesh trimmed(const Mesh& mesh, const geometry::PointCloud& cloud, double farthest_mm) {
  const geometry::KDTreeFlann tree(cloud);
  std::vector<int> index(1);
  std::vector<double> squared(1);
  std::vector<std::uint8_t> near(mesh.vertices.size(), 0);
  for (std::size_t v = 0; v < near.size(); ++v)
    near[v] = tree.SearchKNN(mesh.vertices[v], 1, index, squared) > 0 && squared[0] <= farthest_mm * farthest_mm;
  std::vector<std::uint8_t> keep(mesh.triangles.size());
  for (std::size_t i = 0; i < keep.size(); ++i) {
    const Triangle& t = mesh.triangles[i];
    keep[i] = near[t[0]] && near[t[1]] && near[t[2]];
  }
  return lastroom::submesh(mesh, keep);
}

// The mean of the points in each cell, which also takes off noise, and how far apart they are then.
struct Evened {
  geometry::PointCloud cloud;
  double extent_mm = 0.0, step_mm = 0.0;
};
Evened evened(const geometry::PointCloud& points, double spacing_mm) {
  constexpr double kFinestPart = 180.0;     // of the largest extent: 1.5 mm on a foot; finer only shows the noise
  constexpr int kNeighboursForNormal = 20;  // about 5 mm across at that spacing
  Evened result;
  result.extent_mm = (points.GetMaxBound() - points.GetMinBound()).maxCoeff();
  result.step_mm = std::max(spacing_mm, result.extent_mm / kFinestPart);
  result.cloud = *points.VoxelDownSample(result.step_mm);
  result.cloud.EstimateNormals(geometry::KDTreeSearchParamKNN(kNeighboursForNormal));
  return result;
}

// A floor scanned along becomes a sheet of its own: Poisson's method would draw the skin near it out into a skirt.
Mesh take_off_floor(geometry::PointCloud& points, const Evened& even) {
  constexpr double kSquare = 5.0;  // steps
  const std::vector<double> areas(even.cloud.points_.size(), even.step_mm * even.step_mm);
  const auto floor = lastroom::find_floor(even.cloud.points_, even.cloud.normals_, areas, even.step_mm);
  if (!floor) return {};
  const double thickness_mm = lastroom::open3d_adapter::floor_thickness_mm(even.cloud.points_, *floor, even.step_mm);
  const auto above = std::stable_partition(points.points_.begin(), points.points_.end(), [&](const Vec3& p) {
    return (p - floor->point_mm).dot(floor->normal) >= thickness_mm;
  });
  const std::vector<Vec3> on_floor(above, points.points_.end());
  points.points_.erase(above, points.points_.end());
  return lastroom::open3d_adapter::sheet_over(on_floor, *floor, kSquare * even.step_mm);
}

std::string surface_from_points(const std::vector<Vec3>& points_mm, double spacing_mm, Mesh& mesh) {
  return guarded([&]() -> std::string {
    // Our choices, here and in `evened`, measured on a made foot of 262 mm with 0.3 mm of noise
    // (tests/mesh_io_adapter_test.cpp):
    constexpr double kTrim = 3.0;  // grid steps; holes narrower than twice this are closed
    constexpr std::size_t kFewest = 100;
    geometry::PointCloud points(points_mm);
    if (points.points_.size() < kFewest || !(spacing_mm > 0.0)) return "too few of them";
    Evened even = evened(points, spacing_mm);
    if (even.cloud.points_.size() < kFewest) return "too few of them";
    const Mesh floor = take_off_floor(points, even);
    if (!floor.triangles.empty()) even = evened(points, spacing_mm);
    if (even.cloud.points_.size() < kFewest) return "too few of them";
    orient_outwards(even.cloud);

    constexpr float kScale = 1.1f;  // the cube around the points, Open3D's default
    const double cells = static_cast<double>(kScale) * even.extent_mm / even.step_mm;
    const auto depth = static_cast<std::size_t>(std::clamp(std::ceil(std::log2(cells)), 5.0, 9.0));
    constexpr int kOneThread = 1;  // with more, sums run in another order each time
    const auto poisson =
        geometry::TriangleMesh::CreateFromPointCloudPoisson(even.cloud, depth, 0.0f, kScale, false, kOneThread);
    mesh = trimmed(ours(*std::get<0>(poisson)), even.cloud, kTrim * even.step_mm);
    if (mesh.triangles.empty()) return "too far apart";
    if (lastroom::volume_mm3(mesh) < 0.0)
      for (Triangle& t : mesh.triangles) std::swap(t[1], t[2]);
    const auto first = static_cast<std::uint32_t>(mesh.vertices.size());
    mesh.vertices.insert(mesh.vertices.end(), floor.vertices.begin(), floor.vertices.end());
    for (const Triangle& t : floor.triangles) mesh.triangles.push_back({first + t[0], first + t[1], first + t[2]});
    return {};
  });
}

}  // namespace

extern "C" const lastroom::open3d_adapter::EntryPoints lastroom_open3d_entry_points = {surface_from_points};
