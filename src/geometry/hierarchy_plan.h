#pragma once

// Private to geometry.

#include "geometry/hierarchy.h"

namespace lastroom {

struct PlannedBranch {
  DistanceRange part[kLanes];
  std::uint32_t child[kLanes] = {};  ///< as DistanceBox::child
  int parts = 0;
};

/// Which triangles go together: ranges of `triangles`, as the nodes and leaves of the hierarchy to be.
struct HierarchyPlan {
  std::vector<std::uint32_t> triangles;
  std::vector<PlannedBranch> branches;
  std::vector<DistanceRange> leaves;
};

/// By the surface area heuristic in bins (Wald 2007, "On fast construction of SAH-based bounding volume hierarchies").
HierarchyPlan plan_hierarchy(const Mesh& mesh, const std::vector<Eigen::Vector4f>& corners);

}  // namespace lastroom
