#pragma once

#include <cmath>
#include <functional>
#include <string>

#include "assessment/assess.h"
#include "demo/make_last.h"
#include "geometry/section.h"
#include "made.h"

namespace lastroom::test {

/// A fault built into a last that otherwise fits, and what must be said about it.
struct Defect {
  std::string name;
  std::function<void(LastShape&)> plant;
  std::vector<std::string> rules;  ///< at least one of them must speak
  Verdict at_least;                ///< and say this or worse
  /// The roof over toes 4 and 5 is dented until it presses by so much. (The made last's own roof is fairer than that.)
  double roof_presses_mm = 0.0;
};

/// All exceed their limit by at least 1 mm.
inline std::vector<Defect> planted_defects() {
  return {
      {"fifth toe pressed by 1.5 mm",
       [](LastShape& s) { s.room.fifth_toe_side = -1.5; },
       {"fifth_toe_side"},
       Verdict::watch},
      {"roof low over toes 4 and 5", [](LastShape&) {}, {"headroom", "toe_tops"}, Verdict::watch, 1.5},
      {"toe tips touch the front",
       [](LastShape& s) { s.allowance_mm = -1.0; },
       {"big_toe_tip", "middle_toes_tip"},
       Verdict::watch},
      {"last too short", [](LastShape& s) { s.allowance_mm = 5.0; }, {"toe_room"}, Verdict::pinch},
      {"slack heel", [](LastShape& s) { s.room.heel_sides = 5.5; }, {"heel_sides"}, Verdict::slack},
      {"arch gap", [](LastShape& s) { s.room.arch = 6.0; }, {"arch"}, Verdict::slack},
      {"both joint sides press by 4.5 mm",
       [](LastShape& s) { s.room.inside_joint = s.room.outside_joint = -4.5; },
       {"inside_joint"},
       Verdict::pinch},
      {"joint tight but legal",
       [](LastShape& s) { s.room.inside_joint = s.room.outside_joint = -2.0; },
       {"inside_joint"},
       Verdict::watch},
  };
}

/// Foot and last judged where they stand by construction.
struct Stand {
  Foot foot;
  Last last;
  FootMeasures foot_measures;
  LastMeasures last_measures;
  SkinMap skin;
  Registration registration;
  ClearanceField clearance;
  ToeRoom toe_room;
  SignedDistance surface;

  Evidence evidence() const {
    return {foot, last, foot_measures, last_measures, skin, registration, clearance, toe_room, surface};
  }
};

/// The tape around the last through both joints, upright.
inline std::vector<Vec3> joint_loop(const Last& last) {
  const Plane plane{last.first_joint, (last.first_joint - last.fifth_joint).cross(Vec3::UnitZ()).normalized()};
  return tape_loop(section(last.mesh, plane), plane);
}

/// Lowers the top around the toe's highest place by a bell of 8 mm until it stands `press_mm` below the skin there.
inline void dent_roof(Mesh& last, const Foot& foot, const SkinMap& skin, const PosedFoot& posed, std::uint8_t toe,
                      double press_mm) {
  Vec3 top(0.0, 0.0, -1e9);
  for (std::size_t i = 0; i < skin.toe.size(); ++i)
    if (skin.toe[i] == toe && skin.zone[i] == Zone::toe_tops)
      if (const Vec3 p = posed(foot.mesh.vertices[i]); p.z() > top.z()) top = p;
  const std::vector<Vec3> normals = vertex_normals(last);
  const auto over = [&](const Vec3& v) { return (v - top).head<2>().squaredNorm(); };
  std::optional<std::size_t> roof;
  for (std::size_t i = 0; i < normals.size(); ++i)
    if (normals[i].z() > 0.3 && (!roof || over(last.vertices[i]) < over(last.vertices[*roof]))) roof = i;
  const double depth = last.vertices[*roof].z() - top.z() + press_mm;
  constexpr double kBellMm = 8.0;
  for (std::size_t i = 0; i < normals.size(); ++i)
    if (normals[i].z() > 0.0)
      last.vertices[i].z() -= depth * std::exp(-over(last.vertices[i]) / (2.0 * kBellMm * kBellMm));
}

inline Stand stand(const MadeFoot& made_foot, double foot_length_mm, const LastShape& shape,
                   double roof_presses_mm = 0.0, const RegistrationSettings& settings = {}) {
  MadeLast made_last = make_last(made_foot, shape);
  Foot foot = prepared(made_foot);
  SkinMap skin = map_skin(foot);
  Registration registration;
  registration.last_from_foot = made_last.last_from_foot;
  registration.hinge.angle_deg = made_last.hinge_deg;
  registration.converged = true;
  if (roof_presses_mm > 0.0) {
    const PosedFoot posed(foot.landmarks, foot_length_mm, registration);
    for (const std::uint8_t toe : {std::uint8_t{4}, std::uint8_t{5}})
      dent_roof(made_last.mesh, foot, skin, posed, toe, roof_presses_mm);
  }
  Last last = prepared(made_last);
  FootMeasures foot_measures;
  foot_measures.length_mm = foot_length_mm;
  LastMeasures last_measures;
  last_measures.joint_girth.loop_mm = joint_loop(last);
  SignedDistance surface(last.mesh);
  ClearanceField clearance = with_toe_ends(clearance_between(foot, registration, foot_length_mm, surface, settings),
                                           foot, skin, registration, foot_length_mm, last);
  ToeRoom room = toe_room(foot, skin, clearance, last);
  return {std::move(foot), std::move(last),      foot_measures,   last_measures,     std::move(skin),
          registration,    std::move(clearance), std::move(room), std::move(surface)};
}

/// The worst thing that any of the rules says, clear when they are silent.
inline Verdict said_by(const Assessment& assessment, const std::vector<std::string>& rules) {
  Verdict worst = Verdict::clear;
  for (const Finding& finding : assessment.findings)
    for (const std::string& rule : rules)
      if (finding.rule == rule) worst = std::max(worst, finding.verdict);
  return worst;
}

}  // namespace lastroom::test
