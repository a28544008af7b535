#pragma once

#include "assessment/assess.h"

namespace lastroom {

/// So far around a point that the maker marked, no press: a coin's breadth. Our choice.
constexpr double kSpotRadiusMm = 12.0;

/// A marked spot where it stands in the last.
struct PosedSpot {
  std::uint32_t vertex = 0;           ///< of foot.mesh, at the mark
  std::vector<std::uint32_t> around;  ///< judged skin within the radius that faces the same way
  std::optional<ZoneClearance> room;  ///< over that skin; none when none of it is judged (above the top edge, a web)
};

/// In the order of `foot.landmarks.never_press`.
std::vector<PosedSpot> posed_spots(const Foot& foot, const SkinMap& skin, const ClearanceField& field);

}  // namespace lastroom
