#pragma once

#include "registration/expected_room.h"

namespace lastroom {

/// Of toes, which are round and bear less than the ball, the lower half of the soles lies on the last's bottom, on
/// average; held-up toes come to it all the same. Our choice.
constexpr double kBearingShare = 0.5;

/// A few thousand points that stand for the skin the last holds, and for the floor the foot stood on.
struct HeldSkin {
  struct Sample {
    Vec3 foot_mm = Vec3::Zero();
    std::size_t part = 0;  ///< row of kExpectedRoom
    double area_mm2 = 0.0;
    bool on_floor = false;  ///< not skin: a point of the floor, to be laid on the last's bottom
  };
  std::vector<Sample> samples;
  std::vector<Sample> toe_soles;  ///< of which the lower `kBearingShare`, on average, lies on the last's bottom
  std::array<double, kParts> area_mm2 = {};
  double toe_level_spread_mm = 0.0;  ///< one standard deviation of the height that the toes bear at
};

HeldSkin held_skin(const Foot& foot, const SkinMap& skin);

}  // namespace lastroom
