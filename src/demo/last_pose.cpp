#include "demo/last_pose.h"

#include <algorithm>
#include <numbers>

namespace lastroom {
namespace {

constexpr double kHingeHeight_ratio = 0.06;  // of foot length above the sole: the joints' own height
constexpr double kHingeBlend_mm = 15.0;      // the turn is spread over this length around the axis
constexpr double kRadPerDeg = std::numbers::pi / 180.0;

Motion turn_about(const Vec3& point, const Vec3& axis, double angle_deg) {
  Motion turn = Motion::Identity();
  turn.translate(point).rotate(Eigen::AngleAxisd(angle_deg * kRadPerDeg, axis)).translate(-point);
  return turn;
}

double blend(double before_joint_mm) {
  const double t = std::clamp(before_joint_mm / kHingeBlend_mm + 0.5, 0.0, 1.0);
  return t * t * (3.0 - 2.0 * t);
}

}  // namespace

double length_of(const MadeFoot& foot) {
  double tip_mm = 0.0;
  for (const Vec3& tip : foot.toe_tips) tip_mm = std::max(tip_mm, tip.x());
  return tip_mm - foot.heel.x();
}

LastPose::LastPose(const MadeFoot& foot, double pitch_deg, double spring_deg, double yaw_deg)
    : point_(0.5 * (foot.first_joint + foot.fifth_joint)), hinge_deg_(pitch_deg + spring_deg) {
  point_.z() = kHingeHeight_ratio * length_of(foot);
  axis_ = foot.fifth_joint - foot.first_joint;
  axis_.z() = 0.0;
  axis_.normalize();
  forward_ = Vec3::UnitZ().cross(axis_);
  bench_from_foot_ = turn_about(Vec3::Zero(), Vec3::UnitZ(), yaw_deg) * turn_about(point_, axis_, -pitch_deg);
}

double LastPose::before_joint_mm(const Vec3& foot_point) const { return (foot_point - point_).dot(forward_); }

Vec3 LastPose::operator()(const Vec3& foot_point) const {
  const double angle_deg = hinge_deg_ * blend(before_joint_mm(foot_point));
  return bench_from_foot_ * (turn_about(point_, axis_, angle_deg) * foot_point);
}

Vec3 LastPose::turned(const Vec3& foot_point, const Vec3& direction) const {
  const double angle_deg = hinge_deg_ * blend(before_joint_mm(foot_point));
  return bench_from_foot_.linear() * (turn_about(point_, axis_, angle_deg).linear() * direction);
}

}  // namespace lastroom
