#pragma once

// What the module gives to the door. Plain functions that never throw: an empty string is success, else the reason.

#include <string>

#include "geometry/mesh.h"

namespace lastroom::open3d_adapter {

using SurfaceFromPoints = std::string(const std::vector<Vec3>& points_mm, double spacing_mm, Mesh& mesh);

/// The one symbol that is looked up by name: `lastroom_open3d_entry_points`.
struct EntryPoints {
  SurfaceFromPoints* surface_from_points;
};

}  // namespace lastroom::open3d_adapter
