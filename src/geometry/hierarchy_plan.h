#pragma once

#include <bit>

#include "geometry/hierarchy.h"

namespace lastroom {

/// A triangle and its box. The fourth lanes are no coordinates: the triangle's number rides there as bits, so that an
/// item fills half a cache line.
struct PlannedItem {
  Eigen::Array4f low, high;
  std::uint32_t triangle() const { return std::bit_cast<std::uint32_t>(low[3]); }
};

struct PlannedRange {
  std::uint32_t first = 0, count = 0;
};
struct PlannedBranch {
  PlannedRange part[kLanes];
  std::uint32_t child[kLanes] = {};  ///< as HierarchyNode::child
  int parts = 0;
};

/// Which triangles go together: ranges of `items`, as the nodes and leaves of the hierarchy to be.
struct HierarchyPlan {
  std::vector<PlannedItem> items;
  std::vector<PlannedBranch> branches;
  std::vector<PlannedRange> leaves;
};

/// By the surface area heuristic in bins (Wald 2007, "On fast construction of SAH-based bounding volume hierarchies").
HierarchyPlan plan_hierarchy(const Mesh& mesh, const std::vector<Eigen::Vector4f>& corners);

}  // namespace lastroom
