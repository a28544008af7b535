#pragma once

#include "wearers.h"

namespace lastroom::test {

/// A foot standing in a last, with everything that a judgement looks at.
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
  Assessment judged(const AssessmentSettings& settings = told(Wearer::standard)) const {
    return assess(evidence(), default_rules(), settings);
  }
};

/// The foot where `registration` stands it.
inline Stand stood(Foot foot, FootMeasures foot_measures, SkinMap skin, Last last, LastMeasures last_measures,
                   Registration registration, const RegistrationSettings& settings = {}) {
  SignedDistance surface(last.mesh);
  ClearanceField clearance = clearance_between(foot, registration, surface, settings, last.top);
  ToeRoom room = toe_room(foot, skin, clearance, last);
  return {std::move(foot),          std::move(last), std::move(foot_measures),
          std::move(last_measures), std::move(skin), std::move(registration),
          std::move(clearance),     std::move(room), std::move(surface)};
}

}  // namespace lastroom::test
