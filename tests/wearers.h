#pragma once

#include "assessment/assess.h"

namespace lastroom::test {

/// Nobody asked is `unknown`; most tests ask.
inline AssessmentSettings told(Wearer wearer) {
  AssessmentSettings settings;
  settings.wearer = wearer;
  return settings;
}

}  // namespace lastroom::test
