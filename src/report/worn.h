#pragma once

#include <memory>

#include "fitting.h"
#include "geometry/mesh_view.h"

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

/// A mesh as worn: of a right foot the fitting's own, looked at; of a left one a mirrored copy.
struct WornMesh {
  MeshView mesh;
  std::shared_ptr<const Mesh> copy;
};
/// Posed skin and last, both facing outwards; `fitting` must outlive them.
WornMesh worn_skin(const Fitting& fitting);
WornMesh worn_last(const Fitting& fitting);

}  // namespace lastroom
