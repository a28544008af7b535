#include "made_shoe.h"

#include <algorithm>

#include "solid.h"

namespace lastroom::test {
namespace {

/// In plan, mm to the feather edge, negative inside.
double to_edge_mm(const std::vector<Vec3>& edge, const Vec3& p) {
  bool inside = false;
  double nearest = 1e9;
  for (std::size_t i = 0, j = edge.size() - 1; i < edge.size(); j = i++) {
    const Vec2 a = edge[j].head<2>(), b = edge[i].head<2>(), q = p.head<2>(), along = b - a;
    const double t = std::clamp((q - a).dot(along) / std::max(along.squaredNorm(), 1e-12), 0.0, 1.0);
    nearest = std::min(nearest, (a + t * along - q).norm());
    if ((a.y() > q.y()) != (b.y() > q.y()) && q.x() < a.x() + (q.y() - a.y()) / (b.y() - a.y()) * (b.x() - a.x()))
      inside = !inside;
  }
  return inside ? -nearest : nearest;
}

/// Height of the last's bottom there, along its centre line.
double bottom_mm(const std::vector<Vec3>& line, double x_mm) {
  for (std::size_t i = 1; i < line.size(); ++i)
    if (line[i].x() >= x_mm) {
      const double t = (x_mm - line[i - 1].x()) / (line[i].x() - line[i - 1].x());
      return line[i - 1].z() + std::max(t, 0.0) * (line[i].z() - line[i - 1].z());
    }
  return line.back().z();
}

}  // namespace

Mesh made_shoe(const MadeLast& last, const ShoeShape& shape) {
  const Solid body(last.mesh);
  const double cut_mm = bounds(last.mesh).high.z() - 3.0;  // a boot's shaft goes straight up from there
  const double ground_mm = last.tread.z() - shape.sole_mm, heel_mm = shape.heel_block_ratio * last.toe_end.x();
  const auto foot_room = [&](const Vec3& p) { return body(Vec3(p.x(), p.y(), std::min(p.z(), cut_mm))); };
  const auto shoe = [&](const Vec3& p) {
    const double floor_mm = bottom_mm(last.centre_line, p.x());
    const double beside = to_edge_mm(last.feather_edge, p) - shape.welt_mm;
    const double slab = std::max({beside, floor_mm - shape.sole_mm - p.z(), p.z() - floor_mm - 2.0});
    double solid = std::min(foot_room(p) - shape.upper_mm, slab);
    if (heel_mm > 0.0)
      solid = std::min(solid, std::max({beside + 1.0, p.x() - heel_mm, ground_mm - p.z(), p.z() - floor_mm}));
    return shape.hollow ? std::max(solid, -foot_room(p)) : solid;
  };
  Box box = bounds(last.mesh);
  const double around_mm = shape.welt_mm + 3.0 * shape.edge_mm;
  box.low -= Vec3(around_mm, around_mm, 0.0);
  box.high += Vec3(around_mm, around_mm, 0.0);
  box.low.z() = ground_mm - 2.0 * shape.edge_mm;
  box.high.z() = last.centre_line.front().z() + shape.top_line_mm;
  return iso_surface(shoe, box, shape.edge_mm);
}

}  // namespace lastroom::test
