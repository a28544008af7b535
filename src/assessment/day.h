#pragma once

#include "assessment/assess.h"

namespace lastroom {

/// A foot's volume late in the day over that of the morning, less 1: 1.4 to 5.7 % (PMC2953309; doi
/// 10.1007/BF00417985).
constexpr double kSwellsLeast = 0.014, kSwellsMost = 0.057, kSwells = 0.5 * (kSwellsLeast + kSwellsMost);
/// Our choice.
constexpr double kThinSock_mm = 0.5, kThickSock_mm = 2.5;

/// How far the skin moves outwards when the foot's volume grows by `ratio` and its skin stays as large: ratio x volume
/// / area of the scan, a foot and some ankle. The scan is open where it was cut: its volume is that of the cone over
/// its skin from the middle of its highest level.
double swelling_mm(const Mesh& foot, double ratio);

/// Skin and room `into` those of a foot whose skin lies `mm` further out all over than `from`, by swelling or by sock,
/// without settling it again: its sole stays on the bottom and its heel at the back, so every point moves by mm
/// (normal + forward + up), and the room shrinks by mm (1 + n_forward + n_up), to first order. Both of one foot.
void grow(const ClearanceField& from, double mm, ClearanceField& into);

/// What is judged of the foot at one time in one sock.
struct FootAtATime {
  double swelling_ratio = 0.0, sock_mm = 0.0;
  double grown_mm = 0.0;  ///< against the foot and the sock that the report is about
  Verdict verdict = Verdict::none;
  std::optional<Finding> worst;  ///< the gravest about a place; none when all are clear
};

/// A day in the shoe. The scan is taken for the foot of the morning, so that late in the day it is larger.
struct Day {
  /// Morning and late, each in the sock of the report, a thin and a thick one; then late in the sock of the report for
  /// the least and the most that feet swell.
  std::vector<FootAtATime> times;
  Message sentence;  ///< what the day changes, in the sock of the report
};
/// `assessment`: of this evidence. None when the foot can't be judged, or its sole was not scanned and so its volume is
/// not known.
std::optional<Day> day_in_the_shoe(const Evidence& evidence, const Assessment& assessment, const Rules& rules,
                                   const AssessmentSettings& settings);

}  // namespace lastroom
