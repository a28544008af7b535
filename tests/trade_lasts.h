#pragma once

#include "demo/make_last.h"
#include "measurement/measure.h"
#include "truth_cases.h"

namespace lastroom::test {

/// A last in the trade's own numbers; nothing of a foot's surface. Lengths run along the bottom from the rearmost
/// point.
struct TradeNumbers {
  double length_mm = 280.0;  ///< standard last length with the heel's bulge
  double heel_to_first_joint_mm = 190.0, heel_to_fifth_joint_mm = 163.0;
  double joint_girth_mm = 245.0, waist_girth_mm = 240.0, instep_girth_mm = 250.0;
  double joint_width_mm = 97.0, heel_width_mm = 66.0;
  double heel_height_mm = 25.0, toe_spring_mm = 8.0;
  ToeStyle toe = ToeStyle::round;
  double toe_height_mm = 28.0;     ///< where the toes are highest
  double recede_mm = 35.0;         ///< length over which the top comes down
  double swing_mm = 3.0;           ///< how far the toe's end lies to the inside of the line from heel to tread
  double joint_to_inside = 0.0;    ///< share of the joint's width by which it lies to the inside of that line
  double arch_mm = 8.0;            ///< how far the bottom is hollowed under the inside waist
  double crown_mm = 1.5;           ///< how far the bottom's middle lies below its edge
  double bottom_ratio = 0.84;      ///< bottom's width by the last's own, at the joint
  double bend_mm = 55.0;           ///< length over which the shank's slope runs out into the tread
  double ridge_lean_mm = 16.0;     ///< how far the ridge lies to the inside
  double clip_mm = 8.0;            ///< how far the back leans in above the heel
  double seat_pitch_ratio = 0.95;  ///< slope of the seat by the slope from seat to tread
  double cone_height_mm = 85.0;    ///< of the cut above the seat
  bool open_at_top = true;
};

/// A last made for a foot from its tape numbers alone, with the differences that the trade makes (common practice, no
/// source; ranges our own) and errors of its maker.
TradeNumbers made_to_measure(const FootMeasures& foot, Dice& dice);

/// Grading: 6.667 mm of length a Paris point (ISO/TS 19407); a width fitting 4 to 7 mm of girth (Rossi 2000: 6.35;
/// review of footwear width for people at risk: 4 to 7).
struct Grading {
  double size_mm = 20.0 / 3.0;
  double girth_per_size_mm = 5.0;  ///< common practice, no source
  double fitting_mm = 6.35;
};
TradeNumbers graded(TradeNumbers base, const Grading& grading, int sizes, int fittings);

struct TradeLast {
  MadeLast made;                  ///< without a truth for any foot
  std::vector<std::uint8_t> cut;  ///< one per triangle: 1 on the flat cut top
};
TradeLast trade_last(const TradeNumbers& numbers, double edge_mm = 2.5);

}  // namespace lastroom::test
