#pragma once

#include "preparation/foot.h"
#include "preparation/foot_pose.h"

namespace lastroom {

/// A foot as it will stand, still in its own unit: everything in right form.
struct StandingFoot {
  Motion foot_from_rough = Motion::Identity();
  double length = 0.0;
  bool sole_missing = false;
  FootLandmarks landmarks;
};

/// Stands a foot exactly that stands roughly (heel near the origin, toes along +x, z up, right form): the floor under
/// heel and both joints (or `floor_z` where the floor itself was scanned), the axis from heel to second toe's tip, then
/// the landmarks. `size` is the generic foot's (FootPose). `given` are points that the maker set, in the rough frame.
StandingFoot stand_foot(const Mesh& rough, const Vec3& size, const std::optional<double>& floor_z,
                        const HandLandmarks& given);

}  // namespace lastroom
