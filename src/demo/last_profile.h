#pragma once

#include "geometry/mesh.h"

namespace lastroom {

using Profile = std::vector<Vec2>;  ///< of one half plane: (distance from the spine, height)

/// A half plane that stands on the spine at `x` and looks along `direction` in plan.
struct HalfPlane {
  double x = 0.0;
  Vec2 direction = Vec2::UnitY();
  std::size_t base = 0;  ///< place on the spine; several half planes may stand on it
  Vec2 plan(double q) const { return Vec2(x, 0.0) + q * direction; }
};

/// Where the mesh crosses the plane of a station, as points; q < 0 lies behind the spine. Heights above `top` are cut.
Profile slice(const Mesh& mesh, const HalfPlane& station, double top);
/// The hull's border from `feather` up to the spine (q = 0), or, where the last is cut, to the outer end of the cut.
Profile outer_border(Profile points, const Vec2& feather, bool to_cut = false);
double top_of(const Profile& border);
/// The same line as equal steps.
Profile resampled(const Profile& line, std::size_t intervals);
/// Outline of the cut top in plan: how far it reaches from a station's foot on the spine.
double rim_reach(const HalfPlane& station, double rear_x, double front_x, double half_width);
/// From the end of `line` on in a smooth bend to the rim, where it stands upright.
void bend_to_rim(Profile& line, const Vec2& rim);
/// How far a ray from inside reaches to the border line.
double ray_length(const Profile& border, const Vec2& start, const Vec2& direction);

}  // namespace lastroom
