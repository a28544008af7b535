#pragma once

#include "assessment/observed.h"

namespace lastroom {

/// Whether a verdict may be built on this evidence at all: the pose is determined, and both are of one side.
bool can_be_judged(const Evidence& evidence);

/// Everything that a rule has something to say about, gravest first.
std::vector<Finding> findings_of(const Evidence& evidence, const Observations& seen,
                                 const std::vector<ZoneVerdict>& zones, const Rules& rules,
                                 const AssessmentSettings& settings);
/// What is said without a verdict too: of the pose, the side, the scan, the wearer.
std::vector<Finding> facts_of(const Evidence& evidence, const Rules& rules, const AssessmentSettings& settings);

}  // namespace lastroom
