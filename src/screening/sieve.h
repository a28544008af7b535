#pragma once

#include "screening/margin.h"

namespace lastroom {

/// What the measures alone say about a last before the foot is stood in it: never less than the full check finds. So a
/// last whose best is worse than one that was checked need not be checked.
struct UpperBound {
  double most_margin_mm = 0.0;  ///< the full check's margin is not larger; infinite when the measures find no fault
  std::optional<RuleId> rule;   ///< which rule says so
  bool can_be_clear() const { return most_margin_mm >= 0.0; }
};
UpperBound margin_upper_bound(const Foot& foot, const FootMeasures& foot_measures, const LastMeasures& last,
                              const Rules& rules, const AssessmentSettings& settings, double sock_mm);

}  // namespace lastroom
