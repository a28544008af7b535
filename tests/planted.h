#pragma once

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
};

/// All exceed their limit by at least 1 mm.
inline std::vector<Defect> planted_defects() {
  return {
      {"fifth toe pressed by 1.5 mm",
       [](LastShape& s) { s.room.fifth_toe_side = -1.5; },
       {"fifth_toe_side"},
       Verdict::watch},
      {"roof low over toes 4 and 5",
       [](LastShape& s) { s.room.fifth_toe_top = -1.5; },
       {"headroom", "toe_tops"},
       Verdict::watch},
      {"toe tips touch the front",
       [](LastShape& s) { s.allowance_mm = -1.0; },
       {"big_toe_tip", "middle_toes_tip"},
       Verdict::watch},
      {"last too short", [](LastShape& s) { s.allowance_mm = 5.0; }, {"toe_room"}, Verdict::pinch},
      {"slack heel", [](LastShape& s) { s.room.heel_sides = 5.5; }, {"heel_sides"}, Verdict::slack},
      {"arch gap", [](LastShape& s) { s.room.arch = 6.0; }, {"arch"}, Verdict::slack},
      {"joint pressed by 4.5 mm", [](LastShape& s) { s.room.inside_joint = -4.5; }, {"inside_joint"}, Verdict::pinch},
      {"joint tight but legal",
       [](LastShape& s) { s.room.inside_joint = s.room.outside_joint = -2.0; },
       {"inside_joint"},
       Verdict::watch},
  };
}

/// Foot and last judged where they stand by construction.
struct Stand {
  MadeFoot made_foot;
  MadeLast made_last;
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

inline Stand stand(const MadeFoot& made_foot, double foot_length_mm, const LastShape& shape,
                   const RegistrationSettings& settings = {}) {
  MadeLast made_last = make_last(made_foot, shape);
  Foot foot = prepared(made_foot);
  Last last = prepared(made_last);
  FootMeasures foot_measures;
  foot_measures.length_mm = foot_length_mm;
  LastMeasures last_measures;
  last_measures.joint_girth.loop_mm = joint_loop(last);
  SkinMap skin = map_skin(foot);
  Registration registration;
  registration.last_from_foot = made_last.last_from_foot;
  registration.hinge.angle_deg = made_last.hinge_deg;
  registration.converged = true;
  SignedDistance surface(last.mesh);
  ClearanceField clearance = clearance_between(foot, registration, foot_length_mm, surface, settings);
  ToeRoom room = toe_room(foot, skin, clearance, last);
  return {made_foot,         std::move(made_last), std::move(foot), std::move(last),      foot_measures,
          last_measures,     std::move(skin),      registration,    std::move(clearance), std::move(room),
          std::move(surface)};
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
