#pragma once

#include <array>
#include <optional>
#include <string_view>

#include "zones/zone_traits.h"

namespace lastroom {

/// The one identity of a rule. Each zone has a rule of its own (`rule_of`), numbered as the zone is; after them comes
/// what is measured besides the zones.
enum class RuleId : std::uint8_t {
  toe_room = kZoneCount,
  headroom,
  toe_width_room,
  allowance,
  worst_patch,
  marked_spot,
  heel_to_joint,
  joint_girth,
  waist_girth,
  instep_girth,
  heel_girth,
  taped_joint_girth,
  heel_height,
  bony_point,
  foot_likeness,
  last_likeness,
  opposite_sides,
  straight_last,
  side_in_doubt,
  pose_in_doubt,
  outside_population,
  sole_missing,
  zone_not_measured,
  at_risk_wearer,
  scan_not_loaded,
  unknown_wearer
};
constexpr RuleId rule_of(Zone zone) { return static_cast<RuleId>(zone); }

/// What a rule's number means. A zone's and a room's are room in mm (too little pinches, too much is slack); a
/// difference is watched when it is larger than its limit; a fact has no number.
enum class RuleKind : std::uint8_t { zone, room, difference, fact };

enum class RuleUnit : std::uint8_t { none, mm, mm_at_250 };  ///< the last: scaled to a foot of 250 mm

/// How a rule counts when lasts of a shelf are ranked (screening/margin.h).
enum class Ranking : std::uint8_t {
  none,       ///< no fit: it tells of trust, or is a wish, as the heel's height
  as_room,    ///< by its mm
  as_length,  ///< by its mm, either way
  as_girth    ///< by the room that it makes all round, 1 / (2 pi) of it
};

struct RuleTraits {
  RuleId id;
  std::string_view name;  ///< in the rules file, result.json and the catalogues' keys
  RuleKind kind = RuleKind::fact;
  RuleUnit unit = RuleUnit::none;
  bool two_sided = false;  ///< a difference with a sign: its limit holds either way
  Ranking ranking = Ranking::none;
  bool about_foot = false;  ///< a doubt about the foot itself, whatever the last
};

/// What is measured besides the zones: one row a rule, in the order of the enum. What each measures is said in
/// default_rules.xml; the line that measures it is in findings.cpp.
constexpr std::array kMeasuredRules = {
    RuleTraits{RuleId::toe_room, "toe_room", RuleKind::room, RuleUnit::mm, false, Ranking::as_room},
    RuleTraits{RuleId::headroom, "headroom", RuleKind::room, RuleUnit::mm, false, Ranking::as_room},
    RuleTraits{RuleId::toe_width_room, "toe_width_room", RuleKind::room, RuleUnit::mm, false, Ranking::as_room},
    RuleTraits{RuleId::allowance, "allowance", RuleKind::room, RuleUnit::mm, false, Ranking::as_room},
    RuleTraits{RuleId::worst_patch, "worst_patch", RuleKind::room, RuleUnit::mm, false, Ranking::as_room},
    RuleTraits{RuleId::marked_spot, "marked_spot", RuleKind::room, RuleUnit::mm, false, Ranking::as_room},
    RuleTraits{RuleId::heel_to_joint, "heel_to_joint", RuleKind::difference, RuleUnit::mm, true, Ranking::as_length},
    RuleTraits{RuleId::joint_girth, "joint_girth", RuleKind::difference, RuleUnit::mm, true, Ranking::as_girth},
    RuleTraits{RuleId::waist_girth, "waist_girth", RuleKind::difference, RuleUnit::mm, true, Ranking::as_girth},
    RuleTraits{RuleId::instep_girth, "instep_girth", RuleKind::difference, RuleUnit::mm, true, Ranking::as_girth},
    RuleTraits{RuleId::heel_girth, "heel_girth", RuleKind::difference, RuleUnit::mm, true, Ranking::as_girth},
    RuleTraits{RuleId::taped_joint_girth, "taped_joint_girth", RuleKind::difference, RuleUnit::mm, true, Ranking::none,
               true},
    RuleTraits{RuleId::heel_height, "heel_height", RuleKind::difference, RuleUnit::mm, false},
    RuleTraits{RuleId::bony_point, "bony_point", RuleKind::difference, RuleUnit::mm_at_250},
    RuleTraits{RuleId::foot_likeness, "foot_likeness", RuleKind::difference, RuleUnit::mm_at_250, false, Ranking::none,
               true},
    RuleTraits{RuleId::last_likeness, "last_likeness", RuleKind::difference, RuleUnit::mm_at_250},
    RuleTraits{RuleId::opposite_sides, "opposite_sides"},
    RuleTraits{RuleId::straight_last, "straight_last"},
    RuleTraits{.id = RuleId::side_in_doubt, .name = "side_in_doubt", .about_foot = true},
    RuleTraits{RuleId::pose_in_doubt, "pose_in_doubt"},
    RuleTraits{.id = RuleId::outside_population, .name = "outside_population", .about_foot = true},
    RuleTraits{.id = RuleId::sole_missing, .name = "sole_missing", .about_foot = true},
    RuleTraits{RuleId::zone_not_measured, "zone_not_measured"},
    RuleTraits{RuleId::at_risk_wearer, "at_risk_wearer"},
    RuleTraits{.id = RuleId::scan_not_loaded, .name = "scan_not_loaded", .about_foot = true},
    RuleTraits{RuleId::unknown_wearer, "unknown_wearer"},
};
constexpr std::size_t kRuleCount = kZoneCount + kMeasuredRules.size();

/// The zone whose rule this is.
constexpr std::optional<Zone> zone_of(RuleId rule) {
  return static_cast<std::size_t>(rule) < kZoneCount ? std::optional(static_cast<Zone>(rule)) : std::nullopt;
}

constexpr RuleTraits traits_of(RuleId rule) {
  if (const std::optional<Zone> zone = zone_of(rule))
    return {rule, zone_name(*zone), RuleKind::zone, RuleUnit::mm, false, Ranking::as_room};
  return kMeasuredRules.at(static_cast<std::size_t>(rule) - kZoneCount);
}
constexpr std::string_view rule_name(RuleId rule) { return traits_of(rule).name; }

/// None when no rule has this name.
constexpr std::optional<RuleId> find_rule(std::string_view name) {
  for (std::size_t i = 0; i < kRuleCount; ++i)
    if (const auto rule = static_cast<RuleId>(i); rule_name(rule) == name) return rule;
  return std::nullopt;
}

}  // namespace lastroom
