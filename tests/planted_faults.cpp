#include "planted_faults.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "assessment/judgement.h"
#include "measurement/measure.h"

namespace lastroom::test {
namespace {

std::optional<double> truth_mm(const Fault& fault, const TrueState& state) {
  if (fault.rule == RuleId::headroom) return state.toes.headroom_mm.at(fault.toe - 1u);
  if (fault.rule == RuleId::worst_patch) {
    const auto patch = std::ranges::find(state.patches, fault.zone, &WorstPatch::zone);
    return patch == state.patches.end() ? std::nullopt : std::optional(patch->mm);
  }
  const auto zone = state.zones.find(fault.zone);
  if (zone == state.zones.end()) return std::nullopt;
  return fault.slack ? zone->second.median_mm : zone->second.p05_mm;
}

double beyond_mm(const Fault& fault, double truth) {
  const Limits& limits = limits_of(fault.rule);
  return fault.slack ? truth - *limits.slack_above_mm : limits.pinch_below_mm - truth;
}

std::vector<std::uint8_t> skin_to_push(const Fault& fault, const std::vector<Vec3>& at, const SkinMap& skin) {
  constexpr double kDisc_mm2 = 100.0;
  std::vector<std::uint8_t> result(at.size(), 0);
  std::optional<std::size_t> outermost;
  for (std::size_t i = 0; i < at.size(); ++i) {
    const Zone zone = skin.zone[i];
    result[i] = fault.zone == Zone::none ? zone != Zone::none && !is_under_the_foot(zone)
                                         : zone == fault.zone && (fault.toe == 0 || skin.toe[i] == fault.toe);
    if (result[i] != 0 && (!outermost || at[i].y() > at[*outermost].y())) outermost = i;
  }
  if (fault.disc && outermost)
    for (std::size_t i = 0; i < at.size(); ++i)
      result[i] = (at[i] - at[*outermost]).squaredNorm() < kDisc_mm2 / std::numbers::pi;
  return result;
}

StandingCase with_push(const StandingCase& standing, const TrueState& state, const SkinMap& skin, const Fault& fault,
                       double push_mm) {
  const double spread_mm = fault.disc ? 2.5 : 4.5;
  const std::vector<double> areas = vertex_areas_mm2(standing.foot.mesh);
  const std::vector<std::uint8_t> chosen = skin_to_push(fault, state.skin_mm, skin);
  std::vector<Push> pushes;
  for (std::size_t i = 0; i < areas.size(); ++i)
    if (const auto& wall = state.walls[i]) pushes.push_back({wall->point_mm, chosen[i] != 0 ? push_mm : 0.0, areas[i]});
  MadeLast last = standing.pair.last;
  last.mesh = pushed(standing.wall, pushes, spread_mm);
  return in_reshaped(standing, std::move(last));
}

std::optional<Planted> whole(const MadeHarmless& made, const SkinMap& skin, const Fault& fault) {
  const StandingCase& harmless = *made.pair;
  const double length_mm = bounds(harmless.pair.last.mesh).size().x();
  StandingCase pair = fault.girth_mm > 0.0
                          ? with_push(harmless, made.state, skin, fault, -fault.girth_mm / (2.0 * std::numbers::pi))
                          : in_reshaped(harmless, stretched(harmless.pair.last, 1.0 - fault.length_mm / length_mm));
  TrueState state = true_state(pair, skin);
  std::vector<Margin> all = margins(state);
  const double beyond = -std::ranges::min(all, {}, &Margin::inside_mm).inside_mm;
  if (beyond < kSure_mm) return std::nullopt;
  return Planted{std::move(pair), std::move(state), std::move(all), beyond};
}

bool speaks_of(const Finding& finding, RuleId rule, std::optional<Zone> zone) {
  if (finding.rule == rule) return !zone || finding.zone == zone;
  return zone && finding.rule == RuleId::worst_patch && finding.zone == zone;
}

}  // namespace

Said said_of(const TakenPair& pair) {
  RegistrationSettings scanner;
  scanner.scan_error_mm = pair.scan_error_mm;
  const FootMeasures measures = measure_foot(pair.foot);
  SkinMap skin = map_skin(pair.foot);
  Registration pose = register_foot_in_last(pair.foot, skin, pair.last, SignedDistance(pair.last.mesh), scanner);
  Said said{stood(pair.foot, measures, std::move(skin), pair.last, measure_last(pair.last), std::move(pose), scanner),
            Verdict::none,
            {},
            {}};
  static const Rules rules = default_rules();
  Judgement judgement =
      judgement_of(said.found.evidence(), observed(said.found.evidence()), rules, told(Wearer::standard));
  said.verdict = judgement.verdict;
  said.zones = std::move(judgement.zones);
  for (Finding& finding : judgement.findings)
    if (finding.verdict != Verdict::clear) said.findings.push_back(std::move(finding));
  return said;
}

bool against_the_last(const Finding& finding) {
  return !traits_of(finding.rule).about_foot && finding.rule != RuleId::zone_not_measured;
}

std::vector<Fault> faults() {
  const auto pressed = [](const char* name, Zone zone) { return Fault{name, rule_of(zone), zone}; };
  const auto low = [](const char* name, std::uint8_t toe) {
    return Fault{name, RuleId::headroom, Zone::toe_tops, toe};
  };
  return {pressed("fifth toe, from the side", Zone::fifth_toe_side),
          low("fifth toe, from above", 5),
          low("big toe, from above", 1),
          low("third toe, from above", 3),
          pressed("big toe's tip", Zone::big_toe_tip),
          pressed("middle toes' tips", Zone::middle_toes_tip),
          pressed("inside joint", Zone::inside_joint),
          pressed("outside joint", Zone::outside_joint),
          {"a bunion's square centimetre", RuleId::worst_patch, Zone::inside_joint, 0, false, true},
          {"gap under the arch", rule_of(Zone::arch), Zone::arch, 0, true},
          {"slack heel", rule_of(Zone::heel_sides), Zone::heel_sides, 0, true},
          // A UK width fitting is 1/4 inch of girth, a size 1/3 inch of length (Rossi 2000; ISO/TS 19407).
          {.name = "a width too narrow", .girth_mm = 25.4 / 4.0},
          {.name = "two widths too narrow", .girth_mm = 25.4 / 2.0},
          {.name = "a size too short", .length_mm = 25.4 / 3.0}};
}

std::optional<Planted> planted(const MadeHarmless& made, const SkinMap& skin, const Fault& fault) {
  constexpr int kTries = 10;
  constexpr double kMost_mm = 1.0, kArrives = 0.8;  // a push is spread and so arrives as less
  if (fault.is_whole()) return whole(made, skin, fault);
  std::optional<StandingCase> now;
  TrueState state = made.state;
  for (int attempt = 0; attempt < kTries; ++attempt) {
    const StandingCase& at = now ? *now : *made.pair;
    if (now) state = true_state(at, skin);
    const std::optional<double> truth = truth_mm(fault, state);
    if (!truth) return std::nullopt;
    const double beyond = beyond_mm(fault, *truth);
    if (beyond >= kSure_mm && beyond <= kSure_mm + kMost_mm) {
      std::vector<Margin> all = margins(state);
      return Planted{std::move(*now), std::move(state), std::move(all), beyond};
    }
    const double lacks_mm = (kSure_mm + 0.5 * kMost_mm - beyond) / kArrives;
    now = with_push(at, state, skin, fault, fault.slack ? lacks_mm : -lacks_mm);
  }
  return std::nullopt;
}

bool is_named(const Fault& fault, const Planted& planted, const Said& said) {
  return std::ranges::any_of(said.findings, [&](const Finding& finding) {
    if (fault.is_whole())
      return std::ranges::any_of(planted.margins, [&](const Margin& m) {
        return m.inside_mm < -kSure_mm && speaks_of(finding, m.rule, m.zone);
      });
    if (fault.slack) return finding.rule == fault.rule && finding.verdict == Verdict::slack;
    if (finding.verdict < Verdict::watch) return false;
    if (fault.rule == RuleId::headroom)
      return finding.rule == rule_of(Zone::toe_tops) ||
             (finding.rule == RuleId::headroom && finding.at_mm == said.found.toe_room.headroom_at_mm[fault.toe - 1u]);
    return speaks_of(finding, fault.rule, fault.zone);
  });
}

bool is_unseen(const Planted& planted, const Said& said) {
  return said.found.foot.sole_missing && std::ranges::all_of(planted.margins, [](const Margin& m) {
           return m.inside_mm >= -kSure_mm || (m.zone && is_under_the_foot(*m.zone));
         });
}

}  // namespace lastroom::test
