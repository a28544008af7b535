#pragma once

#include "geometry/surface_features.h"

namespace lastroom {

/// The faces inside the feather edge, and that edge as a loop of vertices (counter-clockwise seen from above, so that
/// the bottom lies on its left from above). Empty loop when there is none.
struct LastBottomFaces {
  std::vector<std::uint8_t> bottom;  ///< one per triangle
  std::vector<std::uint32_t> feather_loop;
};

/// Grown from the triangles that face down (`down`, unit) over everything that bends gently, up to the feather edge: a
/// crease, or where the surface has turned too far to be a bottom.
LastBottomFaces find_bottom(const Mesh& mesh, const SurfaceFeatures& features, const Vec3& down);

}  // namespace lastroom
