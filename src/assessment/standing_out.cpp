#include "assessment/standing_out.h"

#include <cmath>
#include <limits>

namespace lastroom {
namespace {

/// Greatest reach towards `side` (+1 inside, -1 outside) of the skin around x, low enough to be the foot's side.
double reach_mm(const Foot& foot, double side, double x_mm) {
  constexpr double kHalfSlice = 3.0, kHighest = 40.0;  // mm; a few vertices wide; below ankle and instep
  double reach = -std::numeric_limits<double>::infinity();
  for (const Vec3& p : foot.mesh.vertices)
    if (std::abs(p.x() - x_mm) < kHalfSlice && p.z() < kHighest) reach = std::max(reach, side * p.y());
  return reach;
}

}  // namespace

StandingOut standing_out(const Foot& foot) {
  const double length_mm = foot_length_mm(foot.landmarks),
               arm = 0.1 * length_mm;  // about the joint's own length; our choice
  const auto beyond_chord = [&](double side, const Vec3& joint) {
    const double behind = reach_mm(foot, side, joint.x() - arm), before = reach_mm(foot, side, joint.x() + arm);
    const double height = reach_mm(foot, side, joint.x()) - (behind + before) / 2.0;
    return std::isfinite(height) ? height * 250.0 / length_mm : 0.0;
  };
  return {beyond_chord(1.0, foot.landmarks.first_joint), beyond_chord(-1.0, foot.landmarks.fifth_joint)};
}

}  // namespace lastroom
