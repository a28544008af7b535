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
  double misfit = 0.0;                ///< rms distance between the two, as a share of the foot's length
  double missing = 0.0, extra = 0.0;  ///< its two halves: template without skin near it; skin without template near it
  Side side() const { return size.y() < 0.0 ? Side::left : Side::right; }
};

struct FootPoses {
  FootPose best;
  std::optional<FootPose> other_side;  ///< the best of the other side, unless the side was given
};

/// The generic foot laid into the cloud in every way in which it might rest (on the flat places of its convex hull, or
/// on `up` where the floor is known), the best ones refined. Works in any unit and frame.
FootPoses find_foot_poses(const FootCloud& cloud, const std::optional<Vec3>& up, const std::optional<Side>& side);

}  // namespace lastroom
