#include "preparation/foot_cloud.h"

#include <algorithm>
#include <cmath>
#include <unordered_map>

#include "error.h"

namespace lastroom {
namespace {

std::size_t facing(const Vec3& normal) {
  Eigen::Index axis = 0;
  normal.cwiseAbs().maxCoeff(&axis);
  return static_cast<std::size_t>(2 * axis + (normal[axis] < 0.0 ? 1 : 0));
}

/// A foot with its leg gives a hundred thousand points at most, a scan of millions of triangles as many pieces.
constexpr double kMostPieces = 3e8;
constexpr std::size_t kMostPoints = 4'000'000;

}  // namespace

FootCloud cloud_of(const Mesh& mesh, double cell) {
  if (mesh.triangles.empty() || !(cell > 0.0)) return {};
  const Vec3 low = bounds(mesh).low;
  // Only cells with skin take memory, however far apart a stranger's triangles lie.
  std::unordered_map<std::uint64_t, std::uint32_t> place;

  FootCloud cloud;
  std::uint64_t last_key = ~std::uint64_t{0};
  std::uint32_t slot = 0;
  const auto add = [&](const Vec3& point, const Vec3& normal, double area) {
    const Vec3 at = (point - low) / cell;
    constexpr double kMostCells = 1 << 20;  // along each axis, so that three of them and six directions name a place
    std::uint64_t key = 0;
    for (int k = 0; k < 3; ++k)
      key = (key << 20) + static_cast<std::uint64_t>(std::clamp(at[k], 0.0, kMostCells - 1.0));
    key = 6 * key + facing(normal);
    if (key != last_key) {  // neighbours mostly share a place
      last_key = key;
      slot = place.try_emplace(key, static_cast<std::uint32_t>(cloud.points.size())).first->second;
    }
    if (slot == cloud.points.size()) {
      cloud.points.push_back(Vec3::Zero());
      cloud.normals.push_back(Vec3::Zero());
      cloud.areas.push_back(0.0);
    }
    cloud.points[slot] += area * point;
    cloud.normals[slot] += area * normal;
    cloud.areas[slot] += area;
  };

  double pieces = 0.0;
  for (const Triangle& t : mesh.triangles) {
    const Vec3& a = mesh.vertices[t[0]];
    const Vec3 ab = mesh.vertices[t[1]] - a, ac = mesh.vertices[t[2]] - a;
    const Vec3 twice = ab.cross(ac);
    const double area = twice.norm() / 2.0;
    if (!(area > 0.0)) continue;
    // A triangle wider than a cell is cut into n x n equal ones, each of which gives its middle.
    const double longest = std::max({ab.norm(), ac.norm(), (ac - ab).norm()});
    const int n = static_cast<int>(std::clamp(std::ceil(longest / cell), 1.0, 1000.0));
    pieces += n * n;
    if (pieces > kMostPieces || cloud.points.size() > kMostPoints) throw InputError(Message{"scan.hundreds"});
    const double share = area / (n * n);
    const Vec3 normal = twice / (2.0 * area);
    for (int i = 0; i < n; ++i)
      for (int j = 0; i + j < n; ++j) {
        add(a + ((i + 1.0 / 3.0) * ab + (j + 1.0 / 3.0) * ac) / n, normal, share);
        if (i + j + 1 < n) add(a + ((i + 2.0 / 3.0) * ab + (j + 2.0 / 3.0) * ac) / n, normal, share);
      }
  }
  for (std::size_t i = 0; i < cloud.points.size(); ++i) {
    cloud.points[i] /= cloud.areas[i];
    cloud.normals[i].normalize();
  }
  return cloud;
}

FootCloud thinned(const FootCloud& cloud, std::size_t count) {
  const std::size_t step = std::max<std::size_t>(1, cloud.points.size() / std::max<std::size_t>(1, count));
  FootCloud thin;
  for (std::size_t i = step / 2; i < cloud.points.size(); i += step) {
    thin.points.push_back(cloud.points[i]);
    thin.normals.push_back(cloud.normals[i]);
    thin.areas.push_back(cloud.areas[i] * static_cast<double>(step));
  }
  return thin;
}

}  // namespace lastroom
