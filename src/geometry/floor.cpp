#include "geometry/floor.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace lastroom {
namespace {

struct Skin {
  const std::vector<Vec3>& points;
  const std::vector<Vec3>& normals;
  const std::vector<double>& areas;
  double tolerance = 0.0;

  bool on_plane(std::size_t i, const Plane& plane) const {
    return std::abs((points[i] - plane.point_mm).dot(plane.normal)) < tolerance &&
           std::abs(normals[i].dot(plane.normal)) > 0.9;
  }
  double area_on(const Plane& plane) const {
    double area = 0.0;
    for (std::size_t i = 0; i < points.size(); ++i)
      if (on_plane(i, plane)) area += areas[i];
    return area;
  }
};

/// Of planes through the points, the one that most skin lies on.
Plane widest_plane(const Skin& skin) {
  constexpr std::size_t kTries = 150;
  Plane best;
  double best_area = 0.0;
  const std::size_t step = std::max<std::size_t>(1, skin.points.size() / kTries);
  for (std::size_t i = 0; i < skin.points.size(); i += step) {
    const Plane plane{skin.points[i], skin.normals[i]};
    if (const double area = skin.area_on(plane); area > best_area) best = plane, best_area = area;
  }
  return best;
}

/// Least squares plane through what lies on it.
Plane settled(Plane plane, const Skin& skin) {
  for (int turn = 0; turn < 5; ++turn) {
    Vec3 middle = Vec3::Zero();
    Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
    double area = 0.0;
    for (std::size_t i = 0; i < skin.points.size(); ++i)
      if (skin.on_plane(i, plane)) middle += skin.areas[i] * skin.points[i], area += skin.areas[i];
    middle /= area;
    for (std::size_t i = 0; i < skin.points.size(); ++i)
      if (skin.on_plane(i, plane)) {
        const Vec3 d = skin.points[i] - middle;
        spread += skin.areas[i] * d * d.transpose();
      }
    Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> axes;
    axes.computeDirect(spread);
    plane = {middle, axes.eigenvectors().col(0)};
  }
  return plane;
}

bool is_outside(const std::vector<Vec2>& footprint, const Vec2& p, double tolerance) {
  for (std::size_t i = 0; i < footprint.size(); ++i) {
    const Vec2 edge = footprint[(i + 1) % footprint.size()] - footprint[i], to = p - footprint[i];
    if (edge.x() * to.y() - edge.y() * to.x() < -tolerance * edge.norm()) return true;
  }
  return false;
}

}  // namespace

std::optional<Plane> find_floor(const std::vector<Vec3>& points, const std::vector<Vec3>& normals,
                                const std::vector<double>& areas, double tolerance) {
  const Skin skin{points, normals, areas, tolerance};
  const double total = std::accumulate(areas.begin(), areas.end(), 0.0);
  Plane floor = settled(widest_plane(skin), skin);
  if (skin.area_on(floor) < 0.12 * total) return std::nullopt;

  const auto [u, v] = plane_axes(floor.normal);
  std::vector<Vec2> standing;
  double above = 0.0, below = 0.0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double height = (points[i] - floor.point_mm).dot(floor.normal);
    if (std::abs(height) < 2.0 * tolerance) continue;
    (height > 0.0 ? above : below) += areas[i];
    standing.emplace_back(points[i].dot(u), points[i].dot(v));
  }
  if (std::min(above, below) > 0.03 * (above + below) || above + below < 0.02 * total) return std::nullopt;
  if (below > above) floor.normal = -floor.normal;
  const std::vector<Vec2> footprint = convex_hull(std::move(standing));
  double beyond = 0.0;
  for (std::size_t i = 0; i < points.size(); ++i)
    if (skin.on_plane(i, floor) && is_outside(footprint, Vec2(points[i].dot(u), points[i].dot(v)), tolerance))
      beyond += areas[i];
  if (beyond < 0.1 * polygon_area(footprint)) return std::nullopt;
  return floor;
}

}  // namespace lastroom
