#pragma once

#include "preparation/foot.h"

namespace lastroom {

struct StandingOut {
  double inside_mm = 0.0, outside_mm = 0.0;  ///< of the line of the foot's side; scaled to a foot of 250 mm
};
/// How bony the joints are: the joint's outline against the chord between a tenth of the foot's length behind and
/// before it.
StandingOut standing_out(const Foot& foot);

}  // namespace lastroom
