#pragma once

#include "assessment/assess.h"

namespace lastroom {

/// Whether a verdict may be built on this evidence at all: the pose is determined, and both are of one side.
bool can_be_judged(const Evidence& evidence);

/// Everything that a rule has something to say about, gravest first. Without zone verdicts only the facts.
std::vector<Finding> findings_of(const Evidence& evidence, const std::vector<ZoneVerdict>& zones, const Rules& rules,
                                 const AssessmentSettings& settings);

}  // namespace lastroom
