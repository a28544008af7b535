#pragma once

#include "registration/settle.h"

namespace lastroom {

/// Covariance of the settled pose (order of `PoseCovariance`): the unknown physics within its ranges, the scan's error,
/// the joints' places and the play between the sides, drawn and settled anew. `skin_sigma_mm`: one standard deviation
/// of the skin's place.
PoseCovariance pose_covariance(const SettleProblem& problem, const Pose& settled, double skin_sigma_mm);

/// What moves the pose most when it alone is not known: takes some times as long, so asked of a pose in doubt.
Message cause_of_doubt(const SettleProblem& problem, const Pose& settled, double skin_sigma_mm);

/// Fills in how well the pose is known (`position_sigma_mm`, `angle_sigma_deg`, `weakest`) and, where no verdict may be
/// built on it, why (`doubt_reason`). Takes the covariance and the rooms left as they are.
void note_doubt(const SettleProblem& problem, const Settled& settled, double skin_sigma_mm, bool suits_other_side,
                Registration& registration);

}  // namespace lastroom
