#pragma once

#include <array>

#include "report/raster.h"
#include "report/svg.h"

namespace lastroom {

/// A body in relief, as path data: its filled outline, and how far its skin faces a lamp over the looker's left
/// shoulder, in four soft steps, of which the darkest is all of the outline.
struct Relief {
  std::string outline;
  std::array<std::string, 3> lighter;
};
/// Above each of these an area is a step lighter.
inline constexpr std::array kReliefLight = {0.45, 0.7, 0.9};
/// How far the skin that is seen faces the lamp, as a cosine; -1 beside it. `normals`: one a vertex, outward.
Grid light_on(const MeshView& mesh, const std::vector<Vec3>& normals, const Raster& seen, const View& view);
Relief relief_of(const Raster& seen, const Grid& light);
void add_relief(Drawing& drawing, const Relief& relief);

}  // namespace lastroom
