#include "assessment/corrections.h"

#include <algorithm>
#include <cmath>

#include "assessment/bench_terms.h"
#include "assessment/bump.h"
#include "assessment/findings.h"
#include "assessment/judge.h"
#include "assessment/skin_sample.h"
#include "zones/skin_normals.h"

namespace lastroom {
namespace {

constexpr std::size_t kPerZone = 600;   // samples
constexpr double kLeastHalfMm = 8.0;    // of a patch: smaller ones can't be built or rasped
constexpr double kSpareMm = 0.1;        // built up beyond what is needed
constexpr double kMayGetWorseMm = 0.2;  // another zone, by a correction
constexpr double kLeastHeightMm = 0.2;  // thinner than this is not worth a stroke of the rasp

struct Change {
  Zone zone;
  Bump bump;
};

using Members = std::vector<std::size_t>;  // of the sample

std::vector<Bump> bumps_of(const std::vector<Change>& changes) {
  std::vector<Bump> bumps;
  for (const Change& change : changes) bumps.push_back(change.bump);
  return bumps;
}

bool has_two_sides(Zone zone) { return zone == Zone::heel_sides || zone == Zone::waist || zone == Zone::instep; }

/// The plan of changes, judged to first order on a sample of the skin: a bump of height h at the nearest point of the
/// last gives the skin h more room there.
class Planner {
 public:
  Planner(const Evidence& e, const Rules& rules, Wearer wearer)
      : evidence_(e), rules_(rules), wearer_(wearer), sample_(sampled(e.clearance, e.skin, kPerZone)) {}

  void build_up(const ZoneVerdict& zone) {
    const Zone name = zone.clearance.zone;
    const double least = clear_from_mm(zone.clearance.doubt_mm, limits(zone_name(name)));
    const std::vector<ZoneClearance> now = zones_now();
    const double lacking = least - find_zone(now, name)->p05_mm;
    if (lacking <= 0.0) return;  // cured by a change before
    for (const Members& side : sides_of(name, [&](double clearance) { return clearance < least; }))
      add(name, side, lacking + kSpareMm, least);
  }

  /// Over one toe (1 .. 5): its roof goes up by what is lacking, measured vertically.
  void raise_roof(int toe, double headroom_mm, double doubt_mm) {
    constexpr double kLooksUp = 0.8;  // as toe_room: the toe's back
    const double lacking = clear_from_mm(doubt_mm, limits("headroom")) - headroom_mm;
    Members members;
    for (std::size_t i = 0; i < sample_.vertex.size(); ++i)
      if (sample_.skin.toe[i] == toe && evidence_.clearance.skin_normal[sample_.vertex[i]].z() > kLooksUp)
        members.push_back(i);
    if (!members.empty()) add(Zone::toe_tops, members, lacking + kSpareMm, headroom_mm + lacking);
  }

  void take_down(const ZoneVerdict& zone) {
    constexpr double kBelowSlackMm = 0.5;  // our choice: enough that the next measurement does not call it slack again
    const Zone name = zone.clearance.zone;
    const double slack = *limits(zone_name(name)).slack_above_mm;
    const double surplus = zone.clearance.median_mm - slack + kBelowSlackMm;
    const std::size_t before = changes_.size();
    for (const Members& side : sides_of(name, [&](double clearance) { return clearance > slack; }))
      add(name, side, -surplus, 0.0);
    shrink_to_fit(before);
  }

  std::vector<Change> changes() && { return std::move(changes_); }

 private:
  const Limits& limits(std::string_view name) const { return limits_for(rule_named(rules_, name), wearer_); }

  std::vector<double> clearances_now() const {
    const std::vector<Bump> bumps = bumps_of(changes_);
    std::vector<double> result = sample_.field.clearance_mm;
    for (std::size_t i = 0; i < result.size(); ++i) result[i] += height_at(bumps, sample_.field.last_point_mm[i]);
    return result;
  }

  std::vector<ZoneClearance> zones_now() const {
    ClearanceField field = sample_.field;
    field.clearance_mm = clearances_now();
    return by_zone(field, sample_.skin);
  }

  template <class Wanted>
  std::vector<Members> sides_of(Zone zone, const Wanted& wanted) const {
    const std::vector<double> clearance = clearances_now();
    std::vector<Members> sides(2);
    for (std::size_t i = 0; i < clearance.size(); ++i) {
      if (sample_.skin.zone[i] != zone || !wanted(clearance[i])) continue;
      const Vec3& place = sample_.field.last_point_mm[i];
      const bool outside = has_two_sides(zone) && place.y() < centre_y_mm(evidence_.last, place);
      sides[outside ? 1 : 0].push_back(i);
    }
    std::erase_if(sides, [](const Members& side) { return side.empty(); });
    return sides;
  }

  /// One patch over the members' nearest points of the last, in the middle of where most is lacking.
  void add(Zone zone, const Members& members, double height_mm, double least_mm) {
    Vec3 moment = Vec3::Zero();
    double weight = 0.0;
    std::vector<Vec3> places;
    for (std::size_t i : members) {
      const double lacking = height_mm > 0.0 ? std::max(0.0, least_mm - sample_.field.clearance_mm[i]) : 0.0;
      const double w = sample_.field.area_mm2[i] * (lacking + 0.1);  // 0.1: an even patch still has a middle
      places.push_back(sample_.field.last_point_mm[i]);
      moment += w * places.back();
      weight += w;
    }
    Bump bump = bump_at(evidence_.last_surface.at(Vec3(moment / weight)));
    spread_over(bump, places, kLeastHalfMm);
    bump.height_mm = height_mm;
    changes_.push_back({zone, bump});
  }

  /// The changes from `first` on are made smaller until no zone loses more than it may.
  void shrink_to_fit(std::size_t first) {
    const std::vector<Change> whole(changes_.begin() + static_cast<std::ptrdiff_t>(first), changes_.end());
    changes_.resize(first);
    const std::vector<ZoneClearance> before = zones_now();
    const auto with_share = [&](double share) {
      changes_.resize(first);
      for (Change change : whole) {
        change.bump.height_mm *= share;
        changes_.push_back(change);
      }
    };
    const auto fits = [&](double share) {
      with_share(share);
      for (const ZoneClearance& after : zones_now()) {
        const double least = clear_from_mm(after.doubt_mm, limits(zone_name(after.zone)));
        if (after.p05_mm < std::min(least, find_zone(before, after.zone)->p05_mm - kMayGetWorseMm / 2.0)) return false;
      }
      return true;
    };
    double share = 1.0;
    if (!fits(share)) {
      double too_much = 1.0;
      share = 0.0;
      while (too_much - share > 0.05) {
        const double middle = (share + too_much) / 2.0;
        (fits(middle) ? share : too_much) = middle;
      }
    }
    with_share(share);
    std::erase_if(changes_, [](const Change& c) { return std::abs(c.bump.height_mm) < kLeastHeightMm; });
  }

  const Evidence& evidence_;
  const Rules& rules_;
  Wearer wearer_;
  SkinSample sample_;
  std::vector<Change> changes_;
};

Correction in_bench_terms(const Last& last, const Change& change) {
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

/// The changed last, judged like the first one.
struct Judgement {
  Mesh mesh;
  std::vector<ZoneVerdict> zones;
  std::vector<Finding> findings;
};

Judgement judged_again(const Evidence& e, const std::vector<Change>& changes, const Rules& rules,
                       const AssessmentSettings& settings) {
  const std::vector<Bump> bumps = bumps_of(changes);
  Last last = e.last;
  last.mesh = bumped(e.last.mesh, e.last_surface, bumps);
  const SignedDistance surface(last.mesh);
  const ClearanceField field =
      with_toe_ends(asked_again(e, surface, bumps), e.foot, e.skin, e.registration, e.foot_measures.length_mm, last);
  const ToeRoom toes = toe_room(e.foot, e.skin, field, last);
  Judgement result;
  result.zones = judged_zones(by_zone(field, e.skin), rules, settings.wearer);
  for (ZoneVerdict& zone : result.zones)
    zone.area_below_limit_mm2 = area_below_mm2(field, e.skin, zone.clearance.zone, zone.limit_mm);
  result.findings =
      findings_of({e.foot, last, e.foot_measures, e.last_measures, e.skin, e.registration, field, toes, surface},
                  result.zones, rules, settings);
  result.mesh = std::move(last.mesh);
  return result;
}

/// What the first order did not foresee: build up more where it still pinches, take down less where a zone lost room.
/// True when something was changed.
bool put_right(const std::vector<ZoneVerdict>& before, const std::vector<ZoneVerdict>& after, const Rules& rules,
               Wearer wearer, std::vector<Change>& changes) {
  bool changed = false;
  for (std::size_t z = 0; z < after.size(); ++z) {
    const ZoneClearance& now = after[z].clearance;
    const Limits& limits = limits_for(rule_named(rules, zone_name(now.zone)), wearer);
    for (Change& change : changes) {
      if (change.bump.height_mm > 0.0 && change.zone == now.zone && after[z].verdict == Verdict::pinch) {
        change.bump.height_mm += clear_from_mm(now.doubt_mm, limits) - now.p05_mm + kSpareMm;
        changed = true;
      }
      const bool lost =
          now.p05_mm < before[z].clearance.p05_mm - kMayGetWorseMm && now.p05_mm < clear_from_mm(now.doubt_mm, limits);
      if (change.bump.height_mm < 0.0 && lost) {
        change.bump.height_mm /= 2.0;
        changed = true;
      }
    }
  }
  return changed;
}

int toe_of_headroom(const Finding& finding, const ToeRoom& toes) {
  for (int k = 0; k < 5; ++k)
    if (finding.at_mm && *finding.at_mm == toes.headroom_at_mm[static_cast<std::size_t>(k)]) return k + 1;
  return 0;
}

}  // namespace

Corrections corrections_for(const Evidence& evidence, const std::vector<ZoneVerdict>& zones,
                            const std::vector<Finding>& findings, const Rules& rules,
                            const AssessmentSettings& settings) {
  Planner planner(evidence, rules, settings.wearer);
  for (const Finding& finding : findings)
    if (finding.rule == "headroom" && finding.verdict == Verdict::pinch)
      if (const int toe = toe_of_headroom(finding, evidence.toe_room); toe != 0)
        planner.raise_roof(toe, *finding.measured_mm, *finding.uncertainty_mm);
  for (const ZoneVerdict& zone : zones)
    if (zone.verdict == Verdict::pinch) planner.build_up(zone);
  for (const ZoneVerdict& zone : zones)
    if (zone.verdict == Verdict::slack) planner.take_down(zone);

  Corrections result;
  std::vector<Change> changes = std::move(planner).changes();
  if (changes.empty()) return result;
  Judgement judgement = judged_again(evidence, changes, rules, settings);
  constexpr int kRounds = 3;  // the first order is near enough that a second round is rare
  for (int round = 1; round < kRounds && put_right(zones, judgement.zones, rules, settings.wearer, changes); ++round)
    judgement = judged_again(evidence, changes, rules, settings);

  for (const Change& change : changes) result.changes.push_back(in_bench_terms(evidence.last, change));
  result.corrected_last = std::move(judgement.mesh);
  result.zones_after = std::move(judgement.zones);
  result.verdict_after = overall(result.zones_after, judgement.findings);
  return result;
}

}  // namespace lastroom
