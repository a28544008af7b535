#pragma once

#include "assessment/assess.h"

namespace lastroom {

struct StandingOut {
  double inside_mm = 0.0, outside_mm = 0.0;  ///< of the line of the foot's side; scaled to a foot of 250 mm
};
/// Bony points: the joint's outline against the chord between a tenth of the foot's length behind and before it.
StandingOut standing_out(const Foot& foot, double foot_length_mm);

struct BonyPoints {
  bool inside = false, outside = false;
};
BonyPoints bony_points(const Evidence& evidence, const Rules& rules, Wearer wearer);

/// Where on the last the maker's marked spots and the bony points lie: kSpotRadiusMm around each is never pressed.
std::vector<Vec3> spared_places(const Evidence& evidence, const Rules& rules, Wearer wearer);

/// One class per vertex of the last. May tighten only for a wearer who feels a pinch.
std::vector<Freedom> freedom_map(const Evidence& evidence, const Rules& rules, Wearer wearer);

}  // namespace lastroom
