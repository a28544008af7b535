#include "lastroom/result.h"

#include "lastroom/inside.h"
#include "report/worn.h"

namespace lastroom_v0 {
namespace {

Verdict verdict_of(lastroom::Verdict verdict) {
  static_assert(static_cast<int>(Verdict::none) == static_cast<int>(lastroom::Verdict::none));
  return static_cast<Verdict>(verdict);
}

Wearer wearer_of(lastroom::Wearer wearer) {
  static_assert(static_cast<int>(Wearer::at_risk) == static_cast<int>(lastroom::Wearer::at_risk) &&
                static_cast<int>(Wearer::unknown) == static_cast<int>(lastroom::Wearer::unknown));
  return static_cast<Wearer>(wearer);
}

std::optional<std::string> name_of(const std::optional<lastroom::Zone>& zone) {
  return zone ? std::optional(std::string(lastroom::zone_name(*zone))) : std::nullopt;
}

std::optional<Vector3> worn(lastroom::Side side, const std::optional<lastroom::Vec3>& place) {
  return place ? std::optional(lastroom::as_worn(side, *place)) : std::nullopt;
}

ZoneResult zone_of(lastroom::Side side, const lastroom::ZoneVerdict& z) {
  return {.zone = std::string(lastroom::zone_name(z.clearance.zone)),
          .verdict = verdict_of(z.verdict),
          .undecided = z.undecided,
          .p05_mm = z.clearance.p05_mm,
          .median_mm = z.clearance.median_mm,
          .min_mm = z.clearance.min_mm,
          .sigma_mm = z.clearance.sigma_mm,
          .limit_mm = z.limit_mm,
          .chance_of_pinch = z.chance_of_pinch,
          .area_mm2 = z.clearance.area_mm2,
          .area_below_limit_mm2 = z.area_below_limit_mm2,
          .at_mm = lastroom::as_worn(side, z.clearance.at_mm)};
}

Finding finding_of(lastroom::Side side, const lastroom::Finding& f) {
  return {.rule = std::string(lastroom::rule_name(f.rule)),
          .verdict = verdict_of(f.verdict),
          .zone = name_of(f.zone),
          .measured_mm = f.measured_mm,
          .limit_mm = f.limit_mm,
          .sigma_mm = f.sigma_mm,
          .at_mm = worn(side, f.at_mm),
          .advice = lastroom::english(f.advice),
          .advice_key = f.advice.key,
          .source = f.source,
          .provenance = std::string(lastroom::provenance_name(f.provenance))};
}

Change change_of(lastroom::Side side, const lastroom::Correction& c) {
  return {.operation = std::string(lastroom::operation_name(c.operation)),
          .zone = std::string(lastroom::zone_name(c.zone)),
          .height_mm = c.height_mm,
          .length_mm = c.length_mm,
          .width_mm = c.place.across_mm,
          .centre_mm = lastroom::as_worn(side, c.centre_mm)};
}

Pose pose_of(const lastroom::Fitting& fitting) {
  const lastroom::Registration& r = fitting.registration;
  const lastroom::Side side = fitting.foot.side;
  return {.converged = r.converged,
          .last_from_scan = (lastroom::as_worn(side, r.last_from_foot) * fitting.foot.foot_from_scan).matrix(),
          .last_from_file = fitting.last.last_from_file.matrix(),
          .flex_point_mm = lastroom::as_worn(side, r.hinge.point_mm),
          .flex_axis = lastroom::axis_as_worn(side, r.hinge.axis),
          .flex_deg = r.hinge.angle_deg,
          .position_sigma_mm = r.position_sigma_mm,
          .angle_sigma_deg = r.angle_sigma_deg,
          .doubt = lastroom::english(r.doubt_reason),
          .doubt_key = r.doubt_reason.key};
}

}  // namespace

std::string_view verdict_name(Verdict verdict) {
  return lastroom::verdict_name(static_cast<lastroom::Verdict>(verdict));
}

Side side_of(lastroom::Side side) { return side == lastroom::Side::left ? Side::left : Side::right; }

std::vector<std::string> in_english(const std::vector<lastroom::Message>& messages) {
  std::vector<std::string> sentences;
  for (const lastroom::Message& message : messages) sentences.push_back(lastroom::english(message));
  return sentences;
}

Result result_of(const lastroom::Fitting& fitting) {
  const lastroom::Assessment& found = fitting.assessment;
  const lastroom::Tightening& t = found.tightening;
  const lastroom::Side side = fitting.foot.side;
  Result result;
  result.verdict = verdict_of(found.verdict);
  result.wearer = wearer_of(fitting.settings.assessment.wearer);
  result.side = side_of(side);
  for (const lastroom::ZoneVerdict& zone : found.zones) result.zones.push_back(zone_of(side, zone));
  for (const lastroom::Finding& finding : found.findings) result.findings.push_back(finding_of(side, finding));
  result.tightening = {t.joint_girth_mm, t.inside_mm, t.outside_mm, t.sigma_mm, lastroom::english(t.why), t.why.key};
  for (const lastroom::Correction& change : found.corrections.changes)
    result.changes.push_back(change_of(side, change));
  result.verdict_after = verdict_of(found.corrections.verdict_after);
  for (const lastroom::Lacking& lack : found.corrections.lacking)
    result.lacking.push_back({std::string(lastroom::rule_name(lack.rule)), name_of(lack.zone), lack.mm});
  result.pose = pose_of(fitting);
  return result;
}

}  // namespace lastroom_v0
