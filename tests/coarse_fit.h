#pragma once

#include "planted.h"

namespace lastroom::test {

/// A pair that fits: the made foot in the made last of usual rooms, meshed as coarsely as the laws allow.
inline FootShape coarse_foot() {
  FootShape shape;
  shape.edge_mm = 3.0;
  return shape;
}

inline LastShape coarse_last() {
  LastShape shape;
  shape.edge_mm = 3.5;
  shape.toe = ToeStyle::squared;
  return shape;
}

inline const MadeFoot& the_foot() {
  static const MadeFoot foot = make_foot(coarse_foot());
  return foot;
}

inline const Stand& the_fit() {
  static const Stand fit = stand(the_foot(), coarse_foot().length_mm, coarse_last());
  return fit;
}

inline const ZoneClearance* zone_of(const std::vector<ZoneVerdict>& zones, Zone zone) {
  for (const ZoneVerdict& z : zones)
    if (z.clearance.zone == zone) return &z.clearance;
  return nullptr;
}

}  // namespace lastroom::test
