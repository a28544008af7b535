#pragma once

#include "registration/expected_room.h"

namespace lastroom {

/// A few thousand points that stand for the skin the last holds, and for the floor the foot stood on.
struct HeldSkin {
  struct Sample {
    Vec3 foot_mm = Vec3::Zero();
    std::size_t part = 0;  ///< row of kExpectedRoom
    double area_mm2 = 0.0;
    bool on_floor = false;  ///< not skin: a point of the floor, to be laid on the last's bottom
  };
  std::vector<Sample> samples;
  std::array<double, kParts> area_mm2 = {};
  double toe_plane_spread_mm = 0.0;  ///< one standard deviation of the height of the floor under the toes
};

HeldSkin held_skin(const Foot& foot, const SkinMap& skin);

}  // namespace lastroom
