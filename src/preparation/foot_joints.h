#pragma once

#include "geometry/mesh_view.h"

namespace lastroom {

/// Where a joint of the ball lies along the foot, in foot lengths from the heel.
struct JointPlace {
  double at = 0.0, sigma = 0.0;  ///< sigma: one standard deviation
};
struct JointPlaces {
  JointPlace first, fifth;
};

/// The heads of the first and the fifth metatarsal. `mesh` stands in the foot frame, right form, and reaches back
/// behind the middle of the foot at least. Two things are weighed by their spreads: where the side stands out most
/// (which is how a tape is laid: A2), or where it has no top (on a splayed foot the toe itself is the most outside)
/// stands out most from the line between the midfoot and the toe; and where the heads of people's metatarsals lie.
JointPlaces find_joints(const MeshView& mesh, double length);

}  // namespace lastroom
