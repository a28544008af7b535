#pragma once

#include "geometry/mesh.h"

namespace lastroom {

/// A surface as evenly spread points: in every cubic cell the skin's middle, once for each of six directions that it
/// may face, so that both sides of a thin web stay apart. Averages noise away; its size depends on the cell only.
/// Throws InputError where there is far more skin than a foot has.
struct FootCloud {
  std::vector<Vec3> points;
  std::vector<Vec3> normals;  ///< outward unit
  std::vector<double> areas;
};
FootCloud cloud_of(const Mesh& mesh, double cell);

/// Every n-th point, so that about `count` are left.
FootCloud thinned(const FootCloud& cloud, std::size_t count);

}  // namespace lastroom
