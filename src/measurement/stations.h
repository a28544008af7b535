#pragma once

/// Where along a foot or a last things are measured, as a share of foot length from the heel (or of last length less
/// its allowance), so that both are measured at the same places.
namespace lastroom {

constexpr double kHeelWidthStation = 0.16;   ///< A2: heel breadth at 16 % of length (Lee, Lin, Wang 2014)
constexpr double kHeelWidthBelow_mm = 40.0;  ///< our choice: above it the ankles are wider than the heel
constexpr double kInstepStation = 0.55;      ///< our choice: the crest over the cuneiforms, for height and girth
/// The waist is taped midway between joint and instep (D5 puts its girth midway; the place midway is our choice).
constexpr double kWaistBetween = 0.5;
/// Heel to first joint as a share of foot length, mean of ANSUR II's men and women (A1: 0.741 and 0.739). A last's own
/// length says little of its foot (the allowance is a matter of style), its joint does.
constexpr double kHeelToJointPerLength = 0.74;
/// The joint's hinge lies about 6 % of foot length over the sole.
constexpr double kJointHeightRatio = 0.06;
/// A toe's height is taken over its last joint: our choice of where that is behind the tip, as shares of foot length.
constexpr double kBigToeJointBehindTip = 0.11;
constexpr double kFifthToeJointBehindTip = 0.05;
constexpr double kBigToeHalfWidth_mm = 10.0, kFifthToeHalfWidth_mm = 6.0;

}  // namespace lastroom
