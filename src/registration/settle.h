#pragma once

#include <optional>

#include "registration/contact_samples.h"
#include "registration/physics.h"

namespace lastroom {

struct Pose {
  Motion last_from_foot = Motion::Identity();
  double hinge_deg = 0.0;
};

/// Everything the foot settles in; refers to values that outlive it.
struct SettleProblem {
  const FootLandmarks& landmarks;
  const Last& last;
  const SignedDistance& last_surface;
  const SignedDistance& fore_bottom;  ///< `fore_bottom(last)`
  const ContactSamples& samples;
  double sock_mm = 0.0;
};
/// The last's bottom in front of its joints, which the toes lie on: inside a last the roof may be nearer to them.
SignedDistance fore_bottom(const Last& last);

bool is_rear(Zone zone);  ///< from heel to joint

/// What may be otherwise than usual while the foot settles.
struct Circumstances {
  Physics physics = usual_physics();
  std::vector<double> skin_error_mm;  ///< per cell, outwards; empty: none
  /// Room on either side of heel and joint draws the foot to the middle by so much a region: enough to stand there, not
  /// to leave a wall that presses with a hundred times as much (our choice).
  double centring_N_per_mm = 0.5;
  /// By how much more room the foot leaves on its inside than in the middle of its play, by region.
  std::array<double, kSideRegions> off_middle_mm = {};
};

struct Settled {
  Pose pose;
  double energy_N_mm = 0.0;
  bool at_rest = false;
  int iterations = 0;
};

/// How finely: every `stride`-th cell stands for its neighbours, and it rests when a step moves nothing by as much.
struct Fineness {
  std::size_t stride = 1;
  double small_step_mm = 0.01;
};

/// Where the foot comes to rest: the least energy of pressed tissue, load, fastening and toes.
Settled settle(const SettleProblem& problem, const Circumstances& circumstances, const Pose& start, Fineness fineness);

/// Clearance (mm, after the sock) of every `stride`-th cell at a pose; nothing where it is beside no last.
std::vector<std::optional<double>> cell_clearances_mm(const SettleProblem& problem, const Pose& pose,
                                                      std::size_t stride = 1);

Registration as_registration(const SettleProblem& problem, const Pose& pose);

}  // namespace lastroom
