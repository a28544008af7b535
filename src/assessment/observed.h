#pragma once

#include "assessment/assess.h"
#include "assessment/marked_spots.h"
#include "assessment/standing_out.h"

namespace lastroom {

/// What there is to see of a foot in a last, each fact once; no rule and no wearer is asked. The first of three steps:
/// observing, judging (judgement.h), advising (tightening.h, corrections.h).
struct Observations {
  std::vector<ZoneClearance> zones;
  std::vector<WorstPatch> patches;
  std::vector<Zone> not_measured;
  std::vector<PosedSpot> marked_spots;  ///< in the order of `foot.landmarks.never_press`
  StandingOut standing_out;
  /// Last less foot and sock, as the room along the foot's tape tells; none where that is beside no last.
  std::optional<double> joint_girth_by_room_mm, waist_girth_by_room_mm, instep_girth_by_room_mm;
  Vec3 first_joint_mm = Vec3::Zero(), fifth_joint_mm = Vec3::Zero();  ///< the foot's, as it stands in the last
};
Observations observed(const Evidence& evidence);

}  // namespace lastroom
