#include "solid.h"

#include <algorithm>
#include <cmath>

namespace lastroom::test {
namespace {

constexpr double kColumn_mm = 2.0;

std::size_t cell(double at, double low, int count) {
  return static_cast<std::size_t>(std::clamp(static_cast<int>((at - low) / kColumn_mm), 0, count - 1));
}

}  // namespace

Solid::Solid(const Mesh& mesh) : mesh_(mesh), distance_(mesh), box_(bounds(mesh)) {
  columns_ = static_cast<int>(box_.size().x() / kColumn_mm) + 1;
  rows_ = static_cast<int>(box_.size().y() / kColumn_mm) + 1;
  triangles_.resize(static_cast<std::size_t>(columns_ * rows_));
  for (std::uint32_t t = 0; t < mesh_.triangles.size(); ++t) {
    Box box;
    for (std::uint32_t v : mesh_.triangles[t]) {
      box.low = box.low.cwiseMin(mesh_.vertices[v]);
      box.high = box.high.cwiseMax(mesh_.vertices[v]);
    }
    for (std::size_t j = cell(box.low.y(), box_.low.y(), rows_); j <= cell(box.high.y(), box_.low.y(), rows_); ++j)
      for (std::size_t i = cell(box.low.x(), box_.low.x(), columns_); i <= cell(box.high.x(), box_.low.x(), columns_);
           ++i)
        triangles_[j * static_cast<std::size_t>(columns_) + i].push_back(t);
  }
}

/// Goes straight down and adds up how often the surface is left and entered.
bool Solid::inside(const Vec3& p) const {
  if (((p - box_.low).array() < 0.0).any() || ((box_.high - p).array() < 0.0).any()) return false;
  // Off every grid line, so that no edge is met exactly.
  const Vec2 q(p.x() + 1.234567e-5, p.y() + 2.345678e-5);
  int winding = 0;
  const std::size_t column =
      cell(p.y(), box_.low.y(), rows_) * static_cast<std::size_t>(columns_) + cell(p.x(), box_.low.x(), columns_);
  for (std::uint32_t t : triangles_[column]) {
    const std::array<Vec3, 3> c = {mesh_.vertices[mesh_.triangles[t][0]], mesh_.vertices[mesh_.triangles[t][1]],
                                   mesh_.vertices[mesh_.triangles[t][2]]};
    const auto turn = [&](std::size_t a, std::size_t b) {
      return (c[b].x() - c[a].x()) * (q.y() - c[a].y()) - (c[b].y() - c[a].y()) * (q.x() - c[a].x());
    };
    const double w0 = turn(1, 2), w1 = turn(2, 0), w2 = turn(0, 1), sum = w0 + w1 + w2;
    const bool up = w0 > 0.0 && w1 > 0.0 && w2 > 0.0, down = w0 < 0.0 && w1 < 0.0 && w2 < 0.0;
    if (!up && !down) continue;
    if ((w0 * c[0].z() + w1 * c[1].z() + w2 * c[2].z()) / sum < p.z()) winding += down ? 1 : -1;
  }
  return winding > 0;
}

double Solid::operator()(const Vec3& p) const {
  const double distance_mm = std::abs(distance_.at(p).distance_mm);
  return inside(p) ? -distance_mm : distance_mm;
}

Mesh closed_by_ball(const Mesh& mesh, double radius_mm, double edge_mm) {
  Box box = bounds(mesh);
  constexpr double kUnderRim_mm = 1.0;
  box.high.z() -= kUnderRim_mm;
  const double around_mm = radius_mm + 3.0 * edge_mm;
  for (int axis = 0; axis < 3; ++axis) {
    box.low[axis] -= around_mm;
    if (axis < 2) box.high[axis] += around_mm;
  }
  const Solid body(mesh);
  if (radius_mm <= 0.0) return iso_surface([&](const Vec3& p) { return body(p); }, box, edge_mm);
  const Mesh swollen = iso_surface([&](const Vec3& p) { return body(p) - radius_mm; }, box, edge_mm);
  const SignedDistance outer(swollen);
  // Near the swollen body's own top its rim would count as surface.
  box.high.z() -= radius_mm + edge_mm;
  return iso_surface([&](const Vec3& p) { return outer.at(p).distance_mm + radius_mm; }, box, edge_mm);
}

}  // namespace lastroom::test
