#include "reshaped_lasts.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <functional>

namespace lastroom::test {
namespace {

constexpr int kRounds = 14;
constexpr int kHopeBy = 7;  // what is this far beyond by then will not become harmless
constexpr double kHopeless_mm = -1.0;
constexpr double kOver = 1.5;     // a push is spread and so arrives as less
constexpr double kMore_mm = 0.8;  // than harmless asks for, so that the next settling does not undo it

Physics lightly_fastened(unsigned seed) {
  Dice dice(seed + 950000u);
  Physics physics = drawn_physics(dice);
  physics.fastening_N = dice.uniform(20.0, 30.0);
  return physics;
}

/// Pushes by cubes of `edge_mm`, in the order of x: a scan's vertices lie denser than a last is reshaped.
std::vector<Push> thinned(const std::vector<Push>& pushes, double edge_mm) {
  std::map<std::array<long, 3>, Push> cells;
  for (const Push& push : pushes) {
    Push& cell = cells[{std::lround(push.at_mm.x() / edge_mm), std::lround(push.at_mm.y() / edge_mm),
                        std::lround(push.at_mm.z() / edge_mm)}];
    cell.at_mm += push.area_mm2 * push.at_mm;
    cell.mm += push.area_mm2 * push.mm;
    cell.area_mm2 += push.area_mm2;
  }
  std::vector<Push> result;
  for (const auto& [key, cell] : cells)
    if (cell.area_mm2 > 0.0) result.push_back({cell.at_mm / cell.area_mm2, cell.mm / cell.area_mm2, cell.area_mm2});
  std::ranges::sort(result, {}, [](const Push& push) { return push.at_mm.x(); });
  return result;
}

/// The room that a zone's skin is to have. A zone that carries the foot goes on carrying it: it is shaped to the skin
/// around the room that it has, for a wall that gives way is followed.
struct Wanted {
  double least_mm = -1e9, most_mm = 1e9;
};
bool carries(Zone zone) { return zone == Zone::heel_back || is_under_the_foot(zone); }

std::map<Zone, Wanted> wanted_where(const std::vector<Margin>& all, const TrueState& state) {
  constexpr double kEven_mm = 0.3;
  std::map<Zone, Wanted> result;
  for (const Margin& m : all) {
    if (m.inside_mm >= kSure_mm || !m.zone) continue;
    const Limits& limits = limits_of(m.rule);
    Wanted& wanted = result[*m.zone];
    if (carries(*m.zone) && *m.zone != Zone::arch)
      wanted = {state.zones.at(*m.zone).median_mm - kEven_mm, state.zones.at(*m.zone).median_mm + kEven_mm};
    else if (m.mm - limits.watch_below_mm < kSure_mm)
      wanted.least_mm = std::max(wanted.least_mm, limits.watch_below_mm + kSure_mm + kMore_mm);
    else
      wanted.most_mm = *limits.slack_above_mm - kSure_mm - kMore_mm;
    // A last that is taken in at a joint alone would be widest behind it, and its joint there.
    if ((*m.zone == Zone::inside_joint || *m.zone == Zone::outside_joint) && wanted.most_mm < 1e9)
      result[Zone::waist].most_mm = *limits_of(rule_of(Zone::waist)).slack_above_mm - kSure_mm - kMore_mm;
    // The pull that a heel's back can't bear harmlessly its sides share.
    if (*m.zone == Zone::heel_back) {
      const double least_mm = limits_of(rule_of(Zone::heel_sides)).watch_below_mm + kSure_mm;
      result[Zone::heel_sides] = {least_mm + kEven_mm, least_mm + 2.0 * kEven_mm};
    }
  }
  return result;
}

std::vector<Push> pushes_to(const std::map<Zone, Wanted>& wanted, const Foot& foot, const SkinMap& skin,
                            const Walls& walls) {
  const std::vector<double> areas = vertex_areas_mm2(foot.mesh);
  std::vector<Push> pushes;
  for (std::size_t i = 0; i < walls.size(); ++i) {
    if (!walls[i]) continue;
    const auto there = wanted.find(skin.zone[i]);
    const double room_mm = -walls[i]->outside_mm;
    const double asked_mm = there == wanted.end() ? room_mm
                                                  : std::min(std::max(room_mm, there->second.least_mm),
                                                             std::max(there->second.most_mm, there->second.least_mm));
    pushes.push_back({walls[i]->point_mm, kOver * (asked_mm - room_mm), areas[i]});
  }
  return pushes;
}

/// What no zone is pushed for: the length ahead of the toes, as far as a last may be longer than the foot.
double longer_by_mm(const TrueState& state) {
  const auto lacks_mm = [](RuleId rule, std::optional<double> mm) {
    return mm ? limits_of(rule).watch_below_mm + kSure_mm + kMore_mm - *mm : 0.0;
  };
  const double allowance_mm = state.toes.allowance_mm.value_or(0.0);
  const double most_mm = *limits_of(RuleId::allowance).slack_above_mm - kSure_mm - kMore_mm - allowance_mm;
  const double lacking_mm = std::max(
      {0.0, lacks_mm(RuleId::toe_room, state.toes.tip_mm), lacks_mm(RuleId::allowance, state.toes.allowance_mm)});
  return std::min(most_mm, lacking_mm);
}

/// So that the joints lie beside each other.
double stretch_for(const std::vector<Margin>& all, const MadeLast& last) {
  const auto apart = std::ranges::find(all, RuleId::heel_to_joint, &Margin::rule);
  return apart->inside_mm >= kSure_mm ? 1.0 : 1.0 - apart->mm / (last.first_joint.x() - last.heel_back.x());
}

MadeLast with_x(MadeLast last, const std::function<double(double)>& moved_mm) {
  for (std::vector<Vec3>* points : {&last.mesh.vertices, &last.feather_edge, &last.centre_line})
    for (Vec3& p : *points) p.x() = moved_mm(p.x());
  for (Vec3* p : {&last.heel_back, &last.toe_end, &last.first_joint, &last.fifth_joint, &last.tread})
    p->x() = moved_mm(p->x());
  return last;
}

std::string not_harmless(const std::vector<Margin>& all) {
  std::vector<std::string> words;
  for (const Margin& m : all)
    if (m.inside_mm < kSure_mm)
      words.push_back(fmt::format("{}{}{} {:.1f}", rule_name(m.rule), m.zone ? " " : "",
                                  m.zone && !zone_of(m.rule) ? zone_name(*m.zone) : "", m.mm));
  return fmt::format("{}", fmt::join(words, ", "));
}

double moved_rms_mm(const Mesh& from, const Mesh& to) {
  double sum = 0.0, whole = 0.0;
  const std::vector<double> areas = vertex_areas_mm2(from);
  for (std::size_t i = 0; i < areas.size(); ++i) {
    sum += areas[i] * (to.vertices[i] - from.vertices[i]).squaredNorm();
    whole += areas[i];
  }
  return std::sqrt(sum / whole);
}

}  // namespace

Mesh pushed(const LastWall& last, const std::vector<Push>& pushes, double spread_mm) {
  constexpr double kReach = 3.0, kFades_mm2 = 1.0;
  const std::vector<Push> places = thinned(pushes, 0.7 * spread_mm);
  const std::vector<Vec3> normals = vertex_normals(last.mesh());
  std::vector<std::uint8_t> on_cut(normals.size(), 0);
  for (std::size_t t = 0; t < last.cut().size(); ++t)
    if (last.cut()[t] != 0)
      for (const std::uint32_t corner : last.mesh().triangles[t]) on_cut[corner] = 1;
  Mesh result = last.mesh();
  for (std::size_t i = 0; i < normals.size(); ++i) {
    double sum = 0.0, weight = kFades_mm2;
    const double x_mm = result.vertices[i].x(), reach_mm = kReach * spread_mm;
    const auto behind = [](const Push& push, double x) { return push.at_mm.x() < x; };
    auto place = std::lower_bound(places.begin(), places.end(), x_mm - reach_mm, behind);
    for (; place != places.end() && place->at_mm.x() < x_mm + reach_mm; ++place) {
      const Push& push = *place;
      const double apart = (push.at_mm - result.vertices[i]).squaredNorm() / (spread_mm * spread_mm);
      if (apart > kReach * kReach) continue;
      const double near = push.area_mm2 * std::exp(-0.5 * apart);
      sum += near * push.mm;
      weight += near;
    }
    Vec3 move = sum / weight * normals[i];
    if (on_cut[i] != 0) move.z() = 0.0;
    result.vertices[i] += move;
  }
  return result;
}

MadeLast with_longer_toe(MadeLast last, double mm) {
  const double joint_mm = last.first_joint.x(), end_mm = bounds(last.mesh).high.x();
  return with_x(std::move(last), [=](double x_mm) {
    const double t = std::max(0.0, (x_mm - joint_mm) / (end_mm - joint_mm));
    return x_mm + mm * t * t;
  });
}

MadeLast stretched(MadeLast last, double ratio) {
  return with_x(std::move(last), [=](double x_mm) { return ratio * x_mm; });
}

StandingCase in_reshaped(const StandingCase& standing, MadeLast last) {
  TruthCase pair = standing.pair;
  pair.last = std::move(last);
  for (const Vec3& v : pair.last.mesh.vertices)
    if (v.x() < pair.last.heel_back.x()) pair.last.heel_back = v;
  LastWall wall(pair.last.mesh, standing.wall.cut());
  SettledTruth settled = settled_from(standing.foot, wall, lightly_fastened(pair.seed), standing.settled.pose);
  pair.truth = settled.pose;
  return {std::move(pair), standing.kind_of_foot, standing.kind_of_last,
          standing.foot,   std::move(wall),       std::move(settled)};
}

MadeHarmless made_harmless(const StandingCase& standing, const SkinMap& skin) {
  MadeHarmless result;
  StandingCase now = in_reshaped(standing, standing.pair.last);
  for (int round = 0; round <= kRounds; ++round) {
    TrueState state = true_state(now, skin);
    const std::vector<Margin> all = margins(state);
    if (truth_of(all) == Truth::harmless) {
      result.moved_mm = moved_rms_mm(standing.pair.last.mesh, now.pair.last.mesh);
      result.pair = std::move(now);
      result.state = std::move(state);
      return result;
    }
    result.dropped = not_harmless(all);
    if (round >= kHopeBy && std::ranges::min(all, {}, &Margin::inside_mm).inside_mm < kHopeless_mm) return result;
    MadeLast reshaped = now.pair.last;
    reshaped.mesh = pushed(now.wall, pushes_to(wanted_where(all, state), now.foot, skin, state.walls));
    reshaped = stretched(std::move(reshaped), stretch_for(all, reshaped));
    now = in_reshaped(now, with_longer_toe(std::move(reshaped), longer_by_mm(state)));
  }
  return result;
}

}  // namespace lastroom::test
