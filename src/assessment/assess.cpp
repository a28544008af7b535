#include "assessment/assess.h"

#include "assessment/corrections.h"
#include "assessment/findings.h"
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

std::string_view operation_name(Operation operation) {
  constexpr std::array<std::string_view, 3> kNames = {"build_up", "take_down", "lengthen"};
  return kNames.at(static_cast<std::size_t>(operation));
}

Assessment assess(const Evidence& evidence, const Rules& rules, const AssessmentSettings& settings,
                  const Settle& settle) {
  Assessment result;
  if (!can_be_judged(evidence)) {
    result.findings = facts_of(evidence, rules, settings);
    result.tightening.why = {"tightening.no_verdict"};
    result.tightening.freedom.assign(evidence.last.mesh.vertices.size(), Freedom::keep);
    return result;
  }
  const Observations seen = observed(evidence);
  Judgement judgement = judgement_of(evidence, seen, rules, settings);
  if (settings.advice) {
    result.tightening = tightening_of(evidence, seen, judgement, rules, settings.wearer);
    result.corrections = corrections_for(evidence, seen, judgement, rules, settings, settle);
  }
  result.verdict = judgement.verdict;
  result.zones = std::move(judgement.zones);
  result.findings = std::move(judgement.findings);
  return result;
}

}  // namespace lastroom
