#pragma once

#include "assessment/assess.h"

namespace lastroom {

/// One number to rank lasts by: how far inside its limits the rule is that is nearest to them (positive), or how far
/// beyond them the one that is furthest beyond (negative), tight or loose alike. Only rules that look at the last
/// count. A difference of girths counts as the room that it makes all round, 1 / (2 pi) of it.
struct Margin {
  double mm = 0.0;
  std::optional<RuleId> rule;  ///< the one that decides it
};
Margin margin_of(const Assessment& assessment, const Rules& rules, Wearer wearer);

/// The part of a `difference` rule in it; nothing when it is not judged for this wearer.
std::optional<double> difference_margin_mm(const Rule& rule, Wearer wearer, double difference_mm);

}  // namespace lastroom
