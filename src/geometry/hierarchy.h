#pragma once

#include <memory>

#include "geometry/mesh.h"

namespace lastroom {

/// Eight boxes or triangles side by side, one per lane, so that one instruction works on all.
constexpr int kLanes = 8;

/// A frame per lane in float: origin, first axis and third axis (unit, at right angles); the second axis is their
/// product.
struct Frames {
  float origin[3][kLanes], first[3][kLanes], third[3][kLanes];
};

/// Eight children as oriented boxes around the frames' origins. Small children are flat pieces of surface: a box that
/// lies along them excludes far more than one along the coordinate axes.
struct alignas(32) HierarchyNode {
  Frames frames;
  float half_size[3][kLanes];
  std::uint32_t child[kLanes];  ///< node, or leaf with `kLeafBit`; unused lanes lie at kFarAway
};

/// Eight triangles in their own planes: corners (0, 0), (length, 0) with the longest edge, and (apex_x, apex_y) above
/// it.
struct alignas(32) HierarchyLeaf {
  Frames frames;
  float length[kLanes], apex_x[kLanes], apex_y[kLanes];
  std::uint32_t triangle[kLanes];
};

constexpr std::uint32_t kLeafBit = 0x80000000;
constexpr float kFarAway = 1e18F;  ///< its square is still finite in float

/// Bounding hierarchy over triangles, eight children to a node; node 0 is the root. In float, around `centre_mm`.
struct Hierarchy {
  Vec3 centre_mm = Vec3::Zero();
  double radius_mm = 0.0;  ///< of a ball around the centre that holds every vertex
  std::unique_ptr<HierarchyNode[]> nodes;
  std::unique_ptr<HierarchyLeaf[]> leaves;
};

/// The same hierarchy whatever the number of threads. `mesh` has at least one triangle.
Hierarchy build_hierarchy(const Mesh& mesh);

}  // namespace lastroom
