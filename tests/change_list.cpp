#include "change_list.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "assessment/judgement.h"
#include "geometry/section.h"

namespace lastroom::test {
namespace {

/// A loaded scan's repeat error of a girth, the largest of six: Lee, Lin, Wang 2014.
constexpr double kGirthDoubt_mm = 1.5;

struct TapedGirth {
  const char* name;
  RuleId rule;
  Girth FootMeasures::*of_foot;
  Girth LastMeasures::*of_last;
};
constexpr TapedGirth kGirths[] = {
    {"joint girth", RuleId::joint_girth, &FootMeasures::joint_girth, &LastMeasures::joint_girth},
    {"waist girth", RuleId::waist_girth, &FootMeasures::waist_girth, &LastMeasures::waist_girth},
    {"instep girth", RuleId::instep_girth, &FootMeasures::instep_girth, &LastMeasures::instep_girth},
    {"heel girth", RuleId::heel_girth, &FootMeasures::heel_girth, &LastMeasures::heel_girth}};

std::vector<std::string> worse_than(const Stand& bad, const Assessment& before, const Stand& now,
                                    const Judgement& after) {
  std::vector<std::string> worse;
  for (const ZoneVerdict& z : after.zones) {
    const auto was =
        std::ranges::find(before.zones, z.clearance.zone, [](const ZoneVerdict& v) { return v.clearance.zone; });
    if (was == before.zones.end() || z.verdict < Verdict::watch) continue;
    if (const double less = was->clearance.p05_mm - z.clearance.p05_mm; less > z.clearance.sigma_mm)
      worse.push_back(fmt::format("{} {:+.1f} mm to {:.1f}", zone_name(z.clearance.zone), -less, z.clearance.p05_mm));
  }
  static const Rules rules = default_rules();
  for (const TapedGirth& girth : kGirths) {
    const double foot = (bad.foot_measures.*girth.of_foot).mm;
    const double was = (bad.last_measures.*girth.of_last).mm - foot, is = (now.last_measures.*girth.of_last).mm - foot;
    if (!(foot > 0.0) || !((bad.last_measures.*girth.of_last).mm > 0.0)) continue;
    const double limit = limits_for(rule_by(rules, girth.rule), Wearer::standard).watch_above_mm.value_or(1e9);
    const auto beyond = [&](double mm) { return std::max(0.0, std::abs(mm) - limit); };
    if (beyond(is) > beyond(was) + kGirthDoubt_mm)
      worse.push_back(fmt::format("{} {:+.1f} to {:+.1f} mm", girth.name, was, is));
  }
  return worse;
}

/// Half of what a tape reads across the last where the change lies, from the middle of its bottom to that of its top.
double side_mm(const Last& last, const Vec3& at_mm) {
  const Plane plane{at_mm, Vec3::UnitX()};
  return 0.5 * girth_mm(section(last.mesh, plane), plane);
}

double quantile(std::vector<double> values, double q) {
  if (values.empty()) return 0.0;
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(q * static_cast<double>(values.size() - 1) + 0.5)];
}

void print_row(const std::string& name, const std::vector<ChangeList>& lists) {
  const auto count = [&](auto is) { return std::ranges::count_if(lists, is); };
  std::vector<double> ratios;
  for (const ChangeList& list : lists)
    if (list.operations > 0 && list.planted_mm3 > 0.0) ratios.push_back(list.moved_mm3 / list.planted_mm3);
  const auto most = std::ranges::max(lists, {}, &ChangeList::operations).operations;
  fmt::print("| {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {:.2f} | {} of {} |\n", name, lists.size(),
             count([](const ChangeList& l) { return l.before == Verdict::pinch; }),
             count([](const ChangeList& l) { return l.operations > 0; }),
             count([](const ChangeList& l) { return l.after < Verdict::pinch; }),
             count([](const ChangeList& l) { return !l.worse.empty(); }),
             count([](const ChangeList& l) { return l.cures(); }),
             count([](const ChangeList& l) { return l.operations <= 3; }), most,
             count([](const ChangeList& l) { return l.over_side_mm > 0.0; }), quantile(ratios, 0.5),
             std::ranges::count_if(ratios, [](double r) { return r <= 1.5; }), ratios.size());
}

}  // namespace

Settle settling(const Stand& stand, const RegistrationSettings& scanner) {
  return [&stand, scanner](const Last& changed, const SignedDistance& surface) {
    return settled_again(stand.foot, stand.skin, changed, surface, stand.registration, scanner);
  };
}

ChangeList change_list(const Stand& bad, const Assessment& found, double planted_mm3, bool settles,
                       const RegistrationSettings& scanner) {
  ChangeList list;
  list.before = list.after = found.verdict;
  list.planted_mm3 = planted_mm3;
  const Corrections& corrections = found.corrections;
  list.operations = corrections.changes.size();
  if (corrections.changes.empty()) return list;
  Last last = corrections.corrected_last;
  const std::vector<double> areas = vertex_areas_mm2(bad.last.mesh);
  const std::vector<Vec3> normals = vertex_normals(bad.last.mesh);
  for (std::size_t i = 0; i < areas.size(); ++i)
    list.moved_mm3 += areas[i] * std::abs(normals[i].dot(last.mesh.vertices[i] - bad.last.mesh.vertices[i]));
  for (const Correction& change : corrections.changes)
    if (change.operation != Operation::lengthen)
      list.over_side_mm = std::max(list.over_side_mm, change.place.across_mm - side_mm(bad.last, change.centre_mm));
  const LastMeasures measures = measure_last(last);
  Registration pose =
      settles ? register_foot_in_last(bad.foot, bad.skin, last, SignedDistance(last.mesh), scanner) : bad.registration;
  const Stand now = stood(bad.foot, bad.foot_measures, bad.skin, std::move(last), measures, std::move(pose), scanner);
  static const Rules rules = default_rules();
  const Judgement after = judgement_of(now.evidence(), observed(now.evidence()), rules, told(Wearer::standard));
  list.after = after.verdict;
  list.worse = worse_than(bad, found, now, after);
  return list;
}

double between_mm3(const Mesh& fits, const Mesh& bad, bool slack) {
  constexpr double kNoise_mm = 0.3;
  const SignedDistance surface(fits);
  const std::vector<double> areas = vertex_areas_mm2(bad);
  double sum = 0.0;
  const std::vector<SurfacePoint> found = surface.at(bad.vertices);
  for (std::size_t i = 0; i < found.size(); ++i) {
    const double mm = (slack ? 1.0 : -1.0) * found[i].distance_mm;
    if (mm > kNoise_mm && !found[i].on_rim) sum += areas[i] * mm;
  }
  return sum;
}

std::size_t ChangeLists::failed() const {
  std::size_t count = 0;
  for (const auto& [name, lists] : lists_)
    count += lists.size() - static_cast<std::size_t>(std::ranges::count_if(lists, &ChangeList::cures));
  return count;
}

void ChangeLists::print() const {
  fmt::print(
      "\n| planted | lists | pinch before | with changes | clear or watch after | a zone or girth worse by more than "
      "its "
      "doubt | cured, nothing worse | at most three changes | most changes | wider than the last's side | moved by "
      "planted, median | within 1.5 |\n"
      "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n");
  std::vector<ChangeList> all;
  for (const auto& [name, lists] : lists_) {
    print_row(name, lists);
    all.insert(all.end(), lists.begin(), lists.end());
  }
  if (!all.empty()) print_row("all", all);
}

}  // namespace lastroom::test
