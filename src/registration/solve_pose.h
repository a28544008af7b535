#pragma once

#include "registration/held_skin.h"
#include "registration/registration.h"

namespace lastroom {

/// How far a standing foot is turned at its joints in a last. A living big toe joint bends upwards by about 65 degrees
/// and downwards by about 30 (from memory, clinical textbooks); the last few are not stood on (our choice).
constexpr double kLeastHingeDeg = -15.0, kMostHingeDeg = 55.0;

/// A foot's point that should come to lie level with one of the last's along `direction`, give or take `spread_mm`.
struct PointEvidence {
  Vec3 foot_mm, last_mm, direction;
  double spread_mm;
};

/// Everything the pose is solved from; refers to values that outlive it.
struct PoseProblem {
  const Foot& foot;
  double foot_length_mm;
  const Last& last;
  const SignedDistance& last_surface;
  HeldSkin held;
  std::vector<PointEvidence> points;
  double expected_hinge_deg = 0.0;
  double sock_mm = 0.0;
  SignedDistance fore_bottom;  ///< `fore_bottom(last)`
};
/// The last's bottom in front of its joints, which the toes lie on: inside a last the roof may be nearer to them.
SignedDistance fore_bottom(const Last& last);

struct Pose {
  Motion last_from_foot = Motion::Identity();
  double hinge_deg = 0.0;
};

struct PoseSolution {
  Pose pose;
  std::array<double, kParts> room_mm = {};     ///< solved room of each part, less what was expected of it
  std::array<double, kParts> rms_mm = {};      ///< of what room alone doesn't explain; 0 for a part without skin
  std::array<double, kParts> share_used = {};  ///< of the part's area that counted: not on a rim, not outlying
  double cost = 0.0;                           ///< minus the logarithm of the likelihood, to a constant
  bool converged = false;
  int iterations = 0;
  PoseCovariance covariance = PoseCovariance::Zero();
};

Registration as_registration(const PoseProblem& problem, const Pose& pose);

/// Levenberg-Marquardt on the six of the pose, the hinge and the room of each part.
PoseSolution solve_pose(const PoseProblem& problem, const Pose& start);

}  // namespace lastroom
