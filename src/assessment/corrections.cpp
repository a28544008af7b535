#include "assessment/corrections.h"

#include <algorithm>
#include <cmath>

#include "assessment/change_shape.h"
#include "assessment/freedom_map.h"
#include "assessment/judge.h"
#include "assessment/wanted_changes.h"

namespace lastroom {
namespace {

constexpr double kMostHeight_mm = 12.0;      // built up by more, it is another last; our choice
constexpr double kMostLonger_mm = 25.4 / 3;  // one size (Rossi 2000; ISO/TS 19407); beyond it, another last: our choice
constexpr std::size_t kMostChanges = 3;

/// The changes as they are being sought.
struct Plan {
  std::vector<double> height_mm;
  double longer_mm = 0.0;
};

/// A last with a plan carried out, the foot settled in it and judged by the same steps as in the first.
struct Tried {
  Plan plan;
  Last last;
  LastMeasures measures;
  ClearanceField field;
  ToeRoom toes;
  Judgement judgement;
  int pinches = 0;
  bool worse = false;
};

int pinches_in(const Judgement& judgement) {
  return static_cast<int>(std::ranges::count(judgement.zones, Verdict::pinch, &ZoneVerdict::verdict) +
                          std::ranges::count(judgement.findings, Verdict::pinch, &Finding::verdict));
}

/// A zone that presses and has lost more than its doubt.
bool zone_is_worse(const std::vector<ZoneVerdict>& before, const std::vector<ZoneVerdict>& after) {
  return std::ranges::any_of(after, [&](const ZoneVerdict& now) {
    const auto was =
        std::ranges::find_if(before, [&](const ZoneVerdict& z) { return z.clearance.zone == now.clearance.zone; });
    return now.verdict >= Verdict::watch && was != before.end() &&
           now.clearance.p05_mm < was->clearance.p05_mm - now.clearance.sigma_mm;
  });
}

/// A girth that lies further beyond its limit, by more than its doubt.
bool girth_is_worse(const FootMeasures& foot, const LastMeasures& before, const LastMeasures& after, const Rules& rules,
                    Wearer wearer) {
  constexpr double kDoubt_mm = 1.5;  // repeat error of a scanned girth (Lee, Lin, Wang 2014)
  const auto is_worse = [&](RuleId rule, const Girth& of_foot, const Girth& was, const Girth& is) {
    const std::optional<double> limit_mm = limits_for(rule_by(rules, rule), wearer).watch_above_mm;
    if (!limit_mm || !(of_foot.mm > 0.0 && was.mm > 0.0 && is.mm > 0.0)) return false;
    const auto beyond = [&](double mm) { return std::max(0.0, std::abs(mm - of_foot.mm) - *limit_mm); };
    return beyond(is.mm) > beyond(was.mm) + kDoubt_mm;
  };
  return is_worse(RuleId::joint_girth, foot.joint_girth, before.joint_girth, after.joint_girth) ||
         is_worse(RuleId::waist_girth, foot.waist_girth, before.waist_girth, after.waist_girth) ||
         is_worse(RuleId::instep_girth, foot.instep_girth, before.instep_girth, after.instep_girth) ||
         is_worse(RuleId::heel_girth, foot.heel_girth, before.heel_girth, after.heel_girth);
}

class Search {
 public:
  Search(const Evidence& evidence, const Observations& seen, const Judgement& judgement, const Rules& rules,
         const AssessmentSettings& settings, const Settle& settle)
      : e_(evidence),
        before_(judgement),
        rules_(rules),
        settings_(settings),
        settle_(settle),
        // Over a marked spot nothing is changed without the clinician, unless the wearer feels what it does.
        shape_(evidence.last, feels() ? std::vector<Vec3>() : spared_places(evidence, seen, {}),
               spared_places(evidence, seen, judgement.bony)),
        best_(as_it_is()) {}

  Corrections found() {
    build_up();
    if (best_.pinches == 0) leave_out_what_can_be();
    if (feels() && best_.pinches == 0) take_down();
    Corrections result;
    if (best_.pinches > 0) {
      result.lacking = lacking_of(before_, rules_, settings_.wearer);
      return result;
    }
    const std::vector<Named> named = named_parts(best_.plan);
    if (named.empty() && best_.plan.longer_mm == 0.0) return result;
    for (const Named& part : named) result.changes.push_back(part.correction);
    std::ranges::stable_sort(result.changes, {}, &Correction::operation);
    if (best_.plan.longer_mm > 0.0) result.changes.push_back(lengthening());
    result.height_mm.resize(e_.last.mesh.vertices.size());
    for (std::size_t i = 0; i < result.height_mm.size(); ++i)
      result.height_mm[i] = shape_.normals()[i].dot(best_.last.mesh.vertices[i] - e_.last.mesh.vertices[i]);
    result.corrected_last = std::move(best_.last);
    result.zones_after = std::move(best_.judgement.zones);
    result.measures_after = std::move(best_.measures);
    result.toe_room_after = std::move(best_.toes);
    result.verdict_after = best_.judgement.verdict;
    return result;
  }

 private:
  struct Named {
    std::vector<std::uint32_t> part;
    Correction correction;
  };

  bool feels() const { return settings_.wearer == Wearer::standard; }

  /// Member by member: where memory ends inside a list of them, GCC 12 destroys the first ones twice.
  Tried as_it_is() const {
    Tried result;
    result.plan.height_mm.assign(e_.last.mesh.vertices.size(), 0.0);
    result.last = e_.last;
    result.measures = e_.last_measures;
    result.field = e_.clearance;
    result.toes = e_.toe_room;
    result.judgement = before_;
    result.pinches = pinches_in(before_);
    return result;
  }

  Tried tried(Plan plan) const {
    for (double& mm : plan.height_mm) mm = std::clamp(mm, -kMostHeight_mm, kMostHeight_mm);
    Tried result;
    result.last = shape_.changed(plan.height_mm, plan.longer_mm);
    const SignedDistance surface = SignedDistance::looking_at(result.last.mesh);
    const Registration pose = settle_ ? settle_(result.last, surface) : e_.registration;
    const RegistrationSettings scanner{e_.clearance.sock_mm, e_.clearance.scan_error_mm};
    result.field = clearance_between(e_.foot, pose, surface, scanner, result.last.top);
    result.toes = toe_room(e_.foot, e_.skin, result.field, result.last);
    const bool measured = e_.last_measures.length_mm > 0.0;
    result.measures = measured ? measure_last(result.last) : e_.last_measures;
    const Evidence changed{e_.foot, result.last,  e_.foot_measures, result.measures, e_.skin,
                           pose,    result.field, result.toes,      surface};
    result.judgement = judgement_of(changed, observed(changed), rules_, settings_);
    result.pinches = pinches_in(result.judgement) + (pose.converged ? 0 : 1);
    result.worse = zone_is_worse(before_.zones, result.judgement.zones) ||
                   girth_is_worse(e_.foot_measures, e_.last_measures, result.measures, rules_, settings_.wearer);
    result.plan = std::move(plan);
    return result;
  }

  /// More and more, until nothing pinches: what the first order does not foresee is asked of the changed last.
  void build_up() {
    constexpr int kRounds = 4, kThenOverTheEdge = 2;
    constexpr double kGentler[] = {0.7, 0.5};  // watch is enough where more would cost another place its room
    Tried now = best_;
    for (int round = 0; round < kRounds && now.pinches > 0; ++round) {
      const WantedChanges wanted = wanted_changes(e_, now.judgement, now.field, now.toes, now.last, rules_, settings_);
      Plan plan = now.plan;
      plan.longer_mm = std::min(kMostLonger_mm, plan.longer_mm + wanted.longer_mm);
      if (wanted.up.empty() && plan.longer_mm == now.plan.longer_mm) return;
      note(wanted);
      const std::vector<double> more = shape_.built_up(wanted.places(), round >= kThenOverTheEdge);
      for (std::size_t i = 0; i < more.size(); ++i) plan.height_mm[i] += more[i];
      now = tried(std::move(plan));
    }
    for (const double share : kGentler) {
      if (now.pinches > 0 || !now.worse) break;
      Plan gentler = now.plan;
      for (double& mm : gentler.height_mm) mm *= share / (share == kGentler[0] ? 1.0 : kGentler[0]);
      Tried less = tried(std::move(gentler));
      if (less.pinches > 0) break;
      now = std::move(less);
    }
    if (now.pinches == 0 && !now.worse) best_ = std::move(now);
  }

  /// The smallest first: what is not needed is not done.
  void leave_out_what_can_be() {
    constexpr std::size_t kMostTried = 3;
    const std::vector<std::vector<std::uint32_t>> parts = shape_.parts(best_.plan.height_mm);
    for (std::size_t k = 0; k < kMostTried && k + 1 < parts.size(); ++k) {
      Plan without = best_.plan;
      for (const std::uint32_t v : parts[parts.size() - 1 - k]) without.height_mm[v] = 0.0;
      Tried less = tried(std::move(without));
      if (less.pinches == 0 && !less.worse) best_ = std::move(less);
    }
  }

  /// What is slack, as long as nothing presses for it and the list stays short.
  void take_down() {
    const std::vector<WantedAt> wanted = wanted_down(e_, best_.judgement, best_.field, best_.last, rules_, settings_);
    if (wanted.empty()) return;
    const std::vector<double> down = shape_.taken_down(places_of(wanted));
    wanted_.insert(wanted_.end(), wanted.begin(), wanted.end());
    for (const double share : {1.0, 0.5}) {
      Plan plan = best_.plan;
      for (std::size_t i = 0; i < down.size(); ++i)
        if (plan.height_mm[i] < ChangeShape::kEdge_mm) plan.height_mm[i] += share * down[i];
      Tried less = tried(with_few_taken_down(std::move(plan)));
      if (less.pinches > 0 || less.worse || less.judgement.verdict > best_.judgement.verdict) continue;
      best_ = std::move(less);
      return;
    }
  }

  /// The smallest of what is taken down is left as it is, until the list is short.
  Plan with_few_taken_down(Plan plan) const {
    std::vector<Named> named = named_parts(plan);
    const std::size_t longer = plan.longer_mm > 0.0 ? 1 : 0;
    for (std::size_t k = named.size(), left = k + longer; k-- > 0 && left > kMostChanges;) {
      if (named[k].correction.operation != Operation::take_down) continue;
      for (const std::uint32_t v : named[k].part) plan.height_mm[v] = 0.0;
      --left;
    }
    return plan;
  }

  void note(const WantedChanges& wanted) { wanted_.insert(wanted_.end(), wanted.up.begin(), wanted.up.end()); }

  /// Every connected part as one change; one that is broader than the last's side as two, parted over the middle.
  std::vector<Named> named_parts(const Plan& plan) const {
    std::vector<Named> result;
    for (const std::vector<std::uint32_t>& part : shape_.parts(plan.height_mm)) {
      Named whole{part, named(plan, part)};
      const BenchPlace& place = whole.correction.place;
      if (place.on_bottom || place.across_mm <= place.side_mm) {
        result.push_back(std::move(whole));
        continue;
      }
      for (const std::vector<std::uint32_t>& half : shape_.halves(part))
        if (!half.empty()) result.push_back({half, named(plan, half)});
    }
    return result;
  }

  Correction named(const Plan& plan, const std::vector<std::uint32_t>& part) const {
    std::vector<double> alone(plan.height_mm.size(), 0.0);
    for (const std::uint32_t v : part) alone[v] = plan.height_mm[v];
    const std::uint32_t peak = *std::ranges::max_element(part, {}, [&](std::uint32_t v) { return std::abs(alone[v]); });
    Correction change;
    change.height_mm = alone[peak];
    change.operation = change.height_mm > 0.0 ? Operation::build_up : Operation::take_down;
    change.centre_mm = e_.last.mesh.vertices[peak];
    change.place = bench_place(e_.last, e_.last_surface, alone, peak, shape_.is_bottom(peak));
    change.station = nearest_station(e_.last, e_.last_measures, change.centre_mm);
    const auto [first, last] =
        std::ranges::minmax(part, {}, [&](std::uint32_t v) { return from_heel_mm(e_.last, e_.last.mesh.vertices[v]); });
    change.length_mm =
        from_heel_mm(e_.last, e_.last.mesh.vertices[last]) - from_heel_mm(e_.last, e_.last.mesh.vertices[first]);
    std::array<double, kZoneCount> asked{};
    for (const WantedAt& w : wanted_)
      if (alone[w.place.vertex] * change.height_mm > 0.0) asked[static_cast<std::size_t>(w.zone)] += w.place.mm;
    change.zone = static_cast<Zone>(std::ranges::max_element(asked) - asked.begin());
    return change;
  }

  Correction lengthening() const {
    Correction change;
    change.operation = Operation::lengthen;
    change.zone = Zone::middle_toes_tip;
    change.height_mm = best_.plan.longer_mm;
    change.centre_mm = e_.last.toe_end;
    change.station = nearest_station(e_.last, e_.last_measures, e_.last.toe_end);
    change.place.along_mm = from_heel_mm(e_.last, e_.last.toe_end);
    change.length_mm = e_.last.toe_end.x() - e_.last.first_joint.x();
    return change;
  }

  const Evidence& e_;
  const Judgement& before_;
  const Rules& rules_;
  const AssessmentSettings& settings_;
  const Settle& settle_;
  ChangeShape shape_;
  Tried best_;
  std::vector<WantedAt> wanted_;
};

}  // namespace

Corrections corrections_for(const Evidence& evidence, const Observations& seen, const Judgement& judgement,
                            const Rules& rules, const AssessmentSettings& settings, const Settle& settle) {
  return Search(evidence, seen, judgement, rules, settings, settle).found();
}

}  // namespace lastroom
