#pragma once

#include "preparation/foot_cloud.h"

namespace lastroom {

/// Directions that may be "up": those under which much of the body lies flat, largest contact first, unit vectors.
std::vector<Vec3> resting_directions(const FootCloud& cloud);

}  // namespace lastroom
