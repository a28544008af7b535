#pragma once

#include "true_state.h"

namespace lastroom::test {

/// A place of a last's surface that is to be moved along its normal, out of the last when positive.
struct Push {
  Vec3 at_mm = Vec3::Zero();
  double mm = 0.0, area_mm2 = 0.0;
};
/// Moves every vertex by the mean of the pushes around it, weighted by area and by a Gaussian of `spread_mm`; fades
/// where there are none. A cut top stays as high as it is.
Mesh pushed(const LastWall& last, const std::vector<Push>& pushes, double spread_mm = 4.5);
/// The toe of the last further ahead by `mm`, more and more from the joint to its end.
MadeLast with_longer_toe(MadeLast last, double mm);
/// The whole last as long, along x, as this many times itself.
MadeLast stretched(MadeLast last, double ratio);

/// The same foot in the same last of another surface (triangles as they were), settled again under one draw of the
/// physics a pair, fastened lightly: 20 to 30 N of the range to 60, for more presses every heel to within 1.2 mm of its
/// limit to watch, whatever the last.
StandingCase in_reshaped(const StandingCase& standing, MadeLast last);

struct MadeHarmless {
  std::optional<StandingCase> pair;  ///< none when it was dropped
  TrueState state;                   ///< where the foot settles in it
  double moved_mm = 0.0;  ///< how far the last's surface was moved, root mean square over what stands by skin
  std::string dropped;    ///< what was still not harmless
};
/// Reshapes the last where it is not harmless, and settles the foot again, until it is; or drops it.
MadeHarmless made_harmless(const StandingCase& standing, const SkinMap& skin);

}  // namespace lastroom::test
