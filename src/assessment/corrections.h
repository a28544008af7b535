#pragma once

#include "assessment/judgement.h"

namespace lastroom {

/// What to build up and take down, the last with it done, and that last judged again. `mesh` is empty when there is
/// nothing to change; then `zones_after` is empty as well and `verdict_after` is none.
Corrections corrections_for(const Evidence& evidence, const Observations& seen, const Judgement& judgement,
                            const Rules& rules, const AssessmentSettings& settings);

}  // namespace lastroom
