#include <algorithm>
#include <numbers>

#include "registration/registration.h"

namespace lastroom {
namespace {

constexpr double kBlendMm = 15.0;              // contract: the turn is blended over about 15 mm
constexpr double kAxisHeightPerLength = 0.06;  // contract: the joints' own height
constexpr double kRadPerDeg = std::numbers::pi / 180.0;

/// Share of the turn, 0 behind the joints and 1 before them; smooth to the first derivative.
double turn_share(double before_axis_mm) {
  const double t = std::clamp(before_axis_mm / kBlendMm + 0.5, 0.0, 1.0);
  return t * t * (3.0 - 2.0 * t);
}

}  // namespace

Hinge hinge_in_foot(const FootLandmarks& landmarks) {
  Hinge hinge;
  hinge.point_mm = 0.5 * (landmarks.first_joint + landmarks.fifth_joint);
  hinge.point_mm.z() = kAxisHeightPerLength * foot_length_mm(landmarks);
  Vec3 across = landmarks.fifth_joint - landmarks.first_joint;
  across.z() = 0.0;
  if (across.norm() > 1.0) hinge.axis = across.normalized();
  return hinge;
}

PosedFoot::PosedFoot(const FootLandmarks& landmarks, const Registration& registration)
    : last_from_foot_(registration.last_from_foot), hinge_(registration.hinge) {
  const Hinge in_foot = hinge_in_foot(landmarks);
  axis_point_foot_ = in_foot.point_mm;
  axis_foot_ = in_foot.axis;
  forward_foot_ = Vec3::UnitZ().cross(axis_foot_);
  hinge_.point_mm = last_from_foot_ * axis_point_foot_;
  hinge_.axis = last_from_foot_.linear() * axis_foot_;
}

Vec3 PosedFoot::operator()(const Vec3& p) const {
  const double share = turn_share((p - axis_point_foot_).dot(forward_foot_));
  if (share == 0.0) return last_from_foot_ * p;
  const Eigen::AngleAxisd turn(share * hinge_.angle_deg * kRadPerDeg, axis_foot_);
  return last_from_foot_ * (axis_point_foot_ + turn * (p - axis_point_foot_));
}

Eigen::Matrix<double, 3, 7> PosedFoot::jacobian(const Vec3& p) const {
  const Vec3 arm = (*this)(p)-hinge_.point_mm;
  Eigen::Matrix<double, 3, 7> j;
  for (int axis = 0; axis < 3; ++axis) j.col(axis) = Vec3::Unit(axis).cross(arm);
  j.middleCols<3>(3).setIdentity();
  j.col(6) = turn_share((p - axis_point_foot_).dot(forward_foot_)) * hinge_.axis.cross(arm);
  return j;
}

}  // namespace lastroom
