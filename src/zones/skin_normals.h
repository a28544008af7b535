#pragma once

#include "geometry/mesh.h"

namespace lastroom {

/// Normals of the skin without a scan's noise: vertex normals averaged over neighbours about 4 mm around. With 0.8 mm
/// of noise on 2 mm triangles a plain vertex normal errs by some 30 degrees.
std::vector<Vec3> skin_normals(const Mesh& mesh);

}  // namespace lastroom
