#pragma once

#include "geometry/hierarchy.h"
#include "measurement/measure.h"

namespace lastroom {

/// A last as far as it can be taken without a foot.
struct ReadyLast {
  Last last;
  LastMeasures measures;
  HierarchyBoxes boxes;  ///< of the last's mesh
};

}  // namespace lastroom
