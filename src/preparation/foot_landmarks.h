#pragma once

#include "geometry/section.h"
#include "preparation/foot.h"
#include "preparation/foot_pose.h"

namespace lastroom {

/// A foot as it will stand, still in its own unit: everything in right form.
struct StandingFoot {
  Motion foot_from_rough = Motion::Identity();
  double length = 0.0;
  std::optional<double> toe_rise;  ///< how high the toes' soles stand over the floor; missing without a sole
  FootLandmarks landmarks;
  std::array<bool, 5> toe_shortened{};  ///< ends before where its neighbours let it be expected
};

struct RoughFoot {
  Mesh mesh;  ///< heel near the origin, toes along +x, z up, right form
  Vec3 size;  ///< the generic foot's (FootPose), all positive
  bool sole_missing = false;
  std::optional<Plane> floor;  ///< where the floor itself was scanned
  HandLandmarks given;         ///< points that the maker set
};

/// Stands a foot exactly that stands roughly: the floor under heel and both joints, the axis from heel to second toe's
/// tip, then the landmarks.
StandingFoot stand_foot(const RoughFoot& rough);

}  // namespace lastroom
