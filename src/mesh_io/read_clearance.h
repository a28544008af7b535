#pragma once

#include <span>
#include <string>

#include "geometry/mesh.h"

namespace lastroom {

/// What `ply_with_clearance` wrote; one entry per vertex in the file's order.
struct ClearanceMesh {
  Mesh mesh;
  std::vector<double> clearance_mm;  ///< NaN where it is not judged: there it says nothing of the fit
};

/// Reads a clearance.ply of lastroom's own, and nothing else. `name` stands before an error. Throws InputError.
ClearanceMesh parse_clearance_ply(std::span<const char> bytes, const std::string& name);

}  // namespace lastroom
