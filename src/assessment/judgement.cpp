#include "assessment/judgement.h"

#include "assessment/findings.h"
#include "assessment/judge.h"

namespace lastroom {

BonyPoints bony_points(const StandingOut& found, const Rules& rules, Wearer wearer) {
  const std::optional<double> limit = limits_for(rule_by(rules, RuleId::bony_point), wearer).watch_above_mm;
  if (!limit) return {};
  return {found.inside_mm > *limit, found.outside_mm > *limit};
}

Judgement judgement_of(const Evidence& evidence, const Observations& seen, const Rules& rules,
                       const AssessmentSettings& settings) {
  Judgement result;
  result.zones = judged_zones(seen.zones, rules, settings.wearer);
  for (ZoneVerdict& zone : result.zones)
    zone.area_below_limit_mm2 = area_below_mm2(evidence.clearance, evidence.skin, zone.clearance.zone, zone.limit_mm);
  result.findings = findings_of(evidence, seen, result.zones, rules, settings);
  result.bony = bony_points(seen.standing_out, rules, settings.wearer);
  result.verdict = overall(result.zones, result.findings);
  return result;
}

}  // namespace lastroom
