#pragma once

#include <map>

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
/// `more_girth_mm`: by so much wider in every girth than the trade's numbers ask for, as one who wants room takes it.
/// `others`: further draws of the physics.
StandingCase standing_case(LastFamily family, unsigned seed, double more_girth_mm = 0.0, int others = 0);

/// The wall nearest to each place of skin, by the tests' own distance; none of skin without a zone, nearest to the cut
/// or above the top.
using Walls = std::vector<std::optional<LastWall::Nearest>>;
Walls walls_around(const LastWall& wall, const SkinMap& skin, const std::vector<Vec3>& at_mm);

/// Room of a zone's skin, by area. Which skin is a zone's is a definition, and the program's (`map_skin`, of a foot
/// about which everything is known; zones_test.cpp holds it): what is measured there is not.
struct TrueRoom {
  double p05_mm = 0.0, median_mm = 0.0;
};
std::map<Zone, TrueRoom> true_rooms(const Mesh& foot, const SkinMap& skin, const Walls& walls);

/// Root mean square displacement by area of the skin that has a zone, and its mean, behind and before the joint line.
struct Displacement {
  double rear_rms_mm = 0.0, fore_rms_mm = 0.0;
  Vec3 rear_mean_mm = Vec3::Zero();
};
Displacement displacement(const Foot& foot, const SkinMap& skin, const std::vector<Vec3>& truth_mm,
                          const std::vector<Vec3>& found_mm);

}  // namespace lastroom::test
