#pragma once

#include "geometry/mesh.h"

namespace lastroom {

/// A box around a piece of surface, lying along it: its middle, first and third axis (unit, at right angles; the second
/// is their product), and half its size along each.
struct DistanceBox {
  std::array<float, 3> middle, first, third, half_size;
  std::uint32_t child = 0;  ///< the node of what is in it; or, with `kLeafBit`, the leaf
};
constexpr std::uint32_t kLeafBit = 0x80000000;

/// So many boxes of a node, or triangles of a leaf, one after the other.
struct DistanceRange {
  std::uint32_t first = 0, count = 0;
};

/// What of a SignedDistance takes long to find, and is worth keeping: boxes in boxes, and which triangles lie in which.
/// Node 0 holds all, and every child comes after its parent. In float, around `centre_mm`.
struct DistanceBoxes {
  Vec3 centre_mm = Vec3::Zero();
  double radius_mm = 0.0;  ///< of a ball around the centre that holds every vertex
  std::vector<DistanceBox> boxes;
  std::vector<DistanceRange> nodes;      ///< of `boxes`
  std::vector<DistanceRange> leaves;     ///< of `triangles`
  std::vector<std::uint32_t> triangles;  ///< every triangle of the mesh once
};

/// The same boxes whatever the number of threads. `mesh` has at least one triangle.
DistanceBoxes distance_boxes(const Mesh& mesh);
/// Whether a search through `boxes` ends, and meets triangles of a mesh with so many only: for boxes from a file.
bool is_usable(const DistanceBoxes& boxes, std::size_t triangle_count);

}  // namespace lastroom
