#pragma once

#include "assessment/judgement.h"

namespace lastroom {

/// Where on the last the maker's marked spots and the bony points lie: kSpotRadiusMm around each is never pressed.
std::vector<Vec3> spared_places(const Evidence& evidence, const Observations& seen, const BonyPoints& bony);

/// One class per vertex of the last. May tighten only for a wearer who feels a pinch.
std::vector<Freedom> freedom_map(const Evidence& evidence, const Observations& seen, const BonyPoints& bony,
                                 const Rules& rules, Wearer wearer);

}  // namespace lastroom
