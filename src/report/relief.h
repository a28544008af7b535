#pragma once

#include "report/raster.h"
#include "report/svg.h"

namespace lastroom {

/// A body in relief: its filled outline, and how far its skin faces a lamp over the looker's left shoulder, in four
/// soft steps. `normals`: one a vertex, outward.
void add_relief(Drawing& drawing, const MeshView& mesh, const std::vector<Vec3>& normals, const Raster& seen,
                const View& view);

}  // namespace lastroom
