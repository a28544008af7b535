#include "assessment/findings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "assessment/judge.h"
#include "preparation/last_standing.h"

namespace lastroom {
namespace {

/// Of a length, width or girth of the foot. Repeat error of scanned dimensions, the largest of six: Lee, Lin, Wang 2014
/// (0.73 to 1.50 mm); and what a foot without its weight lacks, on both sides.
double dimension_sigma_mm(ScanLoad load) { return std::hypot(1.5, 2.0 * scan_error_mm(load, 0.0)); }
constexpr double kFourInFive = 0.84;  // standard deviations that a normal variable stays under in four of five cases
constexpr double kSideInDoubt = 0.2;  // as default_rules.xml says

/// How far ahead of the foot's first joint (along the foot as it stands, in plan) the nearest place lies that may as
/// well be the last's: by its width on the inside, less what it costs to lie off a joint's place, the best but for the
/// repeat error of a dimension. An outline that runs straight, or is as wide beside the toes, does not tell where its
/// joint is. Inside is the foot's own inside: turned by a few degrees, a straight outline is widest at another end.
std::optional<double> nearest_joint_ahead_mm(const Evidence& e, const Vec3& first_joint_mm, double repeats_mm) {
  if (e.last.centre_line.empty()) return std::nullopt;
  Vec3 along = e.registration.last_from_foot.linear() * Vec3::UnitX();
  along.z() = 0.0;
  along.normalize();
  const Vec3 inward = Vec3::UnitZ().cross(along);
  const double length_mm = e.last.centre_line.back().dot(along);
  const auto width_mm = [&](const Vec3& v) {
    return v.dot(inward) - joint_off_place_mm(v.dot(along) / length_mm, true);
  };
  double most_mm = -std::numeric_limits<double>::infinity();
  for (const Vec3& v : e.last.mesh.vertices) most_mm = std::max(most_mm, width_mm(v));
  std::optional<double> nearest_mm;
  for (const Vec3& v : e.last.mesh.vertices) {
    if (!(width_mm(v) >= most_mm - repeats_mm)) continue;
    const double ahead_mm = (v - first_joint_mm).dot(along);
    if (!nearest_mm || std::abs(ahead_mm) < std::abs(*nearest_mm)) nearest_mm = ahead_mm;
  }
  return nearest_mm;
}

/// A finding and how heavily it weighs among those of the same verdict: mm beyond the limit.
struct Weighed {
  Finding finding;
  double weight_mm = 0.0;
};

Finding finding_by(const Rule& rule, Verdict verdict) {
  Finding finding;
  finding.rule = rule.id;
  finding.verdict = verdict;
  finding.zone = zone_of(rule.id);
  finding.advice = advice_of(rule);
  finding.source = rule.source;
  finding.provenance = rule.provenance;
  return finding;
}

struct Room {
  double mm = 0.0, loosest_mm = 0.0, sigma_mm = 0.0;
  std::optional<Vec3> at_mm;
};

/// The finding about a room, with what to do about too little; none when it is clear.
std::optional<Weighed> about_room(const Rule& rule, Wearer wearer, const Room& room, const Message& to_do) {
  const Limits& limits = limits_for(rule, wearer);
  const Judged found = judged(room.mm, room.loosest_mm, room.sigma_mm, limits);
  if (found.verdict == Verdict::clear) return std::nullopt;

  Weighed result{finding_by(rule, found.verdict)};
  Finding& finding = result.finding;
  finding.advice = to_do;
  finding.measured_mm = room.mm;
  finding.sigma_mm = room.sigma_mm;
  finding.at_mm = room.at_mm;
  if (found.verdict == Verdict::slack) {
    finding.measured_mm = room.loosest_mm;
    finding.limit_mm = limits.slack_above_mm;
    finding.provenance = provenance_of(rule, limits, "slack_above");
    finding.advice = slack_advice_of(rule);
    result.weight_mm = room.loosest_mm - *limits.slack_above_mm;
    return result;
  }
  const bool by_watch_limit = found.verdict == Verdict::watch && !found.undecided;
  finding.limit_mm = by_watch_limit ? limits.watch_below_mm : limits.pinch_below_mm;
  finding.provenance = provenance_of(rule, limits, by_watch_limit ? "watch_below" : "pinch_below");
  result.weight_mm = *finding.limit_mm - room.mm;
  if (found.undecided)
    finding.advice = {"finding.undecided", {{"advice", finding.advice}}};
  else if (by_watch_limit)
    finding.advice = {"finding.near_limit", {{"advice", finding.advice}}};
  return result;
}

std::optional<Weighed> about_room(const Rule& rule, Wearer wearer, const Room& room) {
  return about_room(rule, wearer, room, advice_of(rule));
}

std::optional<Weighed> about_difference(const Rule& rule, Wearer wearer, double difference_mm,
                                        std::optional<double> sigma_mm = std::nullopt,
                                        std::optional<Vec3> at_mm = std::nullopt) {
  const std::optional<double> limit = limits_for(rule, wearer).watch_above_mm;
  if (!limit || std::abs(difference_mm) <= *limit) return std::nullopt;
  Weighed result{finding_by(rule, Verdict::watch), std::abs(difference_mm) - *limit};
  result.finding.measured_mm = difference_mm;
  result.finding.limit_mm = limit;
  result.finding.provenance = provenance_of(rule, limits_for(rule, wearer), "watch_above");
  result.finding.sigma_mm = sigma_mm;
  result.finding.at_mm = at_mm;
  return result;
}

Weighed about_fact(const Rule& rule, Verdict verdict, const Message& reason = {}) {
  Weighed result{finding_by(rule, verdict)};
  if (!reason.empty())
    result.finding.advice = {"finding.with_reason", {{"reason", reason}, {"advice", advice_of(rule)}}};
  return result;
}

bool opposite_sides(const Evidence& e) { return e.foot.side != e.last.side; }
bool pose_in_doubt(const Evidence& e) { return !e.registration.doubt_reason.empty() || !e.registration.converged; }

class Collector {
 public:
  Collector(const Rules& rules, const AssessmentSettings& settings)
      : rules_(rules), settings_(settings), dimension_sigma_mm_(dimension_sigma_mm(settings.scan_load)) {}

  void facts(const Evidence& e) {
    if (pose_in_doubt(e))
      add(about_fact(rule(RuleId::pose_in_doubt), Verdict::none,
                     e.registration.doubt_reason.empty() ? Message{"doubt.not_settled"} : e.registration.doubt_reason));
    if (opposite_sides(e)) add(about_fact(rule(RuleId::opposite_sides), Verdict::none));
    if (e.last.turned_over) add(about_fact(rule(RuleId::straight_last), Verdict::watch));
    if (e.foot.side_from == Told::by_guess && e.foot.chance_of_wrong_side > kSideInDoubt)
      add(about_fact(rule(RuleId::side_in_doubt), Verdict::watch));
    for (const Message& remark : e.foot_measures.outside_population)
      add(about_fact(rule(RuleId::outside_population), Verdict::watch, remark));
    if (e.foot.sole_missing) add(about_fact(rule(RuleId::sole_missing), Verdict::watch));
    add(about_difference(rule(RuleId::foot_likeness), settings_.wearer, e.foot.likeness_mm));
    add(about_difference(rule(RuleId::last_likeness), settings_.wearer, e.last.likeness_mm));
    if (settings_.tape_joint_mm)
      add(about_difference(rule(RuleId::taped_joint_girth), settings_.wearer,
                           *settings_.tape_joint_mm - e.foot_measures.joint_girth.mm, dimension_sigma_mm_));
    if (settings_.scan_load != ScanLoad::full) add(about_fact(rule(RuleId::scan_not_loaded), Verdict::watch));
    if (settings_.wearer == Wearer::at_risk)
      add(about_fact(rule(RuleId::at_risk_wearer), Verdict::watch, settings_.wearer_reason));
    if (settings_.wearer == Wearer::unknown) add(about_fact(rule(RuleId::unknown_wearer), Verdict::watch));
  }

  void zones(const std::vector<ZoneVerdict>& zones) {
    const ZoneClearance *big = nullptr, *fifth = nullptr;
    for (const ZoneVerdict& zone : zones) {
      const ZoneClearance& c = zone.clearance;
      const Rule& by = rule(rule_of(c.zone));
      add(about_room(by, settings_.wearer, {c.p05_mm, c.median_mm, c.sigma_mm, c.at_mm}));
      // Pressed at its border and yet not held: both are told.
      const std::optional<double> slack_above_mm = limits_for(by, settings_.wearer).slack_above_mm;
      if (zone.verdict > Verdict::slack && slack_above_mm && c.median_mm > *slack_above_mm)
        add(about_room(by, settings_.wearer, {c.median_mm, c.median_mm, c.sigma_mm, c.at_mm}));
      if (c.zone == Zone::big_toe_side) big = &c;
      if (c.zone == Zone::fifth_toe_side) fifth = &c;
    }
    if (big && fifth) {
      const double room = big->p05_mm + fifth->p05_mm;
      // What an unloaded foot lacks in breadth it lacks on both sides at once.
      const bool loaded = settings_.scan_load == ScanLoad::full;
      const double doubt = loaded ? std::hypot(big->sigma_mm, fifth->sigma_mm) : big->sigma_mm + fifth->sigma_mm;
      add(about_room(rule(RuleId::toe_width_room), settings_.wearer,
                     {room, room, doubt, big->p05_mm < fifth->p05_mm ? big->at_mm : fifth->at_mm}));
    }
  }

  /// What was not measured is no room.
  void not_measured(const std::vector<Zone>& zones) {
    for (const Zone zone : zones) {
      Weighed found = about_fact(rule(RuleId::zone_not_measured), Verdict::watch);
      found.finding.zone = zone;
      add(found);
    }
  }

  void toes(const ToeRoom& toes, const std::vector<ToeGroup>& groups) {
    if (toes.tip_mm)
      add(about_room(rule(RuleId::toe_room), settings_.wearer,
                     {*toes.tip_mm, *toes.tip_mm, toes.tip_sigma_mm, toes.tip_at_mm}));
    if (toes.allowance_mm)
      add(about_room(rule(RuleId::allowance), settings_.wearer,
                     {*toes.allowance_mm, *toes.allowance_mm, toes.allowance_sigma_mm, toes.tip_at_mm}));
    for (const ToeGroup& group : groups) {
      const std::size_t k = group.first;
      if (!toes.headroom_mm[k]) continue;
      std::optional<Weighed> found =
          about_room(rule(RuleId::headroom), settings_.wearer,
                     {*toes.headroom_mm[k], *toes.headroom_mm[k], toes.headroom_sigma_mm[k], toes.headroom_at_mm[k]});
      if (!found) continue;
      found->finding.zone = Zone::toe_tops;
      found->finding.advice = {"finding.over_toe", {{"toe", toe_message(group)}, {"advice", found->finding.advice}}};
      add(found);
    }
  }

  /// Every mark is answered, also one that has its room.
  void marked_spots(const Evidence& e, const std::vector<PosedSpot>& spots) {
    for (std::size_t k = 0; k < spots.size(); ++k) {
      const Vec3& at_mm = e.clearance.skin_mm[spots[k].vertex];
      Weighed found = about_fact(rule(RuleId::marked_spot), Verdict::watch);
      found.finding.advice = {"finding.spot_unmeasured"};
      if (const std::optional<ZoneClearance>& room = spots[k].room) {
        found = about_spot({room->p05_mm, room->p05_mm, room->sigma_mm, at_mm});
        found.finding.zone = room->zone;
      }
      found.finding.at_mm = at_mm;
      const std::string& what = e.foot.landmarks.never_press[k].what;
      found.finding.advice = {what.empty() ? "finding.marked" : "finding.marked_as",
                              {{"what", UserText{what}}, {"advice", found.finding.advice}}};
      add(found);
    }
  }

  /// Over a marked spot nothing is changed without the clinician: said with whatever is advised for its zone.
  void mind_marks(const std::vector<PosedSpot>& spots) {
    if (is_standard()) return;
    for (Weighed& weighed : found_) {
      Finding& finding = weighed.finding;
      const bool marked = std::ranges::any_of(
          spots, [&](const PosedSpot& spot) { return spot.room && spot.room->zone == finding.zone; });
      const RuleKind kind = traits_of(finding.rule).kind;
      if (marked && finding.rule != RuleId::marked_spot && kind != RuleKind::fact)
        finding.advice = {"finding.in_marked_zone", {{"advice", finding.advice}}};
    }
  }

  /// What a whole zone's twentieth hides.
  void worst_patches(const std::vector<WorstPatch>& patches) {
    for (const WorstPatch& patch : patches) {
      if (is_under_the_foot(patch.zone)) continue;
      std::optional<Weighed> found =
          about_room(rule(RuleId::worst_patch), settings_.wearer, {patch.mm, patch.mm, patch.sigma_mm, patch.at_mm});
      if (found) found->finding.zone = patch.zone;
      add(std::move(found));
    }
  }

  void bony_points(const Observations& seen, const std::vector<ZoneVerdict>& zones) {
    const auto has_room = [&](Zone zone) {
      return std::ranges::any_of(zones, [&](const ZoneVerdict& z) {
        return z.clearance.zone == zone && (z.verdict == Verdict::clear || z.verdict == Verdict::slack);
      });
    };
    const auto point = [&](double out_mm, Zone zone, const Vec3& joint) {
      if (is_standard() && has_room(zone)) return;
      std::optional<Weighed> found =
          about_difference(rule(RuleId::bony_point), settings_.wearer, out_mm, dimension_sigma_mm_, joint);
      if (found) found->finding.zone = zone;
      add(std::move(found));
    };
    point(std::max(0.0, seen.standing_out.inside_mm), Zone::inside_joint, seen.first_joint_mm);
    point(std::max(0.0, seen.standing_out.outside_mm), Zone::outside_joint, seen.fifth_joint_mm);
  }

  void measures(const Evidence& e, const Observations& seen) {
    const LastMeasures& last = e.last_measures;
    // As the foot stands in the last: a raised heel shortens the length along the last's bottom.
    const Vec3 heel_to_joint =
        e.registration.last_from_foot.linear() * (e.foot.landmarks.first_joint - e.foot.landmarks.heel);
    const double apart_mm = last.heel_to_joint_mm - heel_to_joint.x();
    const std::optional<double> limit_mm = limits_for(rule(RuleId::heel_to_joint), settings_.wearer).watch_above_mm;
    const double sigma_mm = std::hypot(dimension_sigma_mm_, e.foot.landmarks.first_joint_sigma_mm);
    const double ahead_mm = is_standard()
                                ? nearest_joint_ahead_mm(e, seen.first_joint_mm, dimension_sigma_mm_).value_or(apart_mm)
                                : apart_mm;
    const double surely_mm = std::abs(ahead_mm) - (is_standard() ? kFourInFive * sigma_mm : 0.0);
    if (last.heel_to_joint_mm > 0.0 && limit_mm && surely_mm > *limit_mm)
      add(about_difference(rule(RuleId::heel_to_joint), settings_.wearer, ahead_mm, sigma_mm, e.last.first_joint));

    girths(e, seen);
    add(about_difference(rule(RuleId::heel_height), settings_.wearer, last.heel_height_mm));
  }

  std::vector<Finding> gravest_first() && {
    std::stable_sort(found_.begin(), found_.end(), [](const Weighed& a, const Weighed& b) {
      return std::pair{a.finding.verdict, a.weight_mm} > std::pair{b.finding.verdict, b.weight_mm};
    });
    std::vector<Finding> result;
    for (Weighed& w : found_) result.push_back(std::move(w.finding));
    return result;
  }

 private:
  /// About the room over a marked spot, also when it is clear. What presses there pinches, whatever the limit and the
  /// doubt.
  Weighed about_spot(const Room& room) const {
    const Rule& by = rule(RuleId::marked_spot);
    const Message to_do =
        is_standard() ? advice_of(by) : Message{"finding.with_clinician", {{"advice", advice_of(by)}}};
    Weighed spot{finding_by(by, Verdict::clear)};
    spot.finding.advice = {"finding.spot_has_room"};
    spot.finding.measured_mm = room.mm;
    spot.finding.sigma_mm = room.sigma_mm;
    spot.finding.limit_mm = limits_for(by, settings_.wearer).watch_below_mm;
    spot = about_room(by, settings_.wearer, room, to_do).value_or(spot);
    if (room.mm >= 0.0 || spot.finding.verdict == Verdict::pinch) return spot;
    spot.finding.verdict = Verdict::pinch;
    spot.finding.limit_mm = 0.0;
    spot.finding.advice = to_do;
    spot.weight_mm = -room.mm;
    return spot;
  }

  void girths(const Evidence& e, const Observations& seen) {
    const FootMeasures& foot = e.foot_measures;
    const LastMeasures& last = e.last_measures;
    // A tape over a sock lies that much longer.
    const double sock_girth_mm = 2.0 * std::numbers::pi * e.clearance.sock_mm;
    const auto girth = [&](RuleId id, const Girth& of_last, const Girth& of_foot, const GirthAlong& along) {
      if (!(of_last.mm > 0.0 && of_foot.mm > 0.0)) return;
      double more_mm = of_last.mm - of_foot.mm - sock_girth_mm;
      const std::optional<double> limit_mm = limits_for(rule(id), settings_.wearer).watch_above_mm;
      if (is_standard()) {
        // A last's own joint, waist and instep lie where its outline is widest and so many millimetres behind that: on
        // a straight outline a centimetre and more from the foot's, where a tape tells of another place.
        more_mm = along.by_tape_mm.value_or(more_mm);
        // One judgement of a girth: what the room along the tape tells too is told of the zones.
        if (along.by_room_mm && limit_mm && std::abs(more_mm - *along.by_room_mm) <= *limit_mm) return;
      }
      add(about_difference(rule(id), settings_.wearer, more_mm, dimension_sigma_mm_));
    };
    girth(RuleId::joint_girth, last.joint_girth, foot.joint_girth, seen.joint_girth);
    girth(RuleId::waist_girth, last.waist_girth, foot.waist_girth, seen.waist_girth);
    girth(RuleId::instep_girth, last.instep_girth, foot.instep_girth, seen.instep_girth);
    girth(RuleId::heel_girth, last.heel_girth, foot.heel_girth, {});
  }

  const Rule& rule(RuleId id) const { return rule_by(rules_, id); }
  bool is_standard() const { return settings_.wearer == Wearer::standard; }
  void add(std::optional<Weighed> found) {
    if (found) found_.push_back(std::move(*found));
  }

  const Rules& rules_;
  const AssessmentSettings& settings_;
  double dimension_sigma_mm_;
  std::vector<Weighed> found_;
};

}  // namespace

bool can_be_judged(const Evidence& e) { return !pose_in_doubt(e) && !opposite_sides(e); }

std::vector<Finding> findings_of(const Evidence& evidence, const Observations& seen,
                                 const std::vector<ZoneVerdict>& zones, const Rules& rules,
                                 const AssessmentSettings& settings) {
  Collector collector(rules, settings);
  collector.facts(evidence);
  collector.zones(zones);
  collector.not_measured(seen.not_measured);
  collector.toes(evidence.toe_room, toe_groups(evidence.foot.landmarks));
  collector.marked_spots(evidence, seen.marked_spots);
  collector.worst_patches(seen.patches);
  collector.bony_points(seen, zones);
  collector.measures(evidence, seen);
  collector.mind_marks(seen.marked_spots);
  return std::move(collector).gravest_first();
}

std::vector<Finding> facts_of(const Evidence& evidence, const Rules& rules, const AssessmentSettings& settings) {
  Collector collector(rules, settings);
  collector.facts(evidence);
  return std::move(collector).gravest_first();
}

}  // namespace lastroom
