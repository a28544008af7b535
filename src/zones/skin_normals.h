#pragma once

#include "geometry/mesh.h"

namespace lastroom {

/// Normals of the skin without a scan's noise: vertex normals averaged over neighbours about 4 mm around. With 0.8 mm
/// of noise on 2 mm triangles a plain vertex normal errs by some 30 degrees.
std::vector<Vec3> skin_normals(const Mesh& mesh);

/// Each vertex's value averaged with those of its neighbours about `radius_mm` around, so that what is read off the
/// skin is not one noisy vertex's. Triangles and vertex count of `values` are the mesh's.
std::vector<double> evened(const Mesh& mesh, std::vector<double> values, double radius_mm);

}  // namespace lastroom
