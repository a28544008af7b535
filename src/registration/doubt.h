#pragma once

#include "registration/solve_pose.h"

namespace lastroom {

/// Fills in how well the pose is known (`position_doubt_mm`, `angle_doubt_deg`, `weakest`) and, where no verdict may be
/// built on it, why (`doubt_reason`).
void note_doubt(const PoseSolution& solution, Registration& registration);

}  // namespace lastroom
