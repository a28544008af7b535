#pragma once

#include <string>

#include "standing_cases.h"

namespace lastroom::test {

/// Foot and last cut lengthwise and across at heel, instep, joint and toes; the foot at the truth and, if given, as
/// found (skin in the made last's frame). An SVG of its own, for eyes only.
std::string standing_picture(const StandingCase& standing, const std::vector<Vec3>* found_mm);

}  // namespace lastroom::test
