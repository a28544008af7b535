#include "assessment/tightening.h"

#include <algorithm>
#include <cmath>

#include "assessment/bump.h"
#include "assessment/freedom_map.h"
#include "assessment/judge.h"
#include "assessment/skin_sample.h"
#include "geometry/barycentric.h"
#include "geometry/parallel.h"
#include "zones/skin_normals.h"

namespace lastroom {
namespace {

// All our choice (nothing is published on how far a joint may be tightened):
constexpr double kBoneShare = 0.5;      // of the last's move that the bones follow; the rest is soft tissue
constexpr double kRayBase = 0.38;       // of foot length from the heel: where the first and fifth ray turn
constexpr double kHalfLengthMm = 25.0;  // of the pull-in along the last: it ends before the toes' sides begin
constexpr double kHalfHeightMm = 25.0;  // and up the side
constexpr double kMostGirthMm = 6.35;   // one width fitting (Rossi 2000): beyond it another last is the better way
constexpr std::size_t kPerZone = 400;   // samples; the 5th percentile then stands on 20 of them

/// Which way the last's surface looks, the same from either side of an edge: tapes and joints lie on edges, where the
/// triangle that is nearest is a matter of rounding.
class LooksOf {
 public:
  explicit LooksOf(const Evidence& e) : e_(e), normals_(skin_normals(e.last.mesh)) {}
  SurfacePoint at(const Vec3& p) const {
    SurfacePoint there = e_.last_surface.at(p);
    there.normal = at_point(e_.last.mesh, normals_, there.triangle, there.point_mm).normalized();
    return there;
  }

 private:
  const Evidence& e_;
  std::vector<Vec3> normals_;
};

/// One side of the last moved in at the joint, by a unit.
Bump pull_in_at(const LooksOf& last, const Vec3& joint) {
  Bump bump = bump_at(last.at(joint));
  bump.half_length_mm = kHalfLengthMm;
  bump.half_width_mm = kHalfHeightMm;
  bump.core_share = 0.0;
  bump.height_mm = 1.0;
  return bump;
}

/// Why a side of the joint is not pulled in; empty when it may be.
struct ClosedSides {
  Message inside, outside;
};
ClosedSides closed_sides(const Evidence& e, const LooksOf& looks, const Observations& seen, const BonyPoints& bony) {
  ClosedSides closed;
  if (bony.inside) closed.inside = {"tightening.closed.inside_stands_out"};
  if (bony.outside) closed.outside = {"tightening.closed.outside_stands_out"};
  for (const Zone zone : seen.not_measured) {
    if (zone == Zone::inside_joint) closed.inside = {"tightening.closed.inside_not_measured"};
    if (zone == Zone::outside_joint) closed.outside = {"tightening.closed.outside_not_measured"};
  }
  const std::vector<Bump> inside = {pull_in_at(looks, e.last.first_joint)},
                          outside = {pull_in_at(looks, e.last.fifth_joint)};
  for (const PosedSpot& spot : seen.marked_spots) {
    // Pressed by the pull-in itself, anywhere in its round, or carried along with its ray.
    const auto presses = [&](const std::vector<Bump>& side) {
      return height_at(side, e.clearance.last_point_mm[spot.vertex]) > 0.0 ||
             std::ranges::any_of(spot.around,
                                 [&](std::uint32_t v) { return height_at(side, e.clearance.last_point_mm[v]) > 0.0; });
    };
    const int toe = e.skin.toe[spot.vertex];
    if (presses(inside) || toe == 1) closed.inside = {"tightening.closed.inside_marked"};
    if (presses(outside) || toe == 5) closed.outside = {"tightening.closed.outside_marked"};
  }
  return closed;
}

/// The joint pulled in, one bump of unit height a side, and how the skin goes along.
class PullIn {
 public:
  PullIn(const Evidence& e, bool inside, bool outside)
      : evidence_(e), looks_(e), all_(sampled(e.clearance, e.skin, kPerZone)), inside_(inside), outside_(outside) {
    if (inside) bumps_.push_back(pull_in_at(looks_, e.last.first_joint));
    if (outside) bumps_.push_back(pull_in_at(looks_, e.last.fifth_joint));
  }

  Vec3 outward(const Vec3& last_point_mm) const { return looks_.at(last_point_mm).normal; }

  double inward_share(const Vec3& last_point_mm) const { return height_at(bumps_, last_point_mm); }

  std::vector<ZoneClearance> zones(double inward_mm) const {
    ClearanceField field = all_.field;
    for_blocks(all_.vertex.size(), 256, [&](std::size_t begin, std::size_t end) {
      for (std::size_t i = begin; i < end; ++i) {
        const Vec3 shift = evidence_.registration.last_from_foot.linear() *
                           carried(evidence_.foot.mesh.vertices[all_.vertex[i]], all_.skin.toe[i], inward_mm);
        const Vec3& skin = all_.field.skin_mm[i];
        Vec3 last_point = all_.field.last_point_mm[i];
        double clearance = all_.field.clearance_mm[i];
        if (shift != Vec3::Zero()) {
          const SurfacePoint here = evidence_.last_surface.at(skin), there = evidence_.last_surface.at(skin + shift);
          if (there.on_rim) continue;
          last_point = there.point_mm;
          clearance += here.distance_mm - there.distance_mm;  // the difference: the field itself is evened
        }
        // The last's own move is taken to first order: a slope of s / 25 mm makes an error under 0.1 mm.
        field.clearance_mm[i] = clearance - inward_mm * inward_share(last_point);
      }
    });
    std::vector<ZoneClearance> result;
    for (const ZoneClearance& zone : by_zone(field, all_.skin))
      if (traits_of(zone.zone).moves_with_joint) result.push_back(zone);
    return result;
  }

  /// Pulling in the joint turns the outer toes towards the others: how near that brings them, to first order.
  std::vector<Tightening::ToeGap> toe_gaps(double inward_mm) const {
    std::vector<Tightening::ToeGap> gaps;
    for (const int toe : {1, 4}) {
      const std::vector<Vec3> one = toe_end(toe), other = toe_end(toe + 1);
      const Vec3 *p = nullptr, *q = nullptr;
      for (const Vec3& a : one)
        for (const Vec3& b : other)
          if (!p || (b - a).squaredNorm() < (*q - *p).squaredNorm()) p = &a, q = &b;
      if (!p) continue;
      const double gap = (*q - *p).norm();
      constexpr double kTouchingMm = 0.1;  // toes of one skin: the closest pair has no direction
      const Vec3 towards = gap > kTouchingMm ? Vec3((*q - *p) / gap) : Vec3(-Vec3::UnitY());
      gaps.push_back({toe, gap, gap + towards.dot(carried(*q, toe + 1, inward_mm) - carried(*p, toe, inward_mm))});
    }
    return gaps;
  }

 private:
  /// Skin of a toe's end, where it stands free of the next one (foot frame).
  std::vector<Vec3> toe_end(int toe) const {
    constexpr std::size_t kEnough = 1500;  // all pairs are looked at
    std::vector<Vec3> points;
    const Mesh& mesh = evidence_.foot.mesh;
    const double from_x = evidence_.foot.landmarks.toe_tips[static_cast<std::size_t>(toe - 1)].x() - kToeEnd_mm;
    for (std::size_t i = 0; i < mesh.vertices.size(); ++i)
      if (evidence_.skin.toe[i] == toe && mesh.vertices[i].x() > from_x) points.push_back(mesh.vertices[i]);
    const std::size_t stride = 1 + points.size() / kEnough;
    std::vector<Vec3> thinned;
    for (std::size_t i = 0; i < points.size(); i += stride) thinned.push_back(points[i]);
    return thinned;
  }

  /// How a point of the skin moves with its ray (foot frame): the first turns outwards-in about its base, the fifth
  /// likewise; a toe goes whole with its ray, the skin between them by its place across the joint.
  Vec3 carried(const Vec3& p, int toe, double inward_mm) const {
    const FootLandmarks& marks = evidence_.foot.landmarks;
    const Vec2 across = (marks.first_joint - marks.fifth_joint).head<2>();
    const double place = (p - marks.fifth_joint).head<2>().dot(across) / across.squaredNorm();  // 0 fifth .. 1 first
    double first = std::clamp(2.0 * place - 1.0, 0.0, 1.0), fifth = std::clamp(1.0 - 2.0 * place, 0.0, 1.0);
    if (toe != 0) first = toe == 1 ? 1.0 : 0.0, fifth = toe == 5 ? 1.0 : 0.0;
    Vec3 shift = Vec3::Zero();
    if (inside_) shift += first * turned(p, marks.first_joint, -inward_mm);
    if (outside_) shift += fifth * turned(p, marks.fifth_joint, inward_mm);
    return shift;
  }

  /// The move of `p` when the ray turns so far that its joint goes by the bones' share of `sideways_mm`.
  Vec3 turned(const Vec3& p, const Vec3& joint, double sideways_mm) const {
    // The ray's base lies half as far from the foot's axis as its joint; our choice.
    const Vec3 base(kRayBase * evidence_.foot_measures.length_mm, joint.y() / 2.0, 0.0);
    const double lever = joint.x() - base.x();
    if (p.x() <= base.x() || lever <= 0.0) return Vec3::Zero();
    const Eigen::AngleAxisd turn(std::atan(kBoneShare * sideways_mm / lever), Vec3::UnitZ());
    // Only skin before the base turns; sideways parts of the arm shrink to nothing there, so that nothing jumps.
    const Vec3 arm = p - base;
    return (turn * arm - arm) * std::min(1.0, arm.x() / lever * 2.0);
  }

  const Evidence& evidence_;
  LooksOf looks_;
  SkinSample all_;
  bool inside_, outside_;
  std::vector<Bump> bumps_;
};

double length_mm(const std::vector<Vec3>& loop) {
  double length = 0.0;
  for (std::size_t i = 0; i < loop.size(); ++i) length += (loop[(i + 1) % loop.size()] - loop[i]).norm();
  return length;
}

/// By how much the taped joint girth shrinks when the sides move in.
double girth_less_mm(const Evidence& e, const PullIn& pull_in, double inward_mm) {
  std::vector<Vec3> loop = e.last_measures.joint_girth.loop_mm;
  for (Vec3& p : loop) p -= inward_mm * pull_in.inward_share(p) * pull_in.outward(p);
  return length_mm(e.last_measures.joint_girth.loop_mm) - length_mm(loop);
}

/// The zone that the pull-in brings furthest beyond what is judged clear, none when all stay within. A zone that was
/// beyond it before must not get worse.
std::optional<Zone> first_beyond(const std::vector<ZoneVerdict>& zones, const std::vector<ZoneClearance>& before,
                                 const std::vector<ZoneClearance>& after, const Rules& rules, Wearer wearer) {
  constexpr double kUnchangedMm = 0.02;  // less than any measurement here
  std::optional<Zone> worst;
  double worst_mm = 0.0;
  for (const ZoneVerdict& zone : zones) {
    const ZoneClearance &is = zone.clearance, *old_sample = find_zone(before, is.zone),
                        *new_sample = find_zone(after, is.zone);
    if (!old_sample || !new_sample) continue;
    const double change = new_sample->p05_mm - old_sample->p05_mm;
    const double least = clear_from_mm(is.sigma_mm, limits_for(rule_by(rules, rule_of(is.zone)), wearer));
    const double allowed = is.p05_mm < least ? is.p05_mm - kUnchangedMm : least;
    const double beyond = allowed - (is.p05_mm + change);
    if (beyond > worst_mm) {
      worst = is.zone;
      worst_mm = beyond;
    }
  }
  return worst;
}

/// Of how far a side goes in: as far as the room that stops it is in doubt, by what of the move arrives there.
double inward_sigma_mm(const std::vector<ZoneVerdict>& zones, const std::vector<ZoneClearance>& before,
                       const std::vector<ZoneClearance>& after, Zone stop, double inward_mm) {
  constexpr double kLeastShare = 0.1;  // less arrives nowhere that stops it
  const auto is = std::ranges::find(zones, stop, [](const ZoneVerdict& z) { return z.clearance.zone; });
  const double share = (find_zone(before, stop)->p05_mm - find_zone(after, stop)->p05_mm) / inward_mm;
  return is->clearance.sigma_mm / std::max(kLeastShare, share);
}

/// Why nothing is pulled in, before anything is tried; empty when there is no reason.
Message reason_against(const ClosedSides& closed, const Judgement& judgement) {
  if (!closed.inside.empty() && !closed.outside.empty())
    return {"tightening.neither_side", {{"inside", closed.inside}, {"outside", closed.outside}}};
  for (const ZoneVerdict& zone : judgement.zones)
    if (zone.verdict == Verdict::pinch) return {"tightening.presses", {{"zone", zone_message(zone.clearance.zone)}}};
  for (const Finding& finding : judgement.findings)
    if (finding.verdict == Verdict::pinch)
      return finding.zone ? Message{"tightening.presses", {{"zone", zone_message(*finding.zone)}}}
                          : Message{"tightening.too_little_room"};
  return {};
}

/// As far as the sides go in: until a zone is brought beyond what is judged clear, or by the most that is offered.
struct FurthestIn {
  double inward_mm = 0.0;
  std::optional<Zone> stopped_by;
  std::vector<ZoneClearance> after;
};

FurthestIn furthest_in(const PullIn& pull_in, const std::vector<ZoneVerdict>& zones,
                       const std::vector<ZoneClearance>& before, double most_mm, const Rules& rules, Wearer wearer) {
  double within_mm = 0.0, beyond_mm = most_mm;
  std::vector<ZoneClearance> after = pull_in.zones(beyond_mm);
  std::optional<Zone> stopped_by = first_beyond(zones, before, after, rules, wearer);
  if (!stopped_by) return {most_mm, stopped_by, std::move(after)};
  constexpr double kFineMm = 0.01;   // a rasp's stroke is coarser
  constexpr int kMostHalvings = 40;  // enough from a thousand kilometres; never endless, whatever the numbers are
  for (int halving = 0; halving < kMostHalvings && beyond_mm - within_mm > kFineMm; ++halving) {
    const double middle = (within_mm + beyond_mm) / 2.0;
    const std::optional<Zone> stop = first_beyond(zones, before, pull_in.zones(middle), rules, wearer);
    (stop ? beyond_mm : within_mm) = middle;
    if (stop) stopped_by = stop;
  }
  return {within_mm, stopped_by, pull_in.zones(within_mm)};
}

std::vector<Tightening::Effect> effects_of(const std::vector<ZoneVerdict>& zones,
                                           const std::vector<ZoneClearance>& before,
                                           const std::vector<ZoneClearance>& after) {
  std::vector<Tightening::Effect> effects;
  for (const ZoneClearance& old_sample : before) {
    const ZoneClearance* new_sample = find_zone(after, old_sample.zone);
    const auto is = std::find_if(zones.begin(), zones.end(),
                                 [&](const ZoneVerdict& z) { return z.clearance.zone == old_sample.zone; });
    if (!new_sample || is == zones.end()) continue;
    const double p05 = is->clearance.p05_mm;
    effects.push_back({old_sample.zone, p05, p05 + new_sample->p05_mm - old_sample.p05_mm});
  }
  return effects;
}

void offer(const Evidence& e, const Observations& seen, const Judgement& judgement, const Rules& rules, Wearer wearer,
           Tightening& result) {
  const std::vector<ZoneVerdict>& zones = judgement.zones;
  const ClosedSides closed = closed_sides(e, LooksOf(e), seen, judgement.bony);
  result.why = reason_against(closed, judgement);
  if (!result.why.empty()) return;

  const PullIn pull_in(e, closed.inside.empty(), closed.outside.empty());
  const std::vector<ZoneClearance> before = pull_in.zones(0.0);
  const double girth_per_mm = girth_less_mm(e, pull_in, 1.0);
  if (girth_per_mm <= 0.0) {
    result.why = {"tightening.girth_elsewhere"};
    return;
  }
  const auto [inward_mm, stopped_by, after] =
      furthest_in(pull_in, zones, before, kMostGirthMm / girth_per_mm, rules, wearer);

  constexpr double kWorthwhileMm = 0.5;  // of girth: less than can be taped
  const double girth_mm = girth_less_mm(e, pull_in, inward_mm);
  const Message sides = !closed.inside.empty()    ? Message{"tightening.outside_only", {{"why", closed.inside}}}
                        : !closed.outside.empty() ? Message{"tightening.inside_only", {{"why", closed.outside}}}
                                                  : Message{};
  const Message zone = stopped_by ? zone_message(*stopped_by) : Message{};
  if (girth_mm < kWorthwhileMm) {
    result.why = {"tightening.no_room", {{"zone", zone}, {"sides", sides}}};
    return;
  }
  result.joint_girth_mm = girth_mm;
  result.inside_mm = closed.inside.empty() ? inward_mm : 0.0;
  result.outside_mm = closed.outside.empty() ? inward_mm : 0.0;
  if (stopped_by) result.sigma_mm = inward_sigma_mm(zones, before, after, *stopped_by, inward_mm);
  result.why = {stopped_by ? "tightening.stopped_by" : "tightening.one_fitting", {{"zone", zone}, {"sides", sides}}};
  result.effects = effects_of(zones, before, after);
  result.toe_gaps = pull_in.toe_gaps(inward_mm);
}

}  // namespace

std::vector<Tightening::ToeGap> toe_gaps_with_joint_pulled_in(const Evidence& evidence, double inward_mm) {
  return PullIn(evidence, true, true).toe_gaps(inward_mm);
}

std::vector<ZoneClearance> with_joint_pulled_in(const Evidence& evidence, double inward_mm, bool inside, bool outside) {
  return PullIn(evidence, inside, outside).zones(inward_mm);
}

Tightening tightening_of(const Evidence& evidence, const Observations& seen, const Judgement& judgement,
                         const Rules& rules, Wearer wearer) {
  Tightening result;
  switch (wearer) {
    case Wearer::standard:
      offer(evidence, seen, judgement, rules, wearer, result);
      break;
    case Wearer::at_risk:
      result.why = {"tightening.at_risk"};
      break;
    case Wearer::unknown:
      result.why = {"tightening.unknown_wearer"};
      break;
  }
  result.freedom = freedom_map(evidence, seen, judgement.bony, rules, wearer);
  // Where none is offered none may be read off the map.
  if (result.joint_girth_mm == 0.0) std::ranges::replace(result.freedom, Freedom::may_tighten, Freedom::keep);
  const std::vector<double> areas = vertex_areas_mm2(evidence.last.mesh);
  for (std::size_t i = 0; i < areas.size(); ++i)
    result.area_mm2[static_cast<std::size_t>(result.freedom[i])] += areas[i];
  return result;
}

}  // namespace lastroom
