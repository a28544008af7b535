#include "preparation/foot_cloud.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lastroom {
namespace {

std::size_t facing(const Vec3& normal) {
  Eigen::Index axis = 0;
  normal.cwiseAbs().maxCoeff(&axis);
  return static_cast<std::size_t>(2 * axis + (normal[axis] < 0.0 ? 1 : 0));
}

}  // namespace

FootCloud cloud_of(const Mesh& mesh, double cell) {
  if (mesh.triangles.empty() || !(cell > 0.0)) return {};
  const Box box = bounds(mesh);
  std::array<std::size_t, 3> cells{};
  for (int k = 0; k < 3; ++k) cells[static_cast<std::size_t>(k)] = static_cast<std::size_t>(box.size()[k] / cell) + 1;
  constexpr auto kNone = std::numeric_limits<std::uint32_t>::max();
  std::vector<std::uint32_t> place(6 * cells[0] * cells[1] * cells[2], kNone);

  FootCloud cloud;
  const auto add = [&](const Vec3& point, const Vec3& normal, double area) {
    const Vec3 at = (point - box.low) / cell;
    const auto index = [&](int k) {
      return std::min(cells[static_cast<std::size_t>(k)] - 1, static_cast<std::size_t>(std::max(0.0, at[k])));
    };
    std::uint32_t& slot = place[6 * (index(0) + cells[0] * (index(1) + cells[1] * index(2))) + facing(normal)];
    if (slot == kNone) {
      slot = static_cast<std::uint32_t>(cloud.points.size());
      cloud.points.push_back(Vec3::Zero());
      cloud.normals.push_back(Vec3::Zero());
      cloud.areas.push_back(0.0);
    }
    cloud.points[slot] += area * point;
    cloud.normals[slot] += area * normal;
    cloud.areas[slot] += area;
  };

  for (const Triangle& t : mesh.triangles) {
    const Vec3& a = mesh.vertices[t[0]];
    const Vec3 ab = mesh.vertices[t[1]] - a, ac = mesh.vertices[t[2]] - a;
    const Vec3 twice = ab.cross(ac);
    const double area = twice.norm() / 2.0;
    if (!(area > 0.0)) continue;
    // A triangle wider than a cell is cut into n x n equal ones, each of which gives its middle.
    const double longest = std::max({ab.norm(), ac.norm(), (ac - ab).norm()});
    const int n = std::clamp(static_cast<int>(std::ceil(longest / cell)), 1, 1000);
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
