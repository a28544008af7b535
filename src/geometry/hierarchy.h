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

/// Consecutive triangles, one to eight of them in a leaf.
struct HierarchyRange {
  std::uint32_t first = 0, count = 0;
};

constexpr std::uint32_t kLeafBit = 0x80000000;
constexpr float kFarAway = 1e18F;  ///< its square is still finite in float
constexpr int kMostLevels = 64;    ///< of nodes, one below the other: the search keeps its way in a stack

/// What of a hierarchy takes long to find, and is worth keeping: the boxes, and which triangles lie in which leaf.
/// Eight children to a node; node 0 is the root, and every child comes after its parent. In float, around `centre_mm`.
struct HierarchyBoxes {
  Vec3 centre_mm = Vec3::Zero();
  double radius_mm = 0.0;  ///< of a ball around the centre that holds every vertex
  std::vector<HierarchyNode> nodes;
  std::vector<HierarchyRange> leaves;    ///< of `triangles`
  std::vector<std::uint32_t> triangles;  ///< every triangle of the mesh once
};

/// The same boxes whatever the number of threads. `mesh` has at least one triangle.
HierarchyBoxes hierarchy_boxes(const Mesh& mesh);
/// Whether a search through `boxes` ends, and meets triangles of a mesh with so many only: for boxes from a file.
bool is_usable(const HierarchyBoxes& boxes, std::size_t triangle_count);

/// Bounding hierarchy over triangles, as it is searched: boxes, and leaves that hold their triangles' own planes.
struct Hierarchy {
  Vec3 centre_mm = Vec3::Zero();
  double radius_mm = 0.0;  ///< as HierarchyBoxes
  std::vector<HierarchyNode> nodes;
  std::unique_ptr<HierarchyLeaf[]> leaves;
};

/// `boxes` are those of `mesh`.
Hierarchy build_hierarchy(const Mesh& mesh, HierarchyBoxes boxes);
Hierarchy build_hierarchy(const Mesh& mesh);

}  // namespace lastroom
