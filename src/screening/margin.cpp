#include "screening/margin.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "assessment/judge.h"

namespace lastroom {
namespace {

/// How far a room is from where it stops being judged clear.
double room_margin_mm(const Limits& limits, double room_mm, double loosest_mm, double sigma_mm) {
  const double tight = room_mm - clear_from_mm(sigma_mm, limits);
  return limits.slack_above_mm ? std::min(tight, *limits.slack_above_mm - loosest_mm) : tight;
}

}  // namespace

std::optional<double> difference_margin_mm(const Rule& rule, Wearer wearer, double difference_mm) {
  const std::optional<double> limit = limits_for(rule, wearer).watch_above_mm;
  const Ranking ranking = traits_of(rule.id).ranking;
  if (!limit || ranking == Ranking::none) return std::nullopt;
  return (*limit - std::abs(difference_mm)) / (ranking == Ranking::as_girth ? 2.0 * std::numbers::pi : 1.0);
}

Margin margin_of(const Assessment& assessment, const Rules& rules, Wearer wearer) {
  Margin least{std::numeric_limits<double>::infinity(), {}};
  const auto consider = [&](double mm, RuleId rule) {
    if (mm < least.mm) least = {mm, rule};
  };
  for (const ZoneVerdict& zone : assessment.zones) {
    const ZoneClearance& c = zone.clearance;
    const Rule& rule = rule_by(rules, rule_of(c.zone));
    consider(room_margin_mm(limits_for(rule, wearer), c.p05_mm, c.median_mm, c.sigma_mm), rule.id);
  }
  for (const Finding& finding : assessment.findings) {  // these hold what is beyond its limit
    if (!finding.measured_mm) continue;
    const Rule& rule = rule_by(rules, finding.rule);
    const double mm = *finding.measured_mm;
    if (traits_of(rule.id).kind == RuleKind::room)
      consider(room_margin_mm(limits_for(rule, wearer), mm, mm, finding.sigma_mm.value_or(0.0)), rule.id);
    if (traits_of(rule.id).kind == RuleKind::difference)
      if (const std::optional<double> margin = difference_margin_mm(rule, wearer, mm)) consider(*margin, rule.id);
  }
  return least;
}

}  // namespace lastroom
