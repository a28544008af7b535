#pragma once

#include "geometry/mesh.h"

namespace lastroom {

/// Where a surface is open.
struct OpenRims {
  /// A triangle of `from`, `to` and a third corner goes on with the surface's orientation.
  struct Edge {
    std::uint32_t from, to;
    std::size_t rim;  ///< of `middles`
  };
  std::vector<Edge> edges;
  std::vector<Vec3> middles;  ///< of what hangs together of the rims: the mean of its corners
};
OpenRims open_rims(const Mesh& mesh);

}  // namespace lastroom
