#pragma once

#include "demo/last_pose.h"

namespace lastroom {

/// The foot as the last is to hold it: posed, and every point moved out along its skin normal by the room of its
/// region.
struct LastSkin {
  Mesh mesh;                    ///< bench frame, room added on top, sides and back
  std::vector<Vec3> sole;       ///< posed points of the sole from heel to just in front of the joint, room taken off
  std::vector<Vec3> toe_soles;  ///< posed points under the toes, and the skin that each stands for
  std::vector<double> toe_sole_areas_mm2;
  Vec2 joint_middle = Vec2::Zero();   ///< of the joint line, in plan
  Vec2 forward = Vec2::UnitX();       ///< in plan, across the joint line
  double sole_before_joint_mm = 0.0;  ///< height of the fore part's bottom at the joint line
  double rear_slope_ratio = 0.0;      ///< rise of the sole behind the joint line, to the heel
  double heel_x_mm = 0.0, tip_x_mm = 0.0, length_mm = 0.0;
};
LastSkin skin_with_room(const MadeFoot& foot, const LastPose& pose, double pitch_deg, const LastRoom& room);

/// The turn in plan that lays the line from the heel to between the first two toes along x: the last's centre line.
double centring_yaw_deg(const MadeFoot& foot, double pitch_deg, double spring_deg);

/// The last's bottom as a height over the plan. Behind the joint it follows the sole, in front of it rises straight to
/// the toe spring.
class LastBottom {
 public:
  LastBottom(const LastSkin& skin, double spring_slope_ratio);
  double height_mm(double x_mm, double y_mm) const;

 private:
  Vec2 joint_middle_, forward_;
  double fore_z_mm_, slope_, rear_slope_, first_x_mm_;
  std::vector<Eigen::Matrix<double, 5, 1>> rows_;  // local cubic across, linear along
  std::vector<Vec2> reach_;                        // least and most y of the sole's flat there
};

}  // namespace lastroom
