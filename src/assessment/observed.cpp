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
  const auto along = [&](const Girth& tape) {
    return GirthAlong{girth_by_room_mm(tape, e), girth_by_tape_mm(tape, e)};
  };
  seen.joint_girth = along(e.foot_measures.joint_girth);
  seen.waist_girth = along(e.foot_measures.waist_girth);
  seen.instep_girth = along(e.foot_measures.instep_girth);
  seen.first_joint_mm = posed(e.foot.landmarks.first_joint);
  seen.fifth_joint_mm = posed(e.foot.landmarks.fifth_joint);
  return seen;
}

}  // namespace lastroom
