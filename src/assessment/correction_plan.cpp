#include "assessment/correction_plan.h"

#include <algorithm>
#include <cmath>

#include "assessment/bench_terms.h"
#include "assessment/judge.h"
#include "assessment/marked_spots.h"

namespace lastroom {
namespace {

constexpr std::size_t kPerZone = 600;   // samples
constexpr double kLeastHalfMm = 8.0;    // of a patch: smaller ones can't be built or rasped
constexpr double kSpareMm = 0.1;        // built up beyond what is needed
constexpr double kLeastHeightMm = 0.2;  // thinner than this is not worth a stroke of the rasp
constexpr double kMostHeightMm = 12.0;  // built up by more, it is another last; our choice

}  // namespace

std::vector<Bump> bumps_of(const std::vector<LastChange>& changes) {
  std::vector<Bump> bumps;
  for (const LastChange& change : changes) bumps.push_back(change.bump);
  return bumps;
}

CorrectionPlan::CorrectionPlan(const Evidence& evidence, std::vector<Vec3> spared, std::vector<Vec3> untouched,
                               const Rules& rules, Wearer wearer)
    : evidence_(evidence),
      rules_(rules),
      wearer_(wearer),
      spared_(std::move(spared)),
      untouched_(std::move(untouched)) {}

void CorrectionPlan::look_at(const ClearanceField& field) {
  sample_ = sampled(field, evidence_.skin, kPerZone);
  judged_ = changes_;
}

/// What is wanted of a zone, by what one patch covers: a toe, a side of the last, or the zone.
template <class Wanted>
std::vector<CorrectionPlan::Members> CorrectionPlan::parts_of(Zone zone, const Wanted& wanted) const {
  const std::vector<double> clearance = clearances_now();
  std::vector<Members> parts(7);  // toes 0 (none) .. 5, outside
  for (std::size_t i = 0; i < clearance.size(); ++i) {
    if (sample_.skin.zone[i] != zone || !wanted(clearance[i])) continue;
    const Vec3& place = sample_.field.last_point_mm[i];
    const bool outside = has_two_sides(zone) && place.y() < centre_y_mm(evidence_.last, place);
    parts[outside ? 6 : sample_.skin.toe[i]].push_back(i);
  }
  std::erase_if(parts, [](const Members& part) { return part.empty(); });
  return parts;
}

void CorrectionPlan::build_up(const ZoneVerdict& zone) {
  const Zone name = zone.clearance.zone;
  const double least = clear_from_mm(zone.clearance.sigma_mm, limits(rule_of(name)));
  const std::vector<ZoneClearance> now = zones_now();
  const double lacking = least - find_zone(now, name)->p05_mm;
  if (lacking <= 0.0) return;  // cured by a change before
  for (const Members& part : parts_of(name, [&](double clearance) { return clearance < least; }))
    add(name, part, lacking + kSpareMm, least);
}

/// Over one toe or a group: its roof goes up by what is lacking, measured vertically above the skin at `at_mm`.
void CorrectionPlan::raise_roof(const ToeGroup& toes, const Vec3& at_mm, double headroom_mm, double sigma_mm) {
  constexpr double kLooksUp = 0.8;  // as toe_room: the toe's back
  const double least = clear_from_mm(sigma_mm, limits(RuleId::headroom));
  const Vec3 roof = at_mm + Vec3(0.0, 0.0, headroom_mm + evidence_.clearance.sock_mm);
  const double gained = height_at(bumps_of(changes_), roof) - height_at(bumps_of(judged_), roof);
  const double lacking = least - headroom_mm - gained;
  if (lacking <= 0.0) return;
  const std::vector<double> clearance = clearances_now();
  Members members;
  for (std::size_t i = 0; i < sample_.vertex.size(); ++i)
    if (sample_.skin.toe[i] > toes.first && sample_.skin.toe[i] <= toes.last + 1 &&
        evidence_.clearance.skin_normal[sample_.vertex[i]].z() > kLooksUp &&
        clearance[i] < least)  // no skin has less room upwards than it has to the nearest of the last
      members.push_back(i);
  if (!members.empty()) add(Zone::toe_tops, members, lacking + kSpareMm, least);
}

/// Over a spot that the maker marked; `room_mm` is what it has on the last as judged.
void CorrectionPlan::relieve(const Vec3& at_mm, Zone zone, double room_mm, double sigma_mm) {
  const double least = clear_from_mm(sigma_mm, limits(RuleId::marked_spot));
  const std::vector<double> clearance = clearances_now();
  Members members;
  double gained = 0.0;
  for (std::size_t i = 0; i < sample_.vertex.size(); ++i) {
    const Vec3& skin = sample_.field.skin_mm[i];
    if ((skin - at_mm).squaredNorm() > kSpotRadiusMm * kSpotRadiusMm || clearance[i] >= least) continue;
    members.push_back(i);
    gained = std::max(gained, clearance[i] - sample_.field.clearance_mm[i]);
  }
  const double lacking = least - room_mm - gained;
  if (lacking > 0.0 && !members.empty()) add(zone, members, lacking + kSpareMm, least);
}

void CorrectionPlan::take_down(const ZoneVerdict& zone) {
  constexpr double kBelowSlackMm = 0.5;  // our choice: enough that the next measurement does not call it slack again
  const Zone name = zone.clearance.zone;
  const double slack = *limits(rule_of(name)).slack_above_mm;
  const double surplus = zone.clearance.median_mm - slack + kBelowSlackMm;
  const std::size_t before = changes_.size();
  for (const Members& part : parts_of(name, [&](double clearance) { return clearance > slack; }))
    add(name, part, -surplus, 0.0);
  changes_.erase(std::remove_if(changes_.begin() + static_cast<std::ptrdiff_t>(before), changes_.end(),
                                [&](const LastChange& change) { return reaches(spared_, change.bump); }),
                 changes_.end());
  shrink_to_fit(before);
}

bool CorrectionPlan::reaches(const std::vector<Vec3>& places, const Bump& bump) const {
  if (places.empty()) return false;
  return std::ranges::any_of(evidence_.last.mesh.vertices, [&](const Vec3& v) {
    return height_at({bump}, v) != 0.0 && std::ranges::any_of(places, [&](const Vec3& place) {
             return (v - place).squaredNorm() < kSpotRadiusMm * kSpotRadiusMm;
           });
  });
}

/// Less is taken down everywhere when a zone has lost what it could not spare.
void CorrectionPlan::take_down_less() {
  for (LastChange& change : changes_)
    if (change.bump.height_mm < 0.0) change.bump.height_mm /= 2.0;
}

std::vector<double> CorrectionPlan::clearances_now() const {
  const std::vector<Bump> bumps = bumps_of(changes_), made = bumps_of(judged_);
  std::vector<double> result = sample_.field.clearance_mm;
  for (std::size_t i = 0; i < result.size(); ++i) {
    const Vec3& place = sample_.field.last_point_mm[i];
    result[i] += height_at(bumps, place) - height_at(made, place);
  }
  return result;
}

std::vector<ZoneClearance> CorrectionPlan::zones_now() const {
  ClearanceField field = sample_.field;
  field.clearance_mm = clearances_now();
  return by_zone(field, sample_.skin);
}

/// One patch over the members' nearest points of the last, in the middle of where most is lacking. A patch that is
/// there already is made higher. One that would reach an untouched place is left out.
void CorrectionPlan::add(Zone zone, const Members& members, double height_mm, double least_mm) {
  height_mm = std::min(height_mm, kMostHeightMm);
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
  const Vec3 middle = moment / weight;
  for (LastChange& change : changes_)
    if (change.zone == zone && change.bump.height_mm * height_mm > 0.0 && share_at(change.bump, middle) > 0.5) {
      height_mm = std::min(height_mm, kMostHeightMm - change.bump.height_mm);
      Bump grown = change.bump;
      grow(grown, height_mm, places, kLeastHalfMm);
      if (!reaches(untouched_, grown)) change.bump = grown;
      return;
    }
  Bump bump = bump_at(evidence_.last_surface.at(middle));
  grow(bump, height_mm, places, kLeastHalfMm);
  if (!reaches(untouched_, bump)) changes_.push_back({zone, bump});
}

/// The changes from `first` on are made smaller until no zone loses more than it may.
void CorrectionPlan::shrink_to_fit(std::size_t first) {
  const std::vector<LastChange> whole(changes_.begin() + static_cast<std::ptrdiff_t>(first), changes_.end());
  changes_.resize(first);
  const std::vector<ZoneClearance> before = zones_now();
  const auto with_share = [&](double share) {
    changes_.resize(first);
    for (LastChange change : whole) {
      change.bump.height_mm *= share;
      changes_.push_back(change);
    }
  };
  const auto fits = [&](double share) {
    with_share(share);
    for (const ZoneClearance& after : zones_now()) {
      const double least = clear_from_mm(after.sigma_mm, limits(rule_of(after.zone)));
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
  std::erase_if(changes_, [](const LastChange& c) { return std::abs(c.bump.height_mm) < kLeastHeightMm; });
}

bool CorrectionPlan::has_new_changes() const {
  const auto same = [](const LastChange& a, const LastChange& b) {
    return a.bump.height_mm == b.bump.height_mm && a.bump.half_length_mm == b.bump.half_length_mm &&
           a.bump.half_width_mm == b.bump.half_width_mm;
  };
  return !std::equal(changes_.begin(), changes_.end(), judged_.begin(), judged_.end(), same);
}

}  // namespace lastroom
