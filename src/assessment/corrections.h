#pragma once

#include "assessment/judgement.h"

namespace lastroom {

/// The fewest changes after which nothing pinches and nothing is worse by more than its doubt. `settle`: where the foot
/// stands in a changed last.
Corrections corrections_for(const Evidence& evidence, const Observations& seen, const Judgement& judgement,
                            const Rules& rules, const AssessmentSettings& settings, const Settle& settle);

}  // namespace lastroom
