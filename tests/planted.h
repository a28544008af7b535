#pragma once

#include <cmath>
#include <functional>
#include <stdexcept>
#include <string>

#include "assessment/skin_sample.h"
#include "demo/make_last.h"
#include "geometry/section.h"
#include "made.h"
#include "stand.h"

namespace lastroom::test {

/// What is done to a made last after it is made, with the foot as it stands in it.
using Deform = std::function<void(MadeLast&, const Foot&, const SkinMap&, const PosedFoot&)>;

/// A fault built into a last that otherwise fits, and what must be said about it. Lasts are faired and toes are round,
/// so a value asked for is not the value that is there: the truth is measured where the foot stands by construction,
/// and the value set right by the difference.
struct Defect {
  std::string name;
  std::vector<std::string> rules;                 ///< at least one of them must speak
  Verdict at_least;                               ///< and say this or worse
  std::function<double(const Stand&)> room_mm;    ///< what the rule looks at
  double limit_mm;                                ///< of the rule, default_rules.xml
  double beyond_mm;                               ///< the limit, as the foot stands in the last by construction
  double first_mm;                                ///< the value to plant first: near what gives as much
  std::function<void(LastShape&, double)> plant;  ///< either this
  std::function<Deform(double)> deform = {};      ///< or this
  bool slack = false;                             ///< too much room is the fault
};

inline double tightest_mm(const Stand& s, Zone zone) {
  const std::vector<ZoneClearance> zones = by_zone(s.clearance, s.skin);
  const ZoneClearance* found = find_zone(zones, zone);
  if (!found) throw std::runtime_error("no skin in zone " + std::string(zone_name(zone)));
  return found->p05_mm;
}

inline double middle_mm(const Stand& s, Zone zone) {
  const std::vector<ZoneClearance> zones = by_zone(s.clearance, s.skin);
  return find_zone(zones, zone)->median_mm;
}

/// Lowers the top around the toe's highest place by a bell of 8 mm until it stands `press_mm` below the skin there.
/// Towards the sides, where the top bends down, the dent fades: a wall pushed straight down would fold.
inline void dent_roof(Mesh& last, const Foot& foot, const SkinMap& skin, const PosedFoot& posed, std::uint8_t toe,
                      double press_mm) {
  double tip_x_mm = -1e9;
  for (std::size_t i = 0; i < skin.toe.size(); ++i)
    if (skin.toe[i] == toe) tip_x_mm = std::max(tip_x_mm, foot.mesh.vertices[i].x());
  Vec3 top(0.0, 0.0, -1e9);
  for (std::size_t i = 0; i < skin.toe.size(); ++i)
    if (skin.toe[i] == toe && skin.zone[i] == Zone::toe_tops && foot.mesh.vertices[i].x() > tip_x_mm - kToeTop_mm)
      if (const Vec3 p = posed(foot.mesh.vertices[i]); p.z() > top.z()) top = p;
  const std::vector<Vec3> normals = vertex_normals(last);
  const auto over = [&](const Vec3& v) { return (v - top).head<2>().squaredNorm(); };
  std::optional<std::size_t> roof;
  for (std::size_t i = 0; i < normals.size(); ++i)
    if (normals[i].z() > 0.3 && (!roof || over(last.vertices[i]) < over(last.vertices[*roof]))) roof = i;
  const double depth = last.vertices[*roof].z() - top.z() + press_mm;
  constexpr double kBellMm = 8.0, kWhole = 0.8;  // as steep as within 37 degrees of level the dent is whole
  for (std::size_t i = 0; i < normals.size(); ++i) {
    const double level = std::clamp(normals[i].z() / kWhole, 0.0, 1.0);
    last.vertices[i].z() -=
        depth * level * level * (3.0 - 2.0 * level) * std::exp(-over(last.vertices[i]) / (2.0 * kBellMm * kBellMm));
  }
}

/// Pushes the toe of the last back, more and more from the joint to its end, until that lies `allowance_mm` before the
/// big toe's tip. (A made last's own cap keeps clear of the toes.)
inline void shorten(MadeLast& last, const Vec3& big_toe_tip, double allowance_mm) {
  const double from = last.first_joint.x(), end = last.toe_end.x(), surplus = end - big_toe_tip.x() - allowance_mm;
  const auto push = [&](Vec3& p) {
    const double t = std::max(0.0, (p.x() - from) / (end - from));
    p.x() -= surplus * t * t;
  };
  for (std::vector<Vec3>* points : {&last.mesh.vertices, &last.feather_edge, &last.centre_line})
    for (Vec3& p : *points) push(p);
  push(last.toe_end);
}

/// How a zone's room is measured, by the program's own rooms unless another way is given.
struct ZoneRoom {
  std::function<double(const Stand&, Zone)> tightest_mm = test::tightest_mm, middle_mm = test::middle_mm;
};

inline std::vector<Defect> planted_defects(const ZoneRoom& room = {}) {
  const auto tightest = [&](Zone zone) { return [=](const Stand& s) { return room.tightest_mm(s, zone); }; };
  const auto middle = [&](Zone zone) { return [=](const Stand& s) { return room.middle_mm(s, zone); }; };
  const auto joints = [](LastShape& s, double mm) { s.room.inside_joint = s.room.outside_joint = mm; };
  const auto roof = [](const Stand& s) {
    return std::min(s.toe_room.headroom_mm[3].value_or(99.0), s.toe_room.headroom_mm[4].value_or(99.0));
  };
  const auto dent = [](double mm) {
    return [=](MadeLast& last, const Foot& foot, const SkinMap& skin, const PosedFoot& posed) {
      for (const std::uint8_t toe : {std::uint8_t{4}, std::uint8_t{5}})
        dent_roof(last.mesh, foot, skin, posed, toe, -mm);
    };
  };
  const auto tips = [=](const Stand& s) {
    return std::min(room.tightest_mm(s, Zone::big_toe_tip), room.tightest_mm(s, Zone::middle_toes_tip));
  };
  const auto cut_short = [](double mm) {
    return [=](MadeLast& last, const Foot& foot, const SkinMap&, const PosedFoot& posed) {
      shorten(last, posed(foot.landmarks.toe_tips[0]), mm);
    };
  };
  using V = Verdict;
  return {
      {"fifth toe pressed by 1.5 mm",
       {"fifth_toe_side"},
       V::watch,
       tightest(Zone::fifth_toe_side),
       0.0,
       1.5,
       -0.8,
       [](LastShape& s, double mm) { s.room.fifth_toe_side = mm; }},
      {"roof low over toes 4 and 5", {"headroom", "toe_tops"}, V::watch, roof, 0.0, 1.5, -1.5, {}, dent},
      {"toe tips touch the front", {"big_toe_tip", "middle_toes_tip"}, V::watch, tips, 0.0, 1.0, -1.0, {}, cut_short},
      {"last too short",
       {"toe_room"},
       V::pinch,
       [](const Stand& s) { return *s.toe_room.tip_mm; },
       6.0,
       4.0,  // twice what it is known to: less can't be said for sure
       2.0,
       {},
       cut_short},
      {"slack heel",
       {"heel_sides"},
       V::slack,
       middle(Zone::heel_sides),
       4.0,
       1.0,
       5.2,
       [](LastShape& s, double mm) { s.room.heel_sides = mm; },
       {},
       true},
      {"arch gap",
       {"arch"},
       V::slack,
       middle(Zone::arch),
       4.0,
       1.0,
       7.5,
       [](LastShape& s, double mm) { s.room.arch = mm; },
       {},
       true},
      {"both joint sides press by 4.5 mm",
       {"inside_joint"},
       V::pinch,
       tightest(Zone::inside_joint),
       -3.0,
       1.5,
       -4.2,
       joints},
      {"joint tight but legal", {"inside_joint"}, V::watch, tightest(Zone::inside_joint), -1.5, 1.0, -2.2, joints},
  };
}

/// The tape around the last through both joints, upright.
inline std::vector<Vec3> joint_loop(const Last& last) {
  const Plane plane{last.first_joint, (last.first_joint - last.fifth_joint).cross(Vec3::UnitZ()).normalized()};
  return tape_loop(section(last.mesh, plane), plane);
}

/// Foot and last where they stand by construction.
inline Stand stand(const MadeFoot& made_foot, double foot_length_mm, MadeLast made_last, const Deform& deform = {}) {
  Foot foot = prepared(made_foot);
  SkinMap skin = map_skin(foot);
  Registration registration;
  registration.last_from_foot = made_last.last_from_foot;
  registration.hinge.angle_deg = made_last.hinge_deg;
  registration.converged = true;
  if (deform) deform(made_last, foot, skin, PosedFoot(foot.landmarks, registration));
  Last last = prepared(made_last);
  FootMeasures foot_measures;
  foot_measures.length_mm = foot_length_mm;
  LastMeasures last_measures;
  last_measures.joint_girth.loop_mm = joint_loop(last);
  return stood(std::move(foot), foot_measures, std::move(skin), std::move(last), last_measures, registration);
}

inline Stand stand(const MadeFoot& made_foot, double foot_length_mm, const LastShape& shape) {
  return stand(made_foot, foot_length_mm, make_last(made_foot, shape));
}

/// The pair with the defect in its last, as far beyond its limit as it is to be, or up to half a millimetre more.
inline Stand planted(const MadeFoot& foot, double foot_length_mm, const LastShape& fits, const Defect& defect) {
  constexpr int kTries = 8;
  constexpr double kMuchMm = 0.5;
  const double sign = defect.slack ? 1.0 : -1.0;
  double value_mm = defect.first_mm;
  std::optional<MadeLast> fitting;
  if (defect.deform) fitting = make_last(foot, fits);
  for (int attempt = 0; attempt < kTries; ++attempt) {
    LastShape shape = fits;
    if (defect.plant) defect.plant(shape, value_mm);
    Stand s = defect.deform ? stand(foot, foot_length_mm, *fitting, defect.deform(value_mm))
                            : stand(foot, foot_length_mm, shape);
    const double beyond_mm = sign * (defect.room_mm(s) - defect.limit_mm);
    if (beyond_mm >= defect.beyond_mm && beyond_mm <= defect.beyond_mm + kMuchMm) return s;
    value_mm += sign * (defect.beyond_mm + kMuchMm / 2.0 - beyond_mm);
  }
  throw std::runtime_error("this defect can't be built into this last: " + defect.name);
}

/// The worst thing that any of the rules says, clear when they are silent.
inline Verdict said_by(const Assessment& assessment, const std::vector<std::string>& rules) {
  Verdict worst = Verdict::clear;
  for (const Finding& finding : assessment.findings)
    for (const std::string& rule : rules)
      if (rule_name(finding.rule) == rule) worst = std::max(worst, finding.verdict);
  return worst;
}

}  // namespace lastroom::test
