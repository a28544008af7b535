#pragma once

#include "assessment/assess.h"
#include "assessment/marked_spots.h"
#include "assessment/standing_out.h"

namespace lastroom {

/// Last less foot and sock, where the foot's tape lies: as the room along it tells (none where that is beside no last),
/// and as a tape around the last there does.
struct GirthAlong {
  std::optional<double> by_room_mm, by_tape_mm;
};

/// What there is to see of a foot in a last, each fact once; no rule and no wearer is asked. The first of three steps:
/// observing, judging (judgement.h), advising (tightening.h, corrections.h).
struct Observations {
  std::vector<ZoneClearance> zones;
  std::vector<WorstPatch> patches;
  std::vector<Zone> not_measured;
  std::vector<PosedSpot> marked_spots;  ///< in the order of `foot.landmarks.never_press`
  StandingOut standing_out;
  GirthAlong joint_girth, waist_girth, instep_girth;
  Vec3 first_joint_mm = Vec3::Zero(), fifth_joint_mm = Vec3::Zero();  ///< the foot's, as it stands in the last
};
Observations observed(const Evidence& evidence);

}  // namespace lastroom
