#pragma once

// Private to geometry: the boxes of a mesh as one instruction after the other works on them.

#include <memory>

#include "geometry/distance_boxes.h"

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

constexpr float kFarAway = 1e18F;  ///< its square is still finite in float
constexpr int kMostLevels = 64;    ///< of nodes, one below the other: the search keeps its way in a stack

/// Bounding hierarchy over triangles, as it is searched: boxes, and leaves that hold their triangles' own planes.
struct Hierarchy {
  Vec3 centre_mm = Vec3::Zero();
  double radius_mm = 0.0;  ///< as DistanceBoxes
  std::vector<HierarchyNode> nodes;
  std::unique_ptr<HierarchyLeaf[]> leaves;
};

/// `boxes` are those of `mesh`.
Hierarchy build_hierarchy(const Mesh& mesh, const DistanceBoxes& boxes);

}  // namespace lastroom
