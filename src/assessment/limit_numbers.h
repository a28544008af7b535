#pragma once

// Private to assessment: a rule's limits as numbers with their names in the XML, and which are laxer than others.

#include <map>
#include <string>
#include <vector>

#include "assessment/rules.h"

namespace lastroom {

std::map<std::string, double> numbers_of(const Limits& limits, RuleKind kind);

/// The names of the numbers of `theirs` that `mine` lets more pass by: too little is called later, too much later or
/// never.
std::vector<std::string> laxer_limits(const Limits& mine, const Limits& theirs, RuleKind kind);

}  // namespace lastroom
