#pragma once

#include "assessment/observed.h"

namespace lastroom {

/// The joints that stand out further than the rules let them.
struct BonyPoints {
  bool inside = false, outside = false;
};
BonyPoints bony_points(const StandingOut& found, const Rules& rules, Wearer wearer);

/// What the rules say of a foot in a last.
struct Judgement {
  std::vector<ZoneVerdict> zones;
  std::vector<Finding> findings;  ///< gravest first
  BonyPoints bony;
  Verdict verdict = Verdict::none;
};
Judgement judgement_of(const Evidence& evidence, const Observations& seen, const Rules& rules,
                       const AssessmentSettings& settings);

}  // namespace lastroom
