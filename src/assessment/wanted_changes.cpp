#include "assessment/wanted_changes.h"

#include <algorithm>
#include <array>
#include <functional>

#include "assessment/judge.h"
#include "assessment/marked_spots.h"

namespace lastroom {
namespace {

constexpr double kSpare_mm = 0.2;  // beyond what is lacking; our choice

/// Collects what is wanted of the last by skin.
class Collector {
 public:
  Collector(const ClearanceField& field, const Last& last)
      : field_(field), mesh_(last.mesh), surface_(SignedDistance::looking_at(last.mesh)) {}

  void want(std::size_t skin, double mm, Zone zone) {
    const Vec3& place = field_.last_point_mm[skin];
    const Triangle& t = mesh_.triangles[surface_.at(place).triangle];
    const std::uint32_t nearest =
        *std::ranges::min_element(t, {}, [&](std::uint32_t v) { return (mesh_.vertices[v] - place).squaredNorm(); });
    wanted_.push_back({{nearest, mm}, zone});
  }

  /// Where the toes' upper ends stand out of the last once they go `ahead_mm` forward: by how much at most, and what is
  /// wanted of the roof for it.
  double want_roof(const SkinMap& skin, double ahead_mm) {
    std::array<double, 6> foremost{};
    foremost.fill(-1e9);
    for (std::size_t i = 0; i < skin.toe.size(); ++i)
      foremost[skin.toe[i]] = std::max(foremost[skin.toe[i]], field_.skin_mm[i].x());
    constexpr double kUpper = 0.3;  // of a toe's end, what looks up
    double most_mm = 0.0;
    for (std::size_t i = 0; i < skin.toe.size(); ++i) {
      const Vec3& p = field_.skin_mm[i];
      if (skin.toe[i] == 0 || field_.skin_normal[i].z() < kUpper || p.x() < foremost[skin.toe[i]] - kToeEnd_mm)
        continue;
      const SurfacePoint there = surface_.at(p + ahead_mm * Vec3::UnitX());
      const double out_mm = there.distance_mm + field_.sock_mm;
      if (out_mm <= 0.0) continue;
      most_mm = std::max(most_mm, out_mm);
      want_at(there, out_mm + kSpare_mm, Zone::toe_tops);
    }
    return most_mm;
  }
  std::size_t count() const { return wanted_.size(); }
  void forget_after(std::size_t count) { wanted_.resize(count); }

  /// One a vertex of the last: the most that any skin wants of it.
  std::vector<WantedAt> most_of_each() && {
    std::ranges::stable_sort(wanted_, [](const WantedAt& a, const WantedAt& b) {
      return std::pair{a.place.vertex, -a.place.mm} < std::pair{b.place.vertex, -b.place.mm};
    });
    const auto same = [](const WantedAt& a, const WantedAt& b) { return a.place.vertex == b.place.vertex; };
    wanted_.erase(std::unique(wanted_.begin(), wanted_.end(), same), wanted_.end());
    return std::move(wanted_);
  }

 private:
  void want_at(const SurfacePoint& place, double mm, Zone zone) {
    const Triangle& t = mesh_.triangles[place.triangle];
    const std::uint32_t nearest = *std::ranges::min_element(
        t, {}, [&](std::uint32_t v) { return (mesh_.vertices[v] - place.point_mm).squaredNorm(); });
    wanted_.push_back({{nearest, mm}, zone});
  }

  const ClearanceField& field_;
  const Mesh& mesh_;
  SignedDistance surface_;
  std::vector<WantedAt> wanted_;
};

/// The toe, or the group of toes, whose headroom this is.
std::optional<ToeGroup> toes_of(const Finding& finding, const ToeRoom& toes, const FootLandmarks& marks) {
  for (std::size_t k = 0; k < 5; ++k)
    if (finding.at_mm && *finding.at_mm == toes.headroom_at_mm[k]) return group_of_toe(marks, k);
  return std::nullopt;
}

}  // namespace

std::vector<Wanted> places_of(const std::vector<WantedAt>& wanted) {
  std::vector<Wanted> places;
  for (const WantedAt& w : wanted) places.push_back(w.place);
  return places;
}

namespace {

/// Everything that pinches, and what each asks for.
class Asked {
 public:
  Asked(const Evidence& e, const ClearanceField& field, const ToeRoom& toes, const Last& last, const Rules& rules,
        Wearer wearer)
      : e_(e), field_(field), toes_(toes), rules_(rules), wearer_(wearer), all_(field, last) {}

  void zone(const ZoneVerdict& z) {
    const ZoneClearance& c = z.clearance;
    if (z.verdict == Verdict::pinch)
      where(least_mm(rule_of(c.zone), c.sigma_mm), c.p05_mm, c.zone,
            [&](std::size_t i) { return e_.skin.zone[i] == c.zone; });
  }

  void finding(const Finding& finding, const std::vector<ZoneVerdict>& zones) {
    if (finding.verdict != Verdict::pinch || !finding.measured_mm || !finding.sigma_mm) return;
    const double least = least_mm(finding.rule, *finding.sigma_mm), room = *finding.measured_mm;
    constexpr double kPatchRadius_mm = 5.7;  // of a square centimetre's disc
    if (finding.rule == RuleId::toe_room)
      toe_room(least, least - room);
    else if (finding.rule == RuleId::allowance)
      longer(least - room);
    else if (finding.rule == RuleId::marked_spot && finding.zone)
      where(least, room, *finding.zone, near(*finding.at_mm, kSpotRadiusMm));
    else if (finding.rule == RuleId::worst_patch && finding.zone)
      where(least, room, *finding.zone, near(*finding.at_mm, kPatchRadius_mm));
    else if (finding.rule == RuleId::toe_width_room)
      toe_width(0.5 * (least - room), zones);
    else if (const std::optional<ToeGroup> group = toes_of(finding, toes_, e_.foot.landmarks))
      roof(least, room, *group);
  }

  WantedChanges result() && { return {std::move(all_).most_of_each(), longer_mm_}; }

 private:
  double least_mm(RuleId rule, double sigma_mm) const {
    return clear_from_mm(sigma_mm, limits_for(rule_by(rules_, rule), wearer_));
  }

  template <class IsThere>
  void where(double least, double room_mm, Zone zone, const IsThere& is_there) {
    for (std::size_t i = 0; i < field_.clearance_mm.size(); ++i)
      if (field_.clearance_mm[i] < least && is_judged(field_, e_.skin, i) && is_there(i))
        all_.want(i, std::min(least - field_.clearance_mm[i], least - room_mm) + kSpare_mm, zone);
  }

  std::function<bool(std::size_t)> near(const Vec3& at_mm, double radius_mm) const {
    return [this, at_mm, radius_mm](std::size_t i) {
      return (field_.skin_mm[i] - at_mm).squaredNorm() < radius_mm * radius_mm;
    };
  }

  void longer(double lacking_mm) { longer_mm_ = std::max(longer_mm_, lacking_mm + kSpare_mm); }

  /// A roof that is low before the toes is raised; a last that ends there is lengthened.
  void toe_room(double least, double lacking_mm) {
    constexpr double kLowRoof = 0.6;  // of what is lacking; our choice
    const std::size_t before = all_.count();
    if (all_.want_roof(e_.skin, least) < kLowRoof * lacking_mm) return;
    all_.forget_after(before);
    longer(lacking_mm);
  }

  /// Half of it on either side.
  void toe_width(double more_mm, const std::vector<ZoneVerdict>& zones) {
    for (const ZoneVerdict& z : zones)
      if (z.clearance.zone == Zone::big_toe_side || z.clearance.zone == Zone::fifth_toe_side)
        where(z.clearance.p05_mm + more_mm, z.clearance.p05_mm, z.clearance.zone,
              [&](std::size_t i) { return e_.skin.zone[i] == z.clearance.zone; });
  }

  /// No skin has less room upwards than it has to the nearest of the last.
  void roof(double least, double room, const ToeGroup& group) {
    constexpr double kLooksUp = 0.8;  // as toe_room: the toe's back
    where(least, room, Zone::toe_tops, [&](std::size_t i) {
      return e_.skin.toe[i] > group.first && e_.skin.toe[i] <= group.last + 1 && field_.skin_normal[i].z() > kLooksUp;
    });
  }

  const Evidence& e_;
  const ClearanceField& field_;
  const ToeRoom& toes_;
  const Rules& rules_;
  Wearer wearer_;
  Collector all_;
  double longer_mm_ = 0.0;
};

}  // namespace

WantedChanges wanted_changes(const Evidence& e, const Judgement& judgement, const ClearanceField& field,
                             const ToeRoom& toes, const Last& last, const Rules& rules,
                             const AssessmentSettings& settings) {
  Asked asked(e, field, toes, last, rules, settings.wearer);
  for (const ZoneVerdict& zone : judgement.zones) asked.zone(zone);
  for (const Finding& finding : judgement.findings) asked.finding(finding, judgement.zones);
  return std::move(asked).result();
}

std::vector<WantedAt> wanted_down(const Evidence& e, const Judgement& judgement, const ClearanceField& field,
                                  const Last& last, const Rules& rules, const AssessmentSettings& settings) {
  constexpr double kBelowSlack_mm = 0.5;  // our choice: enough that the next measurement does not call it slack again
  Collector all(field, last);
  for (const ZoneVerdict& z : judgement.zones) {
    const Zone zone = z.clearance.zone;
    if (z.verdict != Verdict::slack) continue;
    const double most = *limits_for(rule_by(rules, rule_of(zone)), settings.wearer).slack_above_mm - kBelowSlack_mm;
    for (std::size_t i = 0; i < field.clearance_mm.size(); ++i)
      if (e.skin.zone[i] == zone && is_judged(field, e.skin, i))
        all.want(i, std::max(0.0, field.clearance_mm[i] - most), zone);
  }
  return std::move(all).most_of_each();
}

std::vector<Lacking> lacking_of(const Judgement& judgement, const Rules& rules, Wearer wearer) {
  std::vector<Lacking> result;
  for (const Finding& finding : judgement.findings)
    if (finding.verdict == Verdict::pinch && finding.measured_mm && finding.sigma_mm)
      result.push_back(
          {finding.rule, finding.zone,
           clear_from_mm(*finding.sigma_mm, limits_for(rule_by(rules, finding.rule), wearer)) - *finding.measured_mm});
  return result;
}

}  // namespace lastroom
