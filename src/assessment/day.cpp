#include "assessment/day.h"

#include <algorithm>

#include "assessment/findings.h"
#include "assessment/judgement.h"
#include "clearance/toe_box.h"

namespace lastroom {
namespace {

/// The volume under the skin, closed by a level at its top.
double volume_to_top_mm3(const Mesh& foot) {
  const Box box = bounds(foot);
  const Vec3 apex(0.5 * (box.low.x() + box.high.x()), 0.5 * (box.low.y() + box.high.y()), box.high.z());
  double six_volumes = 0.0;
  for (const Triangle& t : foot.triangles) {
    const Vec3 a = foot.vertices[t[0]] - apex, b = foot.vertices[t[1]] - apex, c = foot.vertices[t[2]] - apex;
    six_volumes += a.dot(b.cross(c));
  }
  return six_volumes / 6.0;
}

/// What is told of a foot so judged: the verdict, and the gravest about a place.
void tell(Verdict verdict, const std::vector<Finding>& findings, FootAtATime& at) {
  at.verdict = verdict;
  const auto about_a_place = [](const Finding& finding) {
    const RuleKind kind = traits_of(finding.rule).kind;
    return finding.verdict != Verdict::clear && (kind == RuleKind::zone || kind == RuleKind::room);
  };
  if (const auto worst = std::ranges::find_if(findings, about_a_place); worst != findings.end()) at.worst = *worst;
}

/// `field`: as_judged's, grown by at.grown_mm.
void judge(const Evidence& as_judged, const ToeBox& box, ClearanceField& field, const Rules& rules,
           const AssessmentSettings& settings, FootAtATime& at) {
  const ToeRoom toes = toe_room(as_judged.foot, as_judged.skin, field, box);
  field.sock_mm = as_judged.clearance.sock_mm + at.grown_mm;  // girths are longer by as much all round
  const Evidence evidence{as_judged.foot,
                          as_judged.last,
                          as_judged.foot_measures,
                          as_judged.last_measures,
                          as_judged.skin,
                          as_judged.registration,
                          field,
                          toes,
                          as_judged.last_surface};
  const Judgement judgement = judgement_of(evidence, observed(evidence), rules, settings);
  tell(judgement.verdict, judgement.findings, at);
}

Message place_of(const Finding& finding) {
  return finding.zone ? Message{"zone." + std::string(zone_name(*finding.zone))}
                      : Message{"rule." + std::string(rule_name(finding.rule))};
}

Verdict at_its_worst(const FootAtATime& at) { return at.worst ? at.worst->verdict : Verdict::clear; }

/// That it fits is said of a wearer who feels a pinch, and of no other.
Message sentence_of(const Day& day, Wearer wearer) {
  const FootAtATime &morning = day.times[0], &late = day.times[3], &swollen_most = day.times.back();
  // Room that is short is not pressing: its own words.
  const auto about = [](const std::string& key, const FootAtATime& at) {
    return Message{at.worst->zone ? key : key + "_room", {{"place", place_of(*at.worst)}}};
  };
  const Verdict before = at_its_worst(morning), after = at_its_worst(late);
  const bool fits = before < Verdict::watch && wearer == Wearer::standard;
  if (before == Verdict::pinch) return about("day.pinches_all_day", morning);
  if (after == Verdict::pinch) return about(fits ? "day.fits_then_pinches" : "day.pinches_late", late);
  if (at_its_worst(swollen_most) == Verdict::pinch) return about("day.pinches_at_most", swollen_most);
  if (after == Verdict::watch && before != Verdict::watch)
    return about(fits ? "day.fits_then_watch" : "day.watch_late", late);
  return {"day.same"};
}

}  // namespace

double swelling_mm(const Mesh& foot, double ratio) { return ratio * volume_to_top_mm3(foot) / area_mm2(foot); }

void grow(const ClearanceField& from, double mm, ClearanceField& into) {
  const Vec3 forward_and_up = from.last_from_fore.col(0) + from.last_from_fore.col(2);
  for (std::size_t i = 0; i < from.skin_mm.size(); ++i) {
    const Vec3& normal = from.skin_normal[i];
    into.skin_mm[i] = from.skin_mm[i] + mm * (normal + forward_and_up);
    into.clearance_mm[i] = from.clearance_mm[i] - mm * (1.0 + normal.dot(forward_and_up));
  }
}

std::optional<Day> day_in_the_shoe(const Evidence& evidence, const Assessment& assessment, const Rules& rules,
                                   const AssessmentSettings& settings) {
  if (!can_be_judged(evidence) || evidence.foot.sole_missing) return std::nullopt;
  Day day;
  const double usual_sock_mm = evidence.clearance.sock_mm;
  const auto at = [&](double swelling_ratio, double swollen_mm, double sock_mm) {
    day.times.push_back({swelling_ratio, sock_mm, swollen_mm + sock_mm - usual_sock_mm, Verdict::none, {}});
  };
  const double swelling_by_ratio_mm = swelling_mm(evidence.foot.mesh, 1.0);
  for (const double swelling_ratio : {0.0, kSwells}) {
    const double swollen_mm = swelling_ratio * swelling_by_ratio_mm;
    for (const double sock_mm : {usual_sock_mm, kThinSock_mm, kThickSock_mm}) at(swelling_ratio, swollen_mm, sock_mm);
  }
  for (const double swelling_ratio : {kSwellsLeast, kSwellsMost})
    at(swelling_ratio, swelling_ratio * swelling_by_ratio_mm, usual_sock_mm);
  // One after the other in one field, which is as large as the scan.
  ClearanceField field = evidence.clearance;
  const ToeBox box(evidence.last, evidence.clearance, evidence.skin);
  for (FootAtATime& time : day.times) {
    if (time.grown_mm == 0.0) {  // the foot and the sock that were judged
      tell(assessment.verdict, assessment.findings, time);
      continue;
    }
    grow(evidence.clearance, time.grown_mm, field);
    field.sock_mm = usual_sock_mm;
    judge(evidence, box, field, rules, settings, time);
  }
  day.sentence = sentence_of(day, settings.wearer);
  return day;
}

}  // namespace lastroom
