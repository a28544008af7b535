#pragma once

#include "settled_truth.h"
#include "trade_lasts.h"

namespace lastroom::test {

/// Where a last comes from. a: lofted around the very foot. b: from its tape numbers alone. c: a stock last, graded.
enum class LastFamily { around_the_foot, from_numbers, graded };

/// A foot, a last, and where the foot stands by the settling solver of the tests.
struct StandingCase {
  TruthCase pair;  ///< its truth is the settled pose
  std::string kind_of_foot, kind_of_last;
  Foot foot;  ///< as prepared without error
  LastWall wall;
  SettledTruth settled;
};
StandingCase standing_case(LastFamily family, unsigned seed);

/// Root mean square displacement by area of the skin that has a zone, and its mean, behind and before the joint line.
struct Displacement {
  double rear_rms_mm = 0.0, fore_rms_mm = 0.0;
  Vec3 rear_mean_mm = Vec3::Zero();
};
Displacement displacement(const Foot& foot, const SkinMap& skin, const std::vector<Vec3>& truth_mm,
                          const std::vector<Vec3>& found_mm);

}  // namespace lastroom::test
