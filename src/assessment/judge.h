#pragma once

#include "assessment/assess.h"

namespace lastroom {

struct Judged {
  Verdict verdict = Verdict::clear;
  bool undecided = false;
  double chance_of_pinch = 0.0;
};

/// A room against its limits, with its doubt (one standard deviation) as a normal distribution. `loosest_mm` is what
/// `slack_above` is held against: a zone's median, or the room itself.
Judged judged(double room_mm, double loosest_mm, double sigma_mm, const Limits& limits);

/// The least room that is judged clear.
double clear_from_mm(double sigma_mm, const Limits& limits);

std::vector<ZoneVerdict> judged_zones(const std::vector<ZoneClearance>& zones, const Rules& rules, Wearer wearer);

/// Worst of the verdicts; slack weighs as watch over all.
Verdict overall(const std::vector<ZoneVerdict>& zones, const std::vector<Finding>& findings);

}  // namespace lastroom
