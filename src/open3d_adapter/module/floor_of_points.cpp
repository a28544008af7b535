#include "open3d_adapter/module/floor_of_points.h"

#include <algorithm>
#include <cmath>

namespace lastroom::open3d_adapter {
namespace {

double height(const Vec3& p, const Plane& plane) { return (p - plane.point_mm).dot(plane.normal); }

std::vector<Vec2> hull_on(const std::vector<Vec3>& points, const Plane& plane) {
  const auto [u, v] = plane_axes(plane.normal);
  std::vector<Vec2> flat;
  for (const Vec3& p : points) flat.emplace_back((p - plane.point_mm).dot(u), (p - plane.point_mm).dot(v));
  return convex_hull(std::move(flat));
}

bool holds(const std::vector<Vec2>& hull, const Vec2& p) {
  for (std::size_t i = 0; i < hull.size(); ++i) {
    const Vec2 edge = hull[(i + 1) % hull.size()] - hull[i], to = p - hull[i];
    if (edge.x() * to.y() - edge.y() * to.x() < 0.0) return false;
  }
  return !hull.empty();
}

}  // namespace

double floor_thickness_mm(const std::vector<Vec3>& points, const Plane& floor, double step_mm) {
  double squares = 0.0, count = 0.0;
  for (const Vec3& p : points)
    if (const double up = height(p, floor); std::abs(up) < step_mm) squares += up * up, count += 1.0;
  return std::clamp(4.0 * std::sqrt(squares / std::max(count, 1.0)), 0.5 * step_mm, 2.0 * step_mm);
}

Mesh sheet_over(const std::vector<Vec3>& points, const Plane& plane, double square_mm) {
  const auto [u, v] = plane_axes(plane.normal);
  const std::vector<Vec2> hull = hull_on(points, plane);
  Vec2 low = Vec2::Zero(), high = Vec2::Zero();
  for (const Vec2& p : hull) low = low.cwiseMin(p), high = high.cwiseMax(p);
  const Vec2 cells = ((high - low) / square_mm).array().ceil();
  const auto columns = static_cast<std::uint32_t>(cells.x()), rows = static_cast<std::uint32_t>(cells.y());
  Mesh sheet;
  const auto at = [&](double i, double j) { return Vec2(low + square_mm * Vec2(i, j)); };
  for (std::uint32_t j = 0; j <= rows; ++j)
    for (std::uint32_t i = 0; i <= columns; ++i) {
      const Vec2 p = at(i, j);
      sheet.vertices.push_back(plane.point_mm + p.x() * u + p.y() * v);
    }
  for (std::uint32_t j = 0; j < rows; ++j)
    for (std::uint32_t i = 0; i < columns; ++i) {
      if (!holds(hull, at(i + 0.5, j + 0.5))) continue;
      const std::uint32_t a = j * (columns + 1) + i, b = a + columns + 1;
      sheet.triangles.push_back({a, a + 1, b + 1});
      sheet.triangles.push_back({a, b + 1, b});
    }
  return submesh(sheet, std::vector<std::uint8_t>(sheet.triangles.size(), 1));  // without unused corners
}

}  // namespace lastroom::open3d_adapter
