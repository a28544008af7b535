#include "assessment/girth_by_room.h"

#include <cmath>
#include <numbers>

#include "measurement/tape.h"

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

std::vector<Vec3> posed_loop(const Girth& of_foot, const Evidence& e) {
  const PosedFoot posed(e.foot.landmarks, e.registration);
  std::vector<Vec3> at;
  for (const Vec3& p : of_foot.loop_mm) at.push_back(posed(p));
  return at;
}

/// Through the middle of a closed line, normal to the area that it spans (Newell's formula).
Plane plane_of(const std::vector<Vec3>& loop) {
  Vec3 middle = Vec3::Zero(), normal = Vec3::Zero();
  for (std::size_t i = 0; i < loop.size(); ++i) {
    middle += loop[i] / static_cast<double>(loop.size());
    normal += (loop[i] - loop[0]).cross(loop[(i + 1) % loop.size()] - loop[0]);
  }
  return {middle, normal.normalized()};
}

}  // namespace

std::optional<double> girth_by_tape_mm(const Girth& of_foot, const Evidence& e) {
  if (of_foot.loop_mm.size() < 3) return std::nullopt;
  const Girth of_last = taped(e.last.mesh, plane_of(posed_loop(of_foot, e)));
  if (!(of_last.mm > 0.0)) return std::nullopt;
  // A tape over a sock lies that much longer.
  return of_last.mm - of_foot.mm - 2.0 * std::numbers::pi * e.clearance.sock_mm;
}

std::optional<double> girth_by_room_mm(const Girth& of_foot, const Evidence& e) {
  constexpr double kMissing_ratio = 0.2;
  if (of_foot.loop_mm.size() < 3) return std::nullopt;
  const std::vector<Vec3> at = posed_loop(of_foot, e);
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
