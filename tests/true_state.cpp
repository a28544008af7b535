#include "true_state.h"

#include <algorithm>

#include "made.h"
#include "zones/toes.h"

namespace lastroom::test {
namespace {

/// By the program's own distance, but judged where the tests' wall says that the shoe can press.
ClearanceField true_field(const StandingCase& standing, const Walls& walls) {
  RegistrationSettings exact;
  exact.scan_error_mm = 0.0;
  ClearanceField field =
      clearance_between(standing.foot, standing.settled.pose, SignedDistance(standing.pair.last.mesh), exact);
  for (std::size_t i = 0; i < walls.size(); ++i) field.on_rim[i] = walls[i] ? 0 : 1;
  return field;
}

Margin pressed_or_slack(RuleId rule, std::optional<Zone> zone, double tight_mm, double loose_mm) {
  const Limits& limits = limits_of(rule);
  Margin margin{rule, zone, tight_mm, tight_mm - limits.watch_below_mm, limits.pinch_below_mm - tight_mm};
  if (!limits.slack_above_mm || *limits.slack_above_mm - loose_mm >= margin.inside_mm) return margin;
  margin.mm = loose_mm;
  margin.inside_mm = *limits.slack_above_mm - loose_mm;
  return margin;
}

}  // namespace

const Limits& limits_of(RuleId rule) {
  static const Rules rules = default_rules();
  return limits_for(rule_by(rules, rule), Wearer::standard);
}

TrueState true_state(const StandingCase& standing, const SkinMap& skin) {
  TrueState state;
  state.skin_mm = posed_skin(standing.foot, standing.settled.pose);
  state.walls = walls_around(standing.wall, skin, state.skin_mm);
  const ClearanceField field = true_field(standing, state.walls);
  state.zones = true_rooms(standing.foot.mesh, skin, state.walls);
  state.patches = worst_patches(field, skin);
  state.toes = toe_room(standing.foot, skin, field, prepared(standing.pair.last));
  const MadeLast& last = standing.pair.last;
  const FootLandmarks& foot = standing.foot.landmarks;
  const Vec3 heel_to_joint = standing.settled.pose.last_from_foot.linear() * (foot.first_joint - foot.heel);
  state.heel_to_joint_mm = last.first_joint.x() - last.heel_back.x() - heel_to_joint.x();
  return state;
}

std::vector<Margin> margins(const TrueState& state) {
  std::vector<Margin> result;
  for (const auto& [zone, room] : state.zones)
    result.push_back(pressed_or_slack(rule_of(zone), zone, room.p05_mm, room.median_mm));
  const auto room = [&](RuleId rule, std::optional<double> mm, std::optional<Zone> zone = {}) {
    if (mm) result.push_back(pressed_or_slack(rule, zone, *mm, *mm));
  };
  for (const WorstPatch& patch : state.patches)
    if (!is_under_the_foot(patch.zone)) room(RuleId::worst_patch, patch.mm, patch.zone);
  room(RuleId::toe_room, state.toes.tip_mm);
  room(RuleId::allowance, state.toes.allowance_mm);
  for (const auto& mm : state.toes.headroom_mm) room(RuleId::headroom, mm, Zone::toe_tops);
  const auto big = state.zones.find(Zone::big_toe_side), fifth = state.zones.find(Zone::fifth_toe_side);
  if (big != state.zones.end() && fifth != state.zones.end())
    room(RuleId::toe_width_room, big->second.p05_mm + fifth->second.p05_mm);
  const double apart_mm = std::abs(state.heel_to_joint_mm);
  result.push_back({RuleId::heel_to_joint, std::nullopt, state.heel_to_joint_mm,
                    limits_of(RuleId::heel_to_joint).watch_above_mm.value() - apart_mm});
  return result;
}

Truth truth_of(const std::vector<Margin>& margins) {
  const auto pressed = [](const Margin& m) { return zone_of(m.rule) && m.pressed_mm > kSure_mm; };
  if (std::ranges::any_of(margins, pressed)) return Truth::bad;
  const auto inside = [](const Margin& m) { return m.inside_mm >= kSure_mm; };
  return std::ranges::all_of(margins, inside) ? Truth::harmless : Truth::between;
}

}  // namespace lastroom::test
