#include "assessment/corrections.h"

#include <algorithm>

#include "assessment/bench_terms.h"
#include "assessment/correction_plan.h"
#include "assessment/freedom_map.h"
#include "zones/skin_normals.h"

namespace lastroom {
namespace {

Correction in_bench_terms(const Last& last, const LastChange& change) {
  Correction result;
  result.zone = change.zone;
  result.height_mm = change.bump.height_mm;
  result.centre_mm = change.bump.centre_mm;
  result.from_heel_mm = from_heel_mm(last, change.bump.centre_mm);
  result.above_feather_edge_mm = above_feather_edge_mm(last, change.bump.centre_mm);
  result.length_mm = 2.0 * change.bump.half_length_mm;
  result.width_mm = 2.0 * change.bump.half_width_mm;
  result.inside = change.bump.centre_mm.y() > centre_y_mm(last, change.bump.centre_mm);
  return result;
}

/// The field with the corrected last: only skin within reach of a change is asked again.
ClearanceField asked_again(const Evidence& e, const SignedDistance& corrected, const std::vector<Bump>& bumps) {
  const ClearanceField& field = e.clearance;
  const SkinMap& skin = e.skin;
  constexpr double kReachMm = 20.0;  // more room than a last leaves anywhere but before the toes
  std::vector<std::size_t> near;
  std::vector<Vec3> places;
  for (std::size_t i = 0; i < skin.zone.size(); ++i) {
    if (skin.zone[i] == Zone::none || field.on_rim[i]) continue;
    const bool in_reach = std::any_of(bumps.begin(), bumps.end(), [&](const Bump& bump) {
      const double reach = std::max(bump.half_length_mm, bump.half_width_mm) + kReachMm;
      return (field.skin_mm[i] - bump.centre_mm).squaredNorm() < reach * reach;
    });
    if (!in_reach) continue;
    near.push_back(i);
    places.push_back(field.skin_mm[i]);
  }
  ClearanceField result = field;
  const std::vector<SurfacePoint> found = corrected.at(places), before = e.last_surface.at(places);
  std::vector<double> gained(field.clearance_mm.size(), 0.0);
  for (std::size_t k = 0; k < near.size(); ++k) {
    gained[near[k]] = before[k].distance_mm - found[k].distance_mm;
    result.last_point_mm[near[k]] = found[k].point_mm;
  }
  gained = evened(e.foot.mesh, std::move(gained), kClearanceEvened_mm);  // as the field itself is
  for (std::size_t i = 0; i < gained.size(); ++i) result.clearance_mm[i] += gained[i];
  return result;
}

/// A changed last, judged by the same steps as the first.
struct JudgedLast {
  Mesh mesh;
  ClearanceField field;
  ToeRoom toes;
  Judgement judgement;
};

JudgedLast judged_again(const Evidence& e, const std::vector<LastChange>& changes, const Rules& rules,
                        const AssessmentSettings& settings) {
  const std::vector<Bump> bumps = bumps_of(changes);
  Last last = e.last;
  last.mesh = bumped(e.last.mesh, bumps);
  const SignedDistance surface(last.mesh);
  JudgedLast result;
  result.field = asked_again(e, surface, bumps);
  result.toes = toe_room(e.foot, e.skin, result.field, last);
  const bool measured = e.last_measures.length_mm > 0.0;
  const LastMeasures measures = measured ? measure_last(last) : e.last_measures;
  const Evidence changed{e.foot,         last,         e.foot_measures, measures, e.skin,
                         e.registration, result.field, result.toes,     surface};
  result.judgement = judgement_of(changed, observed(changed), rules, settings);
  result.mesh = std::move(last.mesh);
  return result;
}

std::optional<ToeGroup> toes_of_headroom(const Finding& finding, const ToeRoom& toes, const FootLandmarks& marks) {
  for (std::size_t k = 0; k < 5; ++k)
    if (finding.at_mm && *finding.at_mm == toes.headroom_at_mm[k]) return group_of_toe(marks, k);
  return std::nullopt;
}

/// What is still to be built up on a last that was judged so.
void plan_build_ups(const Judgement& judgement, const ToeRoom& toes, const FootLandmarks& marks, CorrectionPlan& plan) {
  for (const Finding& finding : judgement.findings)
    if (finding.rule == RuleId::headroom && finding.verdict == Verdict::pinch)
      if (const std::optional<ToeGroup> group = toes_of_headroom(finding, toes, marks))
        plan.raise_roof(*group, *finding.at_mm, *finding.measured_mm, *finding.sigma_mm);
  for (const Finding& finding : judgement.findings)
    if (finding.rule == RuleId::marked_spot && finding.verdict == Verdict::pinch)
      plan.relieve(*finding.at_mm, *finding.zone, *finding.measured_mm, *finding.sigma_mm);
  for (const ZoneVerdict& zone : judgement.zones)
    if (zone.verdict == Verdict::pinch) plan.build_up(zone);
}

/// Whether a zone that now presses has lost room.
bool one_lost_room(const std::vector<ZoneVerdict>& before, const std::vector<ZoneVerdict>& after) {
  return std::ranges::any_of(after, [&](const ZoneVerdict& now) {
    const auto was =
        std::ranges::find_if(before, [&](const ZoneVerdict& z) { return z.clearance.zone == now.clearance.zone; });
    return now.verdict >= Verdict::watch && was != before.end() &&
           now.clearance.p05_mm < was->clearance.p05_mm - kMayGetWorseMm;
  });
}

int pinches_in(const Judgement& judgement) {
  return static_cast<int>(std::ranges::count(judgement.zones, Verdict::pinch, &ZoneVerdict::verdict) +
                          std::ranges::count(judgement.findings, Verdict::pinch, &Finding::verdict));
}

}  // namespace

Corrections corrections_for(const Evidence& evidence, const Observations& seen, const Judgement& judgement,
                            const Rules& rules, const AssessmentSettings& settings) {
  const FootLandmarks& marks = evidence.foot.landmarks;
  // Over a marked spot nothing is changed without the clinician, unless the wearer feels what it does.
  const bool feels = settings.wearer == Wearer::standard;
  CorrectionPlan plan(evidence, spared_places(evidence, seen, judgement.bony),
                      feels ? std::vector<Vec3>() : spared_places(evidence, seen, {}), rules, settings.wearer);
  plan.look_at(evidence.clearance);
  plan_build_ups(judgement, evidence.toe_room, marks, plan);
  // Room is not taken from who may not feel what it costs.
  if (feels)
    for (const ZoneVerdict& zone : judgement.zones)
      if (zone.verdict == Verdict::slack) plan.take_down(zone);

  Corrections result;
  if (plan.changes().empty()) return result;
  // What the first order did not foresee: build up more where it still pinches, take down less where a zone lost room.
  // The round that leaves fewest pinches counts, not more than there were, of those in which no zone lost room.
  constexpr int kRounds = 4;
  int fewest = pinches_in(judgement) + 1;
  for (int round = 0; round < kRounds && plan.has_new_changes(); ++round) {
    JudgedLast changed = judged_again(evidence, plan.changes(), rules, settings);
    const bool lost_room = one_lost_room(judgement.zones, changed.judgement.zones);
    plan.look_at(changed.field);
    std::vector<LastChange> changes = plan.changes();
    plan_build_ups(changed.judgement, changed.toes, marks, plan);
    if (lost_room) {
      plan.take_down_less();
      continue;
    }
    const int pinches = pinches_in(changed.judgement);
    if (pinches >= fewest) continue;
    fewest = pinches;
    result.changes.clear();
    for (const LastChange& change : changes) result.changes.push_back(in_bench_terms(evidence.last, change));
    result.corrected_last = std::move(changed.mesh);
    result.zones_after = std::move(changed.judgement.zones);
    result.verdict_after = changed.judgement.verdict;
  }
  return result;
}

}  // namespace lastroom
