#include "preparation/foot_plan_view.h"

#include <algorithm>
#include <cmath>

namespace lastroom {

PlanView::PlanView(const MeshView& mesh, double from_x, double spacing) : spacing_(spacing) {
  constexpr double kMostLines = 4096.0;  // along each axis: a stranger's stray triangle takes no memory
  Box box;
  for (const Vec3& p : mesh.vertices)
    if (p.x() >= from_x) box.low = box.low.cwiseMin(p), box.high = box.high.cwiseMax(p);
  if (!(box.high.x() >= box.low.x())) return;
  low_ = Vec2(from_x, box.low.y());
  const Vec2 lines = (box.high.head<2>() - low_) / spacing;
  columns_ = 1 + static_cast<std::ptrdiff_t>(std::min(lines.x(), kMostLines));
  rows_ = 1 + static_cast<std::ptrdiff_t>(std::min(lines.y(), kMostLines));
  top_.assign(static_cast<std::size_t>(columns_ * rows_), std::numeric_limits<float>::quiet_NaN());
  sole_ = top_;
  for (const Triangle& t : mesh.triangles) cut(mesh.vertices[t[0]], mesh.vertices[t[1]], mesh.vertices[t[2]]);
}

double PlanView::at(const std::vector<float>& heights, const Vec2& p) const {
  const Vec2 place = (p - low_) / spacing_;
  const auto column = static_cast<std::ptrdiff_t>(std::lround(place.x()));
  const auto row = static_cast<std::ptrdiff_t>(std::lround(place.y()));
  if (column < 0 || column >= columns_ || row < 0 || row >= rows_) return std::numeric_limits<double>::quiet_NaN();
  return static_cast<double>(heights[static_cast<std::size_t>(column * rows_ + row)]);
}

void PlanView::cut(const Vec3& a, const Vec3& b, const Vec3& c) {
  const Vec2 ab = (b - a).head<2>(), ac = (c - a).head<2>();
  const double twice_area = ab.x() * ac.y() - ab.y() * ac.x();
  if (twice_area == 0.0) return;
  const Vec2 from = (a.cwiseMin(b).cwiseMin(c).head<2>() - low_) / spacing_;
  const Vec2 to = (a.cwiseMax(b).cwiseMax(c).head<2>() - low_) / spacing_;
  const auto first = [](double x) { return static_cast<std::ptrdiff_t>(std::ceil(std::clamp(x, 0.0, 1e6))); };
  const auto last = [](double x, std::ptrdiff_t count) {
    return static_cast<std::ptrdiff_t>(std::floor(std::clamp(x, -1.0, static_cast<double>(count - 1))));
  };
  for (std::ptrdiff_t column = first(from.x()); column <= last(to.x(), columns_); ++column)
    for (std::ptrdiff_t row = first(from.y()); row <= last(to.y(), rows_); ++row) {
      const Vec2 p = low_ + spacing_ * Vec2(static_cast<double>(column), static_cast<double>(row)) - a.head<2>();
      const double v = (p.x() * ac.y() - p.y() * ac.x()) / twice_area;
      const double w = (ab.x() * p.y() - ab.y() * p.x()) / twice_area;
      constexpr double kEdge = 1e-9;  // a line through an edge must not slip between its two triangles
      if (v < -kEdge || w < -kEdge || v + w > 1.0 + kEdge) continue;
      const auto z = static_cast<float>(a.z() + v * (b.z() - a.z()) + w * (c.z() - a.z()));
      float& top = top_[static_cast<std::size_t>(column * rows_ + row)];
      float& sole = sole_[static_cast<std::size_t>(column * rows_ + row)];
      top = top >= z ? top : z;
      sole = sole <= z ? sole : z;
    }
}

}  // namespace lastroom
