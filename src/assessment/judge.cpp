#include "assessment/judge.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lastroom {
namespace {

// Between these chances of a pinch the measurement can't decide.
constexpr double kSurelyNot = 0.2, kSurely = 0.8;
constexpr double kDoubtsAway = 0.8416212335729143;  // a normal variable lies beyond it with a chance of 0.2

double chance_below(double limit_mm, double value_mm, double sigma_mm) {
  if (sigma_mm <= 0.0) return value_mm < limit_mm ? 1.0 : 0.0;
  return 0.5 * std::erfc((value_mm - limit_mm) / (sigma_mm * std::numbers::sqrt2));
}

}  // namespace

Judged judged(double room_mm, double loosest_mm, double sigma_mm, const Limits& limits) {
  Judged result;
  result.chance_of_pinch = chance_below(limits.pinch_below_mm, room_mm, sigma_mm);
  if (result.chance_of_pinch > kSurely) {
    result.verdict = Verdict::pinch;
  } else if (!(result.chance_of_pinch <= kSurelyNot)) {  // also when it is no number
    result.verdict = Verdict::watch;
    result.undecided = true;
  } else if (room_mm < limits.watch_below_mm) {
    result.verdict = Verdict::watch;
  } else if (limits.slack_above_mm && loosest_mm > *limits.slack_above_mm) {
    result.verdict = Verdict::slack;
  }
  return result;
}

double clear_from_mm(double sigma_mm, const Limits& limits) {
  constexpr double kRounding = 1e-6;  // so that the room it names is itself judged clear
  return std::max(limits.watch_below_mm, limits.pinch_below_mm + kDoubtsAway * sigma_mm) + kRounding;
}

std::vector<ZoneVerdict> judged_zones(const std::vector<ZoneClearance>& zones, const Rules& rules, Wearer wearer) {
  std::vector<ZoneVerdict> result;
  for (const ZoneClearance& zone : zones) {
    const Limits& limits = limits_for(rule_by(rules, rule_of(zone.zone)), wearer);
    const Judged found = judged(zone.p05_mm, zone.median_mm, zone.sigma_mm, limits);
    ZoneVerdict verdict;
    verdict.clearance = zone;
    verdict.verdict = found.verdict;
    verdict.undecided = found.undecided;
    verdict.limit_mm = limits.pinch_below_mm;
    verdict.chance_of_pinch = found.chance_of_pinch;
    result.push_back(verdict);
  }
  return result;
}

Verdict overall(const std::vector<ZoneVerdict>& zones, const std::vector<Finding>& findings) {
  Verdict worst = Verdict::clear;
  for (const ZoneVerdict& zone : zones) worst = std::max(worst, zone.verdict);
  for (const Finding& finding : findings) worst = std::max(worst, finding.verdict);
  return worst == Verdict::slack ? Verdict::watch : worst;
}

}  // namespace lastroom
