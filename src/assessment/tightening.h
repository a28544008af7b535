#pragma once

#include "assessment/judgement.h"

namespace lastroom {

/// The four-class map, and how far the joint may be pulled in.
Tightening tightening_of(const Evidence& evidence, const Observations& seen, const Judgement& judgement,
                         const Rules& rules, Wearer wearer);

/// Room of every zone that the pull-in touches, with both joint sides of the last moved in by `inward_mm` and the bones
/// following. A side whose joint stands out stays as it is. Before: `inward_mm` = 0.
std::vector<ZoneClearance> with_joint_pulled_in(const Evidence& evidence, double inward_mm, bool inside, bool outside);

/// The gaps between the toes' ends, with both joint sides moved in.
std::vector<Tightening::ToeGap> toe_gaps_with_joint_pulled_in(const Evidence& evidence, double inward_mm);

}  // namespace lastroom
