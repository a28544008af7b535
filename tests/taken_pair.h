#pragma once

#include <functional>

#include "standing_cases.h"

namespace lastroom::test {

/// Foot and last as the program takes them from a scanner's dirty files, and where their points lie in the made ones.
struct TakenPair {
  Foot foot;
  Last last;
  std::string kind_of_scan = "perfect";
  double scan_error_mm = 0.0;
  std::function<Vec3(const Vec3&)> foot_from_made, made_from_last;
};
TakenPair taken_pair(const StandingCase& standing, unsigned seed);
/// With another last; the foot's scan is the same (the same seed) and is not prepared again.
TakenPair taken_pair(const StandingCase& standing, unsigned seed, const TakenPair& same_foot);
/// As if prepared without error.
TakenPair perfect_pair(const StandingCase& standing);

}  // namespace lastroom::test
