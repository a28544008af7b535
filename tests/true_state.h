#pragma once

#include "stand.h"
#include "standing_cases.h"

namespace lastroom::test {

/// A pair is told harmless, and a fault is told there, when it is so by this much: our choice.
constexpr double kSure_mm = 1.2;

/// What there truly is to measure where a foot settles by the tests' own solver: the zones' room by the tests' own
/// distance, patches and toes by the program's, on the unspoiled foot.
struct TrueState {
  std::vector<Vec3> skin_mm;  ///< as posed
  Walls walls;                ///< around it
  std::map<Zone, TrueRoom> zones;
  std::vector<WorstPatch> patches;
  ToeRoom toes;
  double heel_to_joint_mm = 0.0;  ///< last less foot, between the joints as made
};
/// `skin` is that of `standing.foot`.
TrueState true_state(const StandingCase& standing, const SkinMap& skin);

/// One truth against the built-in limits for a wearer who feels a pinch.
struct Margin {
  RuleId rule = RuleId::toe_room;
  std::optional<Zone> zone;
  double mm = 0.0;           ///< what was measured: a zone's median where that is nearer to its limit
  double inside_mm = 0.0;    ///< of the limits to watch and to slack, whichever is nearer
  double pressed_mm = -1e9;  ///< beyond the limit to pinch, where there is one
};
std::vector<Margin> margins(const TrueState& state);

const Limits& limits_of(RuleId rule);

enum class Truth { harmless, between, bad };
/// Harmless: every zone and measure is kSure_mm and more inside its limits. Bad: a zone is pressed by that much beyond
/// its own.
Truth truth_of(const std::vector<Margin>& margins);

}  // namespace lastroom::test
