#include "assessment/assess.h"

#include "assessment/corrections.h"
#include "assessment/findings.h"
#include "assessment/judge.h"
#include "assessment/tightening.h"

namespace lastroom {

std::string_view verdict_name(Verdict verdict) {
  switch (verdict) {
    case Verdict::clear:
      return "clear";
    case Verdict::slack:
      return "slack";
    case Verdict::watch:
      return "watch";
    case Verdict::pinch:
      return "pinch";
    case Verdict::none:
      return "none";
  }
  return "";
}

std::string_view freedom_name(Freedom freedom) {
  switch (freedom) {
    case Freedom::may_tighten:
      return "may_tighten";
    case Freedom::keep:
      return "keep";
    case Freedom::never_press:
      return "never_press";
    case Freedom::free_to_style:
      return "free_to_style";
  }
  return "";
}

Assessment assess(const Evidence& evidence, const Rules& rules, const AssessmentSettings& settings) {
  Assessment result;
  if (!can_be_judged(evidence)) {
    result.findings = findings_of(evidence, {}, rules, settings);
    result.tightening.why = {"tightening.no_verdict"};
    result.tightening.freedom.assign(evidence.last.mesh.vertices.size(), Freedom::keep);
    return result;
  }
  result.zones = judged_zones(by_zone(evidence.clearance, evidence.skin), rules, settings.wearer);
  for (ZoneVerdict& zone : result.zones)
    zone.area_below_limit_mm2 = area_below_mm2(evidence.clearance, evidence.skin, zone.clearance.zone, zone.limit_mm);
  result.findings = findings_of(evidence, result.zones, rules, settings);
  result.verdict = overall(result.zones, result.findings);
  result.tightening = tightening_of(evidence, result.zones, result.findings, rules, settings);
  result.corrections = corrections_for(evidence, result.zones, result.findings, rules, settings);
  return result;
}

}  // namespace lastroom
