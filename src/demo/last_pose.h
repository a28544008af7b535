#pragma once

#include "demo/make_last.h"

namespace lastroom {

/// How a shoe holds a foot: the rear part raised rigidly about the joint line, the fore part turned up about the same
/// line (the hinge of the last frame's definition). Foot frame -> bench frame: ground about z = 0, +x from heel to toe
/// along the last's centre line.
class LastPose {
 public:
  /// `pitch_deg` raises the heel, `spring_deg` the toes; `yaw_deg` turns the whole foot in plan.
  LastPose(const MadeFoot& foot, double pitch_deg, double spring_deg, double yaw_deg);
  Vec3 operator()(const Vec3& foot_point) const;
  /// The direction of a skin normal at that point, posed.
  Vec3 turned(const Vec3& foot_point, const Vec3& direction) const;
  const Motion& bench_from_foot() const { return bench_from_foot_; }  ///< rear part
  double hinge_deg() const { return hinge_deg_; }
  /// Signed distance in plan in front of the joint line, foot frame.
  double before_joint_mm(const Vec3& foot_point) const;

 private:
  Vec3 point_, axis_, forward_;  // foot frame
  Motion bench_from_foot_;
  double hinge_deg_;
};

/// From the heel to the longest toe's tip along x.
double length_of(const MadeFoot& foot);

}  // namespace lastroom
