#pragma once

#include "geometry/distance_boxes.h"
#include "measurement/measure.h"

namespace lastroom {

/// A last as far as it can be taken without a foot.
struct ReadyLast {
  Last last;
  LastMeasures measures;
  DistanceBoxes boxes;  ///< of the last's mesh
};

}  // namespace lastroom
