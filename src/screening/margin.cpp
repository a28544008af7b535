#include "screening/margin.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "assessment/judge.h"

namespace lastroom {
namespace {

/// Differences that look at the last; the others are the same for every last of the shelf, or tell of trust.
constexpr std::string_view kLengths[] = {"heel_to_joint", "heel_height"};
constexpr std::string_view kGirths[] = {"joint_girth", "waist_girth", "instep_girth", "heel_girth"};

bool is_one_of(std::string_view name, std::span<const std::string_view> names) {
  return std::ranges::find(names, name) != names.end();
}

/// How far a room is from where it stops being judged clear.
double room_margin_mm(const Limits& limits, double room_mm, double loosest_mm, double doubt_mm) {
  const double tight = room_mm - clear_from_mm(doubt_mm, limits);
  return limits.slack_above_mm ? std::min(tight, *limits.slack_above_mm - loosest_mm) : tight;
}

}  // namespace

std::optional<double> difference_margin_mm(const Rule& rule, Wearer wearer, double difference_mm) {
  const std::optional<double> limit = limits_for(rule, wearer).watch_above_mm;
  const bool girth = is_one_of(rule.name, kGirths);
  if (!limit || (!girth && !is_one_of(rule.name, kLengths))) return std::nullopt;
  return (*limit - std::abs(difference_mm)) / (girth ? 2.0 * std::numbers::pi : 1.0);
}

Margin margin_of(const Assessment& assessment, const Rules& rules, Wearer wearer) {
  Margin least{std::numeric_limits<double>::infinity(), ""};
  const auto consider = [&](double mm, std::string_view rule) {
    if (mm < least.mm) least = {mm, std::string(rule)};
  };
  for (const ZoneVerdict& zone : assessment.zones) {
    const ZoneClearance& c = zone.clearance;
    const Rule& rule = rule_named(rules, zone_name(c.zone));
    consider(room_margin_mm(limits_for(rule, wearer), c.p05_mm, c.median_mm, c.doubt_mm), rule.name);
  }
  for (const Finding& finding : assessment.findings) {  // these hold what is beyond its limit
    if (!finding.measured_mm) continue;
    const Rule& rule = rule_named(rules, finding.rule);
    const double mm = *finding.measured_mm;
    if (rule.kind == RuleKind::room)
      consider(room_margin_mm(limits_for(rule, wearer), mm, mm, finding.uncertainty_mm.value_or(0.0)), rule.name);
    if (rule.kind == RuleKind::difference)
      if (const std::optional<double> margin = difference_margin_mm(rule, wearer, mm)) consider(*margin, rule.name);
  }
  return least;
}

}  // namespace lastroom
