#pragma once

#include "fitting.h"

namespace lastroom {

/// Landmarks of the foot where it stands in the last: last frame, as worn.
struct WornLandmarks {
  Vec3 heel, first_joint, fifth_joint;
  std::array<Vec3, 5> toe_tips;
};
WornLandmarks worn_landmarks(const Fitting& fitting);

/// A rotation axis through the mirror y -> -y. With M the mirror, M R(a, angle) M = R(det(M) M a, angle) = R(-M a,
/// angle): an axis is a pseudovector, so x and z turn their sign and y keeps it. A positive angle still lifts the toes.
inline Vec3 axis_as_worn(Side side, const Vec3& axis) {
  return side == Side::right ? axis : Vec3(-axis.x(), axis.y(), -axis.z());
}

/// Posed skin and last, as worn, both facing outwards.
Mesh worn_skin(const Fitting& fitting);
Mesh worn_last(const Fitting& fitting);

}  // namespace lastroom
