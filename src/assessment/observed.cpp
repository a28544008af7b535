#include "assessment/observed.h"

#include "assessment/girth_by_room.h"

namespace lastroom {

Observations observed(const Evidence& e) {
  const PosedFoot posed(e.foot.landmarks, e.registration);
  Observations seen;
  seen.zones = by_zone(e.clearance, e.skin);
  seen.patches = worst_patches(e.clearance, e.skin);
  seen.not_measured = zones_not_measured(e.foot, e.clearance, e.skin);
  seen.marked_spots = posed_spots(e.foot, e.skin, e.clearance);
  seen.standing_out = standing_out(e.foot);
  seen.joint_girth_by_room_mm = girth_by_room_mm(e.foot_measures.joint_girth, e);
  seen.waist_girth_by_room_mm = girth_by_room_mm(e.foot_measures.waist_girth, e);
  seen.instep_girth_by_room_mm = girth_by_room_mm(e.foot_measures.instep_girth, e);
  seen.first_joint_mm = posed(e.foot.landmarks.first_joint);
  seen.fifth_joint_mm = posed(e.foot.landmarks.fifth_joint);
  return seen;
}

}  // namespace lastroom
