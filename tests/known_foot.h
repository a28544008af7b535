#pragma once

#include <functional>

#include "truth_cases.h"

namespace lastroom::test {

/// A bare foot about which everything is known by construction: right form, about in the foot frame, mm. Warps move its
/// skin and carry the truth along; which vertex is on which toe never changes.
struct KnownFoot {
  Mesh skin;
  std::vector<std::uint8_t> toe;  ///< one per vertex: 0 big toe .. 4, or kNoToe
  std::vector<double> share;      ///< one per vertex: 0 where the toe parts from its neighbours .. 1 at its tip
  Vec3 heel = Vec3::Zero(), first_joint = Vec3::Zero(), fifth_joint = Vec3::Zero();
  std::array<Vec3, 5> toe_tips, toe_roots;
  std::array<bool, 5> toe_there = {true, true, true, true, true};
  bool first_joint_there = true, fifth_joint_there = true;
  bool overlaps = false;  ///< toes may lie in each other: a scan shows their outside only
};
constexpr std::uint8_t kNoToe = 5;

/// Labels the skin of a foot whose five toes stand apart.
KnownFoot known(const MadeFoot& foot);

/// A foot of random shape; `body` is ignored by our own generator. Sources: demo/make_foot, and MakeHuman's body with
/// random sex, age, origin, weight and foot proportions (its own targets).
enum class BodyAge { grown_up, child };
KnownFoot random_foot(FootSource source, BodyAge age, Dice& dice);

void warp(KnownFoot& foot, const std::function<Vec3(const Vec3&)>& move);
/// Moves one toe; `move` gets a point of it, and its share.
void warp_toe(KnownFoot& foot, std::size_t toe, const std::function<Vec3(const Vec3&, double)>& move);
/// From a toe's root to its tip, level, unit.
Vec3 toe_direction(const KnownFoot& foot, std::size_t toe);
/// Takes the tips anew as the foremost skin of each toe, the heel as the rearmost skin.
void settle_extremes(KnownFoot& foot);
/// Heel to the longest toe along the axis from the heel to the second toe.
double known_length_mm(const KnownFoot& foot);

double smooth_step(double from, double to, double x);  ///< 0 .. 1

}  // namespace lastroom::test
