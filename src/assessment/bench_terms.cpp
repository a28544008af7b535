#include "assessment/bench_terms.h"

#include <algorithm>

namespace lastroom {
namespace {

std::vector<Vec3>::const_iterator nearest_in_plan(const std::vector<Vec3>& line, const Vec3& p) {
  return std::min_element(line.begin(), line.end(), [&](const Vec3& a, const Vec3& b) {
    return (a - p).head<2>().squaredNorm() < (b - p).head<2>().squaredNorm();
  });
}

}  // namespace

double from_heel_mm(const Last& last, const Vec3& p) {
  const auto there = nearest_in_plan(last.centre_line, p);
  if (there == last.centre_line.end()) return p.x();
  double walked = 0.0;
  for (auto at = last.centre_line.begin(); at != there; ++at) walked += (*(at + 1) - *at).norm();
  return walked;
}

double centre_y_mm(const Last& last, const Vec3& p) {
  const auto there = std::ranges::lower_bound(last.centre_line, p.x(), {}, [](const Vec3& c) { return c.x(); });
  if (there != last.centre_line.end()) return there->y();
  return last.centre_line.empty() ? 0.0 : last.centre_line.back().y();
}

double above_feather_edge_mm(const Last& last, const Vec3& p) {
  const auto there = nearest_in_plan(last.feather_edge, p);
  return there == last.feather_edge.end() ? p.z() : p.z() - there->z();
}

}  // namespace lastroom
