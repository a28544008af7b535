#pragma once

#include "registration/solve_pose.h"

namespace lastroom {

/// Where a maker would set the foot down by eye: the floor under heel and joints on the last's bottom, heel in heel,
/// the axes together; the toes turned up as far as the bottom is. A second one, with the joints' middles level instead,
/// where the two differ by more than a search may be trusted to find out.
std::vector<Pose> start_poses(const FootLandmarks& marks, double foot_length_mm, const Last& last);

}  // namespace lastroom
