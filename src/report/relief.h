#pragma once

#include "report/raster.h"
#include "report/svg.h"

namespace lastroom {

/// A body in relief, as path data: its filled outline, and how far its skin faces a lamp over the looker's left
/// shoulder, in four soft steps, of which the darkest is all of the outline.
struct Relief {
  std::string outline;
  std::array<std::string, 3> lighter;
};
/// `normals`: one a vertex, outward.
Relief relief_of(const MeshView& mesh, const std::vector<Vec3>& normals, const Raster& seen, const View& view);
void add_relief(Drawing& drawing, const Relief& relief);

}  // namespace lastroom
