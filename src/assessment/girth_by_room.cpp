#include "assessment/girth_by_room.h"

#include <cmath>

namespace lastroom {
namespace {

/// The angle that a closed line turns by at each of its points; they add up to a full turn where it is convex.
std::vector<double> turning(const std::vector<Vec3>& loop) {
  std::vector<double> angles;
  const std::size_t n = loop.size();
  for (std::size_t i = 0; i < n; ++i) {
    const Vec3 in = loop[i] - loop[(i + n - 1) % n], out = loop[(i + 1) % n] - loop[i];
    angles.push_back(std::atan2(in.cross(out).norm(), in.dot(out)));
  }
  return angles;
}

}  // namespace

std::optional<double> girth_by_room_mm(const Girth& of_foot, const Evidence& e) {
  constexpr double kMissing_ratio = 0.2;
  if (of_foot.loop_mm.size() < 3) return std::nullopt;
  const PosedFoot posed(e.foot.landmarks, e.registration);
  std::vector<Vec3> at;
  for (const Vec3& p : of_foot.loop_mm) at.push_back(posed(p));
  const std::vector<double> angles = turning(of_foot.loop_mm);
  const std::vector<SurfacePoint> nearest = e.last_surface.at(at);
  double whole = 0.0, there = 0.0, more_mm = 0.0;
  for (std::size_t i = 0; i < at.size(); ++i) {
    whole += angles[i];
    if (nearest[i].on_rim || past_the_top(e.last.top, at[i], nearest[i].triangle)) continue;
    there += angles[i];
    more_mm += angles[i] * (-nearest[i].distance_mm - e.clearance.sock_mm);
  }
  if (there < (1.0 - kMissing_ratio) * whole) return std::nullopt;
  return more_mm * whole / there;
}

}  // namespace lastroom
