#pragma once

#include <optional>

#include "preparation/foot_cloud.h"
#include "preparation/side.h"

namespace lastroom {

/// How a generic foot (foot_template.h) is laid into a cloud: point = turn * (size x template point) + shift, where the
/// middle size is negative for a left foot.
struct FootPose {
  Eigen::Matrix3d turn = Eigen::Matrix3d::Identity();  ///< columns: forward, up x forward, up; a rotation
  Vec3 shift = Vec3::Zero();
  Vec3 size = Vec3::Ones();
  double misfit = 0.0;  ///< rms distance between the two, as a share of the foot's length; soles left out if missing
  /// Shares of the generic foot's sole, toes and heel that have skin near them.
  double sole_there = 0.0, toes_there = 0.0, heel_there = 0.0;
  Side side() const { return size.y() < 0.0 ? Side::left : Side::right; }
  bool sole_missing() const { return sole_there < 0.5; }
};

struct FootPoses {
  FootPose best, other_side;
  double chance_of_wrong_side() const;  ///< 0 .. 0.5
};

/// The generic foot laid into the cloud in every way in which it might rest (on the flat places of its convex hull, or
/// on `up` where the floor is known), as a right and as a left foot, the best ones refined. Works in any unit and
/// frame.
FootPoses find_foot_poses(const FootCloud& cloud, const std::optional<Vec3>& up);

/// Laid once more, without its toes and by near skin alone: where a ray is gone, toes are not drawn to the next ones,
/// nor the foot to the gap.
FootPose laid_without_toes(FootPose pose, const FootCloud& cloud);

}  // namespace lastroom
