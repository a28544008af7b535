#include "assessment/observed.h"

namespace lastroom {

Observations observed(const Evidence& e) {
  const double length_mm = e.foot_measures.length_mm;
  const PosedFoot posed(e.foot.landmarks, length_mm, e.registration);
  Observations seen;
  seen.zones = by_zone(e.clearance, e.skin);
  seen.not_measured = zones_not_measured(e.clearance, e.skin, length_mm);
  seen.marked_spots = posed_spots(e.foot, e.skin, e.clearance);
  seen.standing_out = standing_out(e.foot, length_mm);
  seen.first_joint_mm = posed(e.foot.landmarks.first_joint);
  seen.fifth_joint_mm = posed(e.foot.landmarks.fifth_joint);
  return seen;
}

}  // namespace lastroom
