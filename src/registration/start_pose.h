#pragma once

#include "registration/settle.h"

namespace lastroom {

/// Where a maker would set the foot down by eye: the floor under heel and joints on the last's bottom, heel in heel,
/// the axes together; the toes turned up as far as the bottom is.
Pose start_pose(const FootLandmarks& marks, const Last& last);

}  // namespace lastroom
