#pragma once

#include "assessment/assess.h"

namespace lastroom {

/// What to build up and take down, the last with it done, and that last judged again. `mesh` is empty when there is
/// nothing to change; then `zones_after` is empty as well and `verdict_after` is none.
Corrections corrections_for(const Evidence& evidence, const std::vector<ZoneVerdict>& zones,
                            const std::vector<Finding>& findings, const Rules& rules,
                            const AssessmentSettings& settings);

}  // namespace lastroom
