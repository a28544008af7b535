#include "registration/start_pose.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lastroom {
namespace {

constexpr double kSeatAt = 0.15, kToesAt = 1.22;  // in parts of heel to joint

/// The bottom's centre line where it passes `x`.
Vec3 on_centre_line(const Last& last, double x) {
  const std::vector<Vec3>& line = last.centre_line;
  if (line.empty()) return {x, 0.0, last.tread.z()};
  for (std::size_t i = 1; i < line.size(); ++i)
    if (line[i - 1].x() <= x && x <= line[i].x()) {
      const double share = (x - line[i - 1].x()) / std::max(1e-9, line[i].x() - line[i - 1].x());
      return line[i - 1] + share * (line[i] - line[i - 1]);
    }
  return x < line.front().x() ? line.front() : line.back();
}

/// The foot set down with its joints' middle at `joint_x`.
Pose set_down(const FootLandmarks& marks, const Last& last, double joint_x) {
  const Hinge hinge = hinge_in_foot(marks);
  const double foot_reach_mm = std::max(1.0, hinge.point_mm.x() - marks.heel.x());
  const double last_reach_mm = joint_x - last.heel_back.x();
  const Vec3 joint = on_centre_line(last, joint_x);
  const Vec3 seat = on_centre_line(last, last.heel_back.x() + kSeatAt * last_reach_mm);
  const Vec3 toes = on_centre_line(last, last.heel_back.x() + kToesAt * last_reach_mm);

  // Foot: along its axis on the floor, from under the heel to between the joints. Last: the same along its centre line.
  const Vec3 foot_seat(marks.heel.x() + kSeatAt * foot_reach_mm, marks.heel.y(), 0.0);
  const Vec3 foot_joint(hinge.point_mm.x(), hinge.point_mm.y(), 0.0);
  const Vec3 along_foot = (foot_joint - foot_seat).normalized();
  const Vec3 along_last = (joint - seat).normalized();
  const auto frame = [](const Vec3& along) {
    const Vec3 across = Vec3::UnitZ().cross(along).normalized();
    Eigen::Matrix3d axes;
    axes << along, across, along.cross(across);
    return axes;
  };
  Pose pose;
  pose.last_from_foot.linear() = frame(along_last) * frame(along_foot).transpose();
  pose.last_from_foot.translation() = joint - pose.last_from_foot.linear() * foot_joint;
  const double rear_rise = std::atan2(along_last.z(), along_last.head<2>().norm());
  const double fore_rise = std::atan2(toes.z() - joint.z(), std::max(1.0, toes.x() - joint.x()));
  pose.hinge_deg = (fore_rise - rear_rise) * 180.0 / std::numbers::pi;
  return pose;
}

}  // namespace

Pose start_pose(const FootLandmarks& marks, const Last& last) {
  const double reach_mm = hinge_in_foot(marks).point_mm.x() - marks.heel.x();
  const double rise_mm = last.heel_back.z() - last.tread.z();
  return set_down(marks, last, last.heel_back.x() + std::sqrt(std::max(0.0, reach_mm * reach_mm - rise_mm * rise_mm)));
}

}  // namespace lastroom
